"""A good guess at what stands where in a diary. It is shown; nothing of it is taken without the player's word."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from .grid import Cell, Grid, fingerprint, text_of_cell
from .matching import Matching, Scale
from .values import day_in, has_order, minutes_in, number_in, orders_that_fit, reed_in, year_missing

__all__ = ["Known", "column", "guess", "headers_of", "rows_of", "titles"]

#: Words in titles, in English and German, that tell what a column is.
_TITLES: Final[Mapping[str, tuple[str, ...]]] = {
    "date": ("date", "day", "datum", "tag", "when", "wann"),
    "box": ("box", "schachtel", "packung", "pack"),
    "reed": ("reed", "blatt", "rohr", "which", "welches", "code", "nr", "no", "nummer", "number"),
    "overall": ("overall", "rating", "mark", "grade", "points", "note", "schulnote", "bewertung", "urteil", "wertung",
                "punkte", "quality", "stars", "sterne", "klang", "sound"),
    "play_min": ("min", "mins", "minutes", "minuten", "dauer", "duration", "time", "zeit", "played", "gespielt",
                 "spielzeit", "spieldauer", "long", "lange", "stunden", "hours", "std", "h", "play_min", "übezeit"),
    "habit": ("habit", "way", "method", "wet", "wetting", "soak", "soaking", "storage", "lagerung", "art", "weise",
              "variante", "wässern", "did", "getan", "einweichen", "anfeuchten", "nässen", "how", "wie", "drying",
              "trocknen", "case", "etui", "treatment", "behandlung", "methode", "position", "place", "lage", "sitz",
              "stellung", "reinigen", "cleaning", "rinse", "rinsing", "spülen", "cut", "schnitt"),
    "remark": ("remark", "remarks", "notes", "comment", "comments", "bemerkung", "bemerkungen", "kommentar", "notiz",
               "notizen", "anmerkung", "anmerkungen"),
}
_HEADER_WITHIN: Final = 30  # lines in which the titles are looked for
_LOOKED_AT: Final = 400  # rows that tell what a column holds
_MOST: Final = 0.6  # share of a column's cells that must look right
_REED_TITLE: Final = re.compile(r"(?:reed|blatt|rohr|bl|r|nr|no|#)?\.? ?#?\d{1,3}|[^\W_]{1,12}-\d{1,3}", re.IGNORECASE)


@dataclass(frozen=True)
class Known:
    """What the logbook has: reed codes, the instrument of each box, the names of the ways by key; and the day."""

    today: date
    reeds: Sequence[str] = ()
    boxes: Mapping[str, str] = field(default_factory=dict)
    ways: Mapping[str, str] = field(default_factory=dict)

    @property
    def instrument(self) -> str | None:
        """The one instrument of all boxes; None where there are several or none."""
        kinds = set(self.boxes.values())
        return next(iter(kinds)) if len(kinds) == 1 else None


def titles(grid: Grid, header: int) -> list[str]:
    """Return the titles of the columns; one without a title is called by its letter, a second one by both."""
    cells = grid.line(header) or (None,) * grid.width
    out: list[str] = []
    for k, cell in enumerate(cells):
        letter = (chr(64 + k // 26) if k >= 26 else "") + chr(65 + k % 26)
        name = text_of_cell(cell) or letter
        out.append(name if name not in out else f"{name} ({letter})")
    return out


def rows_of(grid: Grid, header: int) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    """Yield the lines below the titles; titles that are said again further down are passed over."""
    head = grid.line(header)
    for n, cells in grid.lines:
        if n > header and cells != head:
            yield n, cells


def column(grid: Grid, matching: Matching, what: str) -> int | None:
    """Return the place of the column matched to something, or None."""
    names, title = titles(grid, matching.header), matching.columns.get(what)
    return names.index(title) if title in names else None


def headers_of(grid: Grid, header: int, reed_columns: Mapping[str, str]) -> str:
    """Return the fingerprint of a diary's shape: its titles, but for those of columns a reed, which come and go."""
    return fingerprint(t for t in titles(grid, header) if t not in reed_columns)


def guess(grid: Grid, known: Known) -> Matching | None:
    """Return a first matching, with None where only the player can say it; None if no line holds titles."""
    header = _header(grid)
    if header is None:
        return None
    names = titles(grid, header)
    cells = [[c for c in of if c is not None] for of in
             zip(*[row for _, row in list(rows_of(grid, header))[:_LOOKED_AT]], strict=True)]
    wide = {t: f"{a}-{int(b):02d}" for t, of in zip(names, cells, strict=True)
            if _REED_TITLE.fullmatch(t) and _share(of, lambda c: number_in(c) is not None) >= _MOST
            and (found := reed_in(t, "1")) for a, b in [found]}
    wide = wide if len(wide) >= 3 else {}
    left = {t: of for t, of in zip(names, cells, strict=True) if t not in wide and of}
    columns: dict[str, str] = {}
    for what in ("date", "play_min", "overall", "reed", "box", "habit", "remark"):
        if wide and what in ("reed", "box", "overall"):
            continue
        best = max(left, key=lambda t: _likely(what, t, left[t], known), default=None)
        if best is not None and _likely(what, best, left[best], known) >= 1:
            columns[what] = best
            del left[best]
    minutes = None
    if "play_min" in columns:
        of = cells[names.index(columns["play_min"])]
        numbers = [x for c in of if (x := number_in(c)) is not None]
        minutes = "min" if not numbers or sorted(numbers)[len(numbers) // 2] > 8 else None
    days = [c for c in _of(columns, "date", names, cells) if has_order(c)]
    fits = orders_that_fit(days, known.today, known.today.year) if days else []
    marks = [c for t in (wide or [columns.get("overall", "")]) if t in names for c in cells[names.index(t)]]
    numbers = [x for c in marks if (x := number_in(c)) is not None]
    plain = len(numbers) == len(marks) > 0 and min(numbers) < 1 and 6 < max(numbers) <= 10
    ways = {w: w for c in _of(columns, "habit", names, cells) if (w := text_of_cell(c).casefold()) in known.ways}
    return Matching(headers=headers_of(grid, header, wide), header=header, columns=columns, reed_columns=wide,
                    dates=fits[0] if len(fits) == 1 else None, minutes=minutes, scale=Scale(0, 10) if plain else None,
                    ways=ways, instrument=known.instrument)


def _of(columns: Mapping[str, str], what: str, names: Sequence[str], cells: Sequence[Sequence[Cell]]) -> Sequence[Cell]:
    return cells[names.index(columns[what])] if what in columns else ()


def _header(grid: Grid) -> int | None:
    """Return the line of the titles: the widest with texts only, above one that holds a date or a number."""
    best, most = None, 1
    for k, (n, cells) in enumerate(grid.lines[:_HEADER_WITHIN]):
        filled = [c for c in cells if c is not None]
        texts = sum(isinstance(c, str) and not _is_day(c) for c in filled)
        if texts > most and texts == len(filled) and len({text_of_cell(c) for c in filled}) == len(filled) \
                and any(_is_day(c) or number_in(c) is not None for _, row in grid.lines[k + 1:k + 4] for c in row):
            best, most = n, texts
    return best


def _is_day(cell: Cell) -> bool:
    return has_order(cell) or year_missing(cell) or not isinstance(day_in(cell, "dmy", 2000), str)


def _share(cells: Sequence[Cell], fits: Callable[[Cell], bool]) -> float:
    return sum(map(fits, cells)) / len(cells) if cells else 0.0


def _likely(what: str, title: str, cells: Sequence[Cell], known: Known) -> float:
    """Return how likely a column is something: 1 and more is taken; its title counts most, its cells must fit."""
    words = re.findall(r"[^\W\d]+", title.casefold())
    named = 2.0 if any(w in _TITLES[what] for w in words) else 1.2 if any(
        w.startswith(t) and len(t) > 3 for w in words for t in _TITLES[what]) else 0.0
    distinct = len({text_of_cell(c).casefold() for c in cells})
    texts = _share(cells, lambda c: isinstance(c, str) and number_in(c) is None)
    if what == "date":
        days = _share(cells, lambda c: _is_day(c) and (bool(named) or not year_missing(c)))  # 1-01 may be a reed
        return days + named if days >= _MOST else 0.0
    if what == "play_min":
        spans = _share(cells, lambda c: isinstance(c, timedelta) or isinstance(minutes_in(c, "min"), float))
        units = _share(cells, lambda c: isinstance(c, timedelta) or (isinstance(c, str) and number_in(c) is None))
        return max(named, 1.1 * (units >= _MOST)) * spans if spans >= _MOST else 0.0
    if what == "overall":
        marks = _share(cells, lambda c: number_in(c) is not None)
        few = distinct <= 12 and all(len(text_of_cell(c)) <= 20 for c in cells)
        return named + marks if named and (marks >= _MOST or few) else 0.5 * marks
    if what == "reed":
        codes = _share(cells, lambda c: text_of_cell(c) in known.reeds or bool(reed_in(text_of_cell(c), "1")))
        return named + codes if named else 0.9 * codes + (0.2 if distinct < len(cells) else 0)
    if what == "habit":
        few = 2 <= distinct <= max(8, len(cells) // 10) and texts >= _MOST
        keyed = _share(cells, lambda c: text_of_cell(c).casefold() in known.ways)
        return named + few + keyed if named and distinct <= 40 else keyed + few * (0.9 if keyed < _MOST else 1)
    if what == "remark":
        return named + texts if named else 1.0 * (texts >= _MOST and distinct > 3)
    return named
