"""Sittings of several days written as if typed in on each of them, so that they meet the same questions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..errors import EntryRefused, Fault
from ..logbook import Logbook
from ..rows.prefilled import placed
from ..rows.records import Sitting
from ..screens import look_over

__all__ = ["ByDay", "add_by_day"]


@dataclass(frozen=True)
class ByDay:
    """What became of the rows: their entry numbers; what the logbook refused, each with its row's place from 0; what
    is lacking, and what is odd, in lines.
    """

    numbers: tuple[int, ...]
    faults: tuple[tuple[int | None, Fault], ...]
    lacking: tuple[str, ...]
    odd: tuple[str, ...]


def add_by_day(logbook: Logbook, rows: Sequence[Mapping[str, Any]]) -> ByDay:
    """Add sittings day after day, whatever is found; the caller takes all of it back where it is not to stand.

    Parameters
    ----------
    logbook : Logbook
        Within a transaction (`Logbook.together`).
    rows : sequence of mapping
        Columns of the table of sittings, already read. Odd ones are marked as confirmed.
    """
    numbers: list[int] = []
    faults: list[tuple[int | None, Fault]] = []
    lacking: list[str] = []
    odd: list[str] = []
    days: dict[date, list[int]] = {}
    for n, row in enumerate(rows):
        days.setdefault(row["date"], []).append(n)
    for on in sorted(days):
        frames = logbook.frames()
        mine = [rows[n] for n in days[on]]
        looked = look_over(mine, frames, logbook.protocols(frames))
        lacking += [x if len(mine) > 1 else f"{mine[0]['reed']}: {x}" for x in looked.faults]
        odd += looked.odd
        try:
            numbers += logbook.add_many([Sitting(**row) for row in placed(looked.rows, frames.sittings)])
        except EntryRefused as err:
            faults += [(None if f.line is None else days[on][f.line - 1], f) for f in err.faults]
    return ByDay(tuple(numbers), tuple(faults), tuple(lacking), tuple(odd))
