"""What only the player can say of a diary: asked with what was found and a guess, never assumed."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any, Final

from ..rows.tables import INSTRUMENTS
from ..wording import all_of, tr
from .grid import Cell, Grid, text_of_cell
from .guess import Known, column, rows_of, titles
from .matching import LEFT_OUT, NEITHER, Matching, Scale
from .values import day_in, has_order, number_in, orders_that_fit, reed_in, year_missing

__all__ = ["Ask", "asks_of", "initials_of", "instrument_asked", "reed_for", "word_of"]

_MANY: Final = 0.1  # share of ratings in words from which these are marks, each with its meaning
#: What marks in words usually mean, in points; only a guess to begin with.
_WORDS: Final[Mapping[str, float]] = {
    "excellent": 10, "great": 9, "very good": 9, "good": 7.5, "ok": 5, "okay": 5, "fair": 5, "so-so": 5, "mediocre": 4,
    "poor": 2.5, "bad": 2, "unplayable": 0, "sehr gut": 9, "gut": 7.5, "befriedigend": 6, "ausreichend": 4, "mittel": 5,
    "mäßig": 4, "schlecht": 2, "mangelhaft": 2, "ungenügend": 0, "super": 9.5, "geht": 5, "geht so": 4,
    "++": 10, "+": 7.5, "o": 5, "0": 5, "-": 2.5, "--": 0, "a": 10, "b": 7.5, "c": 5, "d": 2.5, "e": 1, "f": 0}
_SCHOOL: Final = ("note", "schulnote", "grade", "zensur")


@dataclass(frozen=True)
class Ask:
    """One thing to be said.

    `code` names it: "columns", "dates", "year", "day_once", "minutes", "scale", "ways", "reeds", "box" or "instrument".
    `options` are pairs of words and value to choose from, where there are some. `guess` is what it looks like. `words`
    are what must be matched one by one, each with how often it stands there and its guess.
    """

    code: str
    text: str
    options: tuple[tuple[str, Any], ...] = ()
    guess: Any = None
    words: Mapping[str, tuple[int, Any]] = field(default_factory=dict)


def asks_of(grid: Grid, matching: Matching, known: Known) -> tuple[Ask, ...]:
    """Return all that is to be said still."""
    return tuple(ask for one in (_columns, _dates, _year, _day_once, _minutes, _scale, _ways, _reeds)
                 for ask in one(grid, matching, known))


def _cells(grid: Grid, matching: Matching, what: str) -> list[Cell]:
    place = column(grid, matching, what)
    return [] if place is None else [row[place] for _, row in rows_of(grid, matching.header)]


def _columns(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    lost = [t for t in (*matching.columns.values(), *matching.reed_columns) if t not in titles(grid, matching.header)]
    if lost:
        yield Ask("columns", tr("The columns {titles} are not in this file.").format(titles=all_of(lost)))
    if "date" not in matching.columns:
        yield Ask("columns", tr("Which column holds the day?"))
    if "reed" not in matching.columns and not matching.reed_columns:
        yield Ask("columns", tr("Which column says which reed it was?"))
    if "overall" not in matching.columns and not matching.reed_columns and "play_min" not in matching.columns:
        yield Ask("columns", tr("Which column holds the ratings, or the minutes?"))


def _dates(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    cells = [c for c in _cells(grid, matching, "date") if has_order(c)]
    if matching.dates is not None or not cells:
        return
    year = matching.year or known.today.year
    fits = orders_that_fit(cells, known.today, year)
    words = {"dmy": tr("day, month, year"), "mdy": tr("month, day, year"), "ymd": tr("year, month, day")}
    telling = next((c for c in cells if len({day_in(c, o, year) for o in fits}) == len(fits)), cells[0])
    options = tuple((tr("{order}: {first} is {day}").format(
        order=words[o], first=text_of_cell(telling), day=day_in(telling, o, year)), o) for o in fits)
    yield Ask("dates", tr("In which order do the dates stand?"), options or tuple((w, o) for o, w in words.items()),
              _steadiest(cells, fits, year))


def _steadiest(cells: Sequence[Cell], orders: Sequence[str], year: int) -> str | None:
    """Return the order in which the days jump least from row to row."""
    def jumps(order: str) -> int:
        days = [d for c in cells if isinstance(d := day_in(c, order, year), date)]
        return sum(abs((b - a).days) for a, b in pairwise(days))

    return min(orders, key=jumps, default=None)


def _year(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    lacking = [c for c in _cells(grid, matching, "date") if year_missing(c)]
    if lacking and matching.year is None:
        yield Ask("year", tr("The dates have no year, as {first}. Of which year is the first?").format(
            first=text_of_cell(lacking[0])), guess=known.today.year)


def _day_once(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    cells = _cells(grid, matching, "date")
    none = sum(c is None for c in cells)
    if none and matching.day_once is None:
        yield Ask("day_once", tr("{n} rows have no date. Are they of the day of the row above?").format(n=none),
                  ((tr("Yes, of the day above"), True), (tr("No, they are odd"), False)), True)


def _minutes(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    if matching.minutes is not None and (isinstance(matching.minutes, str) == ("play_min" in matching.columns)):
        return
    if "play_min" not in matching.columns:
        yield Ask("minutes", tr("No column says how long you played. About how many minutes is one entry?"), guess=20)
        return
    bare = [x for c in _cells(grid, matching, "play_min") if (x := number_in(c)) is not None]
    if not bare:
        return
    options = ((tr("{n} minutes"), "min", 1), (tr("{n} hours"), "h", 60), (tr("{n} of a day"), "day", 1440))
    likely = "day" if max(bare) < 1 else "h" if sorted(bare)[len(bare) // 2] <= 8 else "min"
    yield Ask("minutes", tr("What is the number {n} in the column of the minutes?").format(n=f"{bare[0]:g}"), tuple(
        (tr("{words}, {min} minutes").format(words=w.format(n=f"{bare[0]:g}"), min=f"{bare[0] * k:g}"), key)
        for w, key, k in options), likely)


def _ratings(grid: Grid, matching: Matching) -> list[Cell]:
    if not matching.reed_columns:
        return [c for c in _cells(grid, matching, "overall") if c is not None]
    places = [k for k, t in enumerate(titles(grid, matching.header)) if t in matching.reed_columns]
    return [row[k] for _, row in rows_of(grid, matching.header) for k in places if row[k] is not None]


def _scale(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    cells = _ratings(grid, matching)
    said = {} if matching.scale is None else matching.scale.words
    numbers = [x for c in cells if (x := number_in(c)) is not None]
    words = Counter(text_of_cell(c).casefold() for c in cells if number_in(c) is None)
    few = sum(words.values()) < _MANY * len(cells)  # slips of the pen are odd rows, not marks
    scale = matching.scale or _scale_of(numbers, matching.columns.get("overall", ""))
    fresh = {} if few else {w: (n, _points_of(w, scale)) for w, n in words.items() if w not in said}
    if not cells or (matching.scale is not None and not fresh):
        return
    if not numbers:
        text = tr("The ratings are words. How many points is each, from 0 to 10?")
    elif matching.scale is None:
        text = tr("The ratings go from {low} to {high}. Which mark is the worst there can be, and which the "
                  "best?").format(low=f"{min(numbers):g}", high=f"{max(numbers):g}")
    else:
        text = tr("Some ratings are words. How many points is each, from 0 to 10?")
    yield Ask("scale", text, guess=scale, words=fresh)


def _scale_of(numbers: Sequence[float], title: str) -> Scale:
    """Return the scale that the numbers look like."""
    if not numbers:
        return Scale(0, 10)
    low, high = min(numbers), max(numbers)
    school = any(w in title.casefold() for w in _SCHOOL)
    for top in (5, 6, 10, 20, 100):
        if high <= top and not (top == 5 and school):
            bottom = 0 if low < 1 or top >= 20 else 1
            return Scale(top, bottom or 1) if school and top <= 6 else Scale(bottom, top)
    return Scale(0, 10)


def _points_of(word: str, scale: Scale) -> float | None:
    """Return the points that a mark in words likely stands for: 2+ is a little better than 2."""
    if (found := re.fullmatch(r"(\d{1,2})([+-])", word)) is not None:
        better = 1 if scale.best > scale.worst else -1
        points = scale.points(float(found[1]) + 0.3 * better * (1 if found[2] == "+" else -1))
        return min(max(points, 0.0), 10.0)
    return _WORDS.get(word)


def _ways(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    if "habit" not in matching.columns:
        return
    found = Counter(text_of_cell(c).casefold() for c in _cells(grid, matching, "habit") if c is not None)
    words = {w: n for w, n in found.items() if w not in matching.ways}
    if words:
        keys = {k.casefold(): k for k in known.ways} | {name.casefold(): k for k, name in known.ways.items()}
        text = tr("Which word stands for which way? Put each to one of two, to neither, or leave its rows out.")
        yield Ask("ways", text, ((tr("neither"), NEITHER), (tr("leave out"), LEFT_OUT)),
                  words={w: (n, keys.get(w)) for w, n in sorted(words.items(), key=lambda p: -p[1])})


def word_of(matching: Matching, cells: Mapping[str, Cell]) -> str:
    """Return how a row names its reed: one cell, or box and number together."""
    word = text_of_cell(cells.get("reed"))
    if "box" in matching.columns and word:
        box = text_of_cell(cells.get("box"))
        number = re.search(r"\d+$", word)
        return f"{box}-{number[0]}" if box and number else ""
    return word


def reed_for(matching: Matching, known: Known, word: str) -> str | None:
    """Return the code of a reed as the diary names it, as the logbook writes it; None for a name not matched yet."""
    if not word:
        return None
    said = matching.reeds.get(word.casefold())
    if said is not None:
        return said
    found = reed_in(word, matching.box)
    if found is None or ("-" not in word and found[0].isalpha()):
        return None  # letters may be a box, or another player
    return _spelt(found, known)


def _spelt(found: tuple[str, str], known: Known) -> str:
    """Return a code as the logbook has it: 2-7 and 2-07 are the same reed."""
    box, number = found[0], int(found[1])
    same = [c for c in known.reeds if c.rpartition("-")[0] == box and int(c.rpartition("-")[2]) == number]
    return same[0] if same else f"{box}-{number:02d}"


def _reed_words(grid: Grid, matching: Matching) -> Counter[str]:
    at = {what: column(grid, matching, what) for what in ("reed", "box")}
    return Counter(w for _, row in rows_of(grid, matching.header) if (w := word_of(matching, {
        what: None if k is None else row[k] for what, k in at.items()})))


def initials_of(words: Sequence[str]) -> dict[str, list[str]]:
    """Return the words by the letters they begin with, where several such letters number their own reeds."""
    by: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for word in words:
        if "-" not in word and (found := reed_in(word, None)) and found[0].isalpha():
            by[found[0]][str(int(found[1]))].append(word)
    return {first: [w for ws in numbers.values() for w in ws] for first, numbers in by.items()}


def _reeds(grid: Grid, matching: Matching, known: Known) -> Iterator[Ask]:
    if "reed" not in matching.columns:
        return
    words = _reed_words(grid, matching)
    open_ = {w: n for w, n in words.items() if reed_for(matching, known, w) is None}
    bare = [w for w in open_ if reed_in(w, "1") and not reed_in(w, None)]
    if bare and matching.box is None:
        text = tr("The reeds are bare numbers, as {first}. Which box are they of? A short name, such as 1.")
        likely = next(iter(known.boxes), "1") if len(known.boxes) <= 1 else None
        yield Ask("box", text.format(first=bare[0]), guess=likely)
        open_ = {w: n for w, n in open_.items() if w not in bare}
    if not open_:
        return
    several = initials_of(list(open_))
    guesses: dict[str, Any] = {}
    taken = 0
    for word in sorted(open_):
        found = reed_in(word, None)
        if found is None:
            taken += 1
        guesses[word] = _spelt(found, known) if found else f"old-{taken:02d}"
    text = tr("Which reed is each of these? Give each a code such as 2-07, or leave its rows out with -.")
    if len(several) > 1:
        text = tr("The reeds begin with different letters: {letters}. Are these boxes, or the initials of players? "
                  "Take in one player's rows only, and leave the others out with -.").format(
                      letters=all_of(sorted(several)))
    yield Ask("reeds", text, words={w.casefold(): (n, guesses[w]) for w, n in open_.items()})


def instrument_asked() -> Ask:
    """Return the question after the instrument of boxes that the logbook does not have."""
    return Ask("instrument", tr("For which instrument are the reeds?"), tuple((i, i) for i in INSTRUMENTS))
