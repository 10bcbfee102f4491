"""Read the rows of a diary as the player said: what is still to be asked, what is odd, and the rows that come of it."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from ..rows.tables import TABLES
from ..rows.values import part_of_a_day
from ..wording import all_of, tr, trn
from .asks import Ask, asks_of, instrument_asked, reed_for, word_of
from .grid import Cell, Grid, fingerprint, text_of_cell
from .guess import Known, column, rows_of, titles
from .matching import LEFT_OUT, Matching
from .values import day_in, has_order, minutes_in, number_in, year_missing

__all__ = ["Odd", "Row", "Understood", "understand"]

_LONGEST_REMARK: Final = 2000


@dataclass(frozen=True)
class Row:
    """One sitting as understood: the line it stands in, and its values by column."""

    line: int
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Odd:
    """A row that cannot be taken as it stands: its line, why, and its fingerprint, to be skipped by."""

    line: int
    why: str
    mark: str


@dataclass(frozen=True)
class Understood:
    """What a diary says.

    `asks` is what the player must still say; while there is any, `rows` are only those that need no answer. `odd` rows
    are not among `rows`; each is to be mended in the file or skipped by the player's tick, which `skipped` counts.
    `left_out` counts, in words, what was passed over as told. `boxes` and `reeds` are what the logbook lacks. `marks`
    are the fingerprints of the rows, by line, by which they may be skipped.
    """

    matching: Matching
    asks: tuple[Ask, ...]
    rows: tuple[Row, ...]
    odd: tuple[Odd, ...]
    skipped: int
    left_out: Mapping[str, int]
    boxes: tuple[dict[str, Any], ...]
    reeds: tuple[dict[str, Any], ...]
    told: tuple[str, ...] = ()
    marks: Mapping[int, str] = field(default_factory=dict)

    @property
    def ready(self) -> bool:
        """True where all of it can be taken in."""
        return bool(self.rows) and not self.asks and not self.odd


def understand(grid: Grid, matching: Matching, known: Known) -> Understood:
    """Read the rows of a diary.

    Parameters
    ----------
    grid : Grid
    matching : Matching
        What was said of it, or guessed.
    known : Known
        What the logbook has.
    """
    asks = asks_of(grid, matching, known)
    reading = _Reading(grid, matching, known)
    for line, cells in rows_of(grid, matching.header):
        reading.row(line, cells)
    rows = _named(reading.rows)
    boxes, reeds = _new(rows, matching, known)
    nothing = not known.boxes and matching.instrument is None
    if nothing or any(box["instrument"] is None for box in boxes):
        asks = (*asks, instrument_asked())
    return Understood(matching, asks, rows, tuple(reading.odd), reading.skipped, dict(reading.left_out), boxes, reeds,
                      tuple(_told(grid, matching, rows, reeds, reading)), reading.marks)


class _Reading:
    def __init__(self, grid: Grid, matching: Matching, known: Known) -> None:
        self.matching, self.known, self.merged = matching, known, grid.merged
        self.at = {what: column(grid, matching, what) for what in matching.columns}
        names = enumerate(titles(grid, matching.header))
        self.wide = {k: matching.reed_columns[t] for k, t in names if t in matching.reed_columns}
        self.rows: list[Row] = []
        self.odd: list[Odd] = []
        self.skipped = 0
        self.left_out: Counter[str] = Counter()
        self.seen: dict[str, int] = {}
        self.marks: dict[int, str] = {}
        self.day: date | None = None
        self.year, self.month = matching.year, 0

    def cell(self, cells: Sequence[Cell], what: str) -> Cell:
        place = self.at.get(what)
        return None if place is None else cells[place]

    def row(self, line: int, cells: Sequence[Cell]) -> None:
        """Read one line: none, one, or with a column a reed several rows."""
        mark = self.marks[line] = fingerprint(cells)
        if mark in self.matching.skipped:
            self._day(cells)  # the rows below may stand under its date
            self.skipped += 1
            return
        faults: list[str] = []
        on = self._day(cells)
        if isinstance(on, str):
            faults.append(on)
        elif on > self.known.today:
            faults.append(tr("{day} is still to come").format(day=on))
        made = list(self._sittings(cells, faults))
        if not made and not faults:
            return
        if mark in self.seen and not faults:
            faults.append(tr("the same as row {n}").format(n=self.seen[mark]))
        self.seen.setdefault(mark, line)
        if faults:
            self.odd.append(Odd(line, "; ".join(dict.fromkeys(faults)), mark))
        else:
            self.rows += [Row(line, {"date": on, **values}) for values in made]

    def _day(self, cells: Sequence[Cell]) -> date | str:
        cell = self.cell(cells, "date")
        if cell is None and self.matching.day_once and self.day is not None:
            return self.day
        order = self.matching.dates if has_order(cell) else "dmy"
        found = day_in(cell, order, self.year)
        if isinstance(found, date):
            if year_missing(cell) and self.year is not None:
                if found.month < self.month - 6:  # the year has turned
                    self.year += 1
                    found = found.replace(year=self.year)
                self.month = found.month
            self.day = found
        return found

    def _sittings(self, cells: Sequence[Cell], faults: list[str]) -> Iterator[dict[str, Any]]:
        way = self._way(cells)
        if way == LEFT_OUT:
            self.left_out[tr("left out by what was done")] += 1
            return
        minutes = self._minutes(cells, faults)
        remark = text_of_cell(self.cell(cells, "remark"))[:_LONGEST_REMARK] or None
        shared = {"play_min": minutes, "habit": way or None, "remark": remark}
        if self.wide:
            for k, own in self.wide.items():
                if cells[k] is not None and own != LEFT_OUT:
                    yield {"reed": own, "overall": self._points(cells[k], faults), **shared}
            return
        word = word_of(self.matching, {what: self.cell(cells, what) for what in ("reed", "box")})
        code = reed_for(self.matching, self.known, word)
        if code == LEFT_OUT:
            self.left_out[tr("left out by the reed")] += 1
            return
        if code is None:
            faults.append(tr("no reed") if word == "" else tr("a reed that is not matched yet"))
        cell = self.cell(cells, "overall")
        yield {"reed": code, "overall": None if cell is None else self._points(cell, faults), **shared}

    def _way(self, cells: Sequence[Cell]) -> str:
        cell = self.cell(cells, "habit")
        word = text_of_cell(cell).casefold()
        return self.matching.ways.get(word, "") if word else ""

    def _minutes(self, cells: Sequence[Cell], faults: list[str]) -> float | None:
        unit = self.matching.minutes
        if "play_min" not in self.matching.columns:
            return None if unit is None or isinstance(unit, str) else float(unit)
        cell = self.cell(cells, "play_min")
        found = minutes_in(cell, unit if isinstance(unit, str) else "min")
        most = TABLES["sittings"].field("play_min").high or 720
        if found is None:
            faults.append(tr("no minutes"))
        elif isinstance(found, str):
            faults.append(found)
        elif unit == "min" and (meant := part_of_a_day(found)) is not None:
            faults.append(tr("{n} minutes: a part of a day? That would be {min}").format(n=f"{found:g}", min=meant))
        elif not 0 <= found <= most:
            faults.append(tr("{n} minutes").format(n=f"{found:g}"))
        else:
            return found
        return None

    def _points(self, cell: Cell, faults: list[str]) -> float | None:
        scale = self.matching.scale
        if scale is None:
            return None
        word = text_of_cell(cell)
        if word.casefold() in scale.words:
            return float(scale.words[word.casefold()])
        value = number_in(cell)
        if value is None:
            faults.append(tr("'{word}' is no rating").format(word=word))
            return None
        points = scale.points(value)
        if not 0 <= points <= 10:
            faults.append(tr("a rating of {word}, off the scale").format(word=word))
            return None
        return points


def _named(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Give each row a name by day, reed and place among those of that day and reed: a copy that grew gives the same."""
    count: Counter[tuple[Any, Any]] = Counter()
    out = []
    for row in rows:
        key = row.values["date"], row.values["reed"]
        count[key] += 1
        plain = f"{key[0]}|{key[1]}|{count[key]}"
        out.append(Row(row.line, {"sitting": f"diary-{hashlib.sha256(plain.encode()).hexdigest()[:12]}", **row.values}))
    return tuple(out)


def _new(rows: Sequence[Row], matching: Matching, known: Known) -> tuple[tuple[dict[str, Any], ...], ...]:
    codes = dict.fromkeys(r.values["reed"] for r in rows if r.values["reed"] not in set(known.reeds))
    reeds = tuple({"reed": c, "box": c.rpartition("-")[0]} for c in sorted(c for c in codes if c))
    boxes = dict.fromkeys(r["box"] for r in reeds if r["box"] not in known.boxes)
    return tuple({"box": b, "instrument": matching.instrument or known.instrument} for b in boxes), reeds


def _told(grid: Grid, matching: Matching, rows: Sequence[Row], reeds: Sequence[Mapping[str, Any]],
          reading: _Reading) -> Iterator[str]:
    """Say in sentences what was understood."""
    if grid.beside:
        yield trn("This is the sheet “{name}”. Not read: the sheet {others}.",
                  "This is the sheet “{name}”. Not read: the sheets {others}.", len(grid.beside)).format(
                      name=grid.name, others=all_of(f"“{n}”" for n in grid.beside))
    if rows:
        days = [r.values["date"] for r in rows]
        rated = sum(r.values["overall"] is not None for r in rows)
        yield trn("{n} entry, {rated} rated, from {first} to {last}.",
                  "{n} entries, {rated} rated, from {first} to {last}.", len(rows)).format(
                      n=len(rows), rated=rated, first=min(days), last=max(days))
        used = sorted({r.values["reed"] for r in rows if r.values["reed"]})
        new = [r["reed"] for r in reeds]
        yield trn("{n} reed, {new} of it new to the logbook.", "{n} reeds, {new} of them new to the logbook.",
                  len(used)).format(n=len(used), new=len(new))
        ways = Counter(r.values["habit"] for r in rows)
        if set(ways) - {None}:
            named = [f"{reading.known.ways.get(w, w)} ({n})" for w, n in sorted(ways.items(), key=str) if w]
            yield tr("Ways: {ways}; neither ({n}).").format(ways=all_of(named), n=ways[None])
    if matching.scale is not None and ("overall" in matching.columns or matching.reed_columns):
        yield matching.scale.told
    matched = {*matching.columns.values(), *matching.reed_columns}
    if spare := [t for k, t in enumerate(titles(grid, matching.header)) if t not in matched and any(
            cells[k] is not None for _, cells in rows_of(grid, matching.header))]:
        yield trn("The column {titles} is not used.", "The columns {titles} are not used.", len(spare)).format(
            titles=all_of(f"“{t}”" for t in spare))
    for why, n in reading.left_out.items():
        yield tr("{n} rows {why}.").format(n=n, why=why)
    if reading.skipped:
        yield trn("{n} odd row is skipped, as you ticked.", "{n} odd rows are skipped, as you ticked.",
                  reading.skipped).format(n=reading.skipped)
    if grid.merged:
        yield trn("{n} cell was filled from the merged cell it is part of.",
                  "{n} cells were filled from the merged cells they are part of.", grid.merged).format(n=grid.merged)
