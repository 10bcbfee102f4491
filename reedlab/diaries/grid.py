"""The cells of one sheet as they came, and a CSV text as such a sheet."""

from __future__ import annotations

import csv
import hashlib
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

__all__ = ["Cell", "Grid", "fingerprint", "grid_of", "grid_of_csv", "text_of_cell"]

Cell = str | float | date | timedelta | None
_MARKS: Final = (";", "\t", ",", "|")
_LOOKED_AT: Final = 200  # lines that tell which mark stands between the columns


@dataclass(frozen=True)
class Grid:
    """One sheet: its lines with their numbers as the player's program counts them, all equally long.

    `merged` counts cells that were filled from the merged cell they belong to. `beside` names the other sheets of its
    file that have something in them.
    """

    name: str
    lines: tuple[tuple[int, tuple[Cell, ...]], ...]
    merged: int = 0
    beside: tuple[str, ...] = ()

    @property
    def width(self) -> int:
        """The number of columns."""
        return len(self.lines[0][1]) if self.lines else 0

    def line(self, number: int) -> tuple[Cell, ...] | None:
        """Return the cells of a line, or None if it is empty or there is none."""
        return next((cells for n, cells in self.lines if n == number), None)


def grid_of(name: str, lines: Iterable[tuple[int, Sequence[object]]], merged: int = 0) -> Grid:
    """Build a grid from lines of cells of any length; empty lines and empty columns at the right are left out."""
    kept = [(n, [_cell(c) for c in cells]) for n, cells in lines]
    kept = [(n, cells) for n, cells in kept if any(c is not None for c in cells)]
    width = max((k + 1 for _, cells in kept for k, c in enumerate(cells) if c is not None), default=0)
    return Grid(name, tuple((n, tuple((cells + [None] * width)[:width])) for n, cells in kept), merged)


def grid_of_csv(text: str, name: str) -> Grid:
    """Read a CSV text, whatever mark stands between its columns: the one that makes the lines most alike."""
    lines = text.lstrip("\ufeff").splitlines(keepends=True)
    first = 0
    mark = None
    if lines and (told := lines[0].strip().strip('"').casefold()).startswith("sep=") and len(told) == 5:
        mark, first = told[4], 1
    mark = mark or _mark(lines)
    rows: list[tuple[int, Sequence[object]]] = []
    reader = csv.reader(io.StringIO("".join(lines[first:]), newline=""), delimiter=mark)
    start = first + 1
    for cells in reader:
        rows.append((start, cells))
        start = first + reader.line_num + 1
    return grid_of(name, rows)


def _mark(lines: Sequence[str]) -> str:
    def alike(mark: str) -> tuple[int, int]:
        widths = Counter(len(row) for row in csv.reader(lines[:_LOOKED_AT], delimiter=mark) if any(map(str.strip, row)))
        wide = {w: n for w, n in widths.items() if w > 1}
        best = max(wide, key=lambda w: (wide[w], w), default=1)
        return wide.get(best, 0), best

    return max(_MARKS, key=alike)


def _cell(value: object) -> Cell:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, time):
        return timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return float(value)
    if value is None or isinstance(value, date | timedelta):
        return value
    text = " ".join(str(value).replace("\u00a0", " ").split())
    return text or None


def text_of_cell(cell: Cell) -> str:
    """Return a cell as a player reads it."""
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:.10g}"
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, timedelta):
        return f"{int(cell.total_seconds()) // 3600}:{int(cell.total_seconds()) // 60 % 60:02d}"
    return cell


def fingerprint(cells: Iterable[Cell]) -> str:
    """Return the fingerprint of some cells, such as a header: capitals and spaces make no difference."""
    plain = "\x1f".join(text_of_cell(c).casefold() for c in cells)
    return hashlib.sha256(plain.encode("utf-8", "replace")).hexdigest()[:16]
