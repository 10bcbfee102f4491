"""A filled sheet typed back: sittings, what the days say, reeds that are done; saved together or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..errors import EntryRefused, Fault
from ..handout.typed_back import typed_back
from ..logbook import Logbook
from ..rows.records import Day, Retirement
from ..rows.values import as_it_stands, read_rows
from ..screens.saving import asked
from ..wording import tr
from .away import Unsure
from .by_day import add_by_day

__all__ = ["SheetSaved", "save_sheet"]


@dataclass(frozen=True)
class SheetSaved:
    """The entry numbers of the sittings and retirements, and the days that were written."""

    sittings: tuple[int, ...]
    days: tuple[date, ...]
    gone: tuple[int, ...] = ()


def save_sheet(logbook: Logbook, rows: Sequence[Mapping[str, Any]], days: Sequence[Mapping[str, Any]] = (),
               gone: Sequence[Mapping[str, Any]] = (), *, sure: str | None = None) -> SheetSaved:
    """Save a filled sheet, all of it or nothing.

    Parameters
    ----------
    logbook : Logbook
    rows : sequence of mapping
        As for `handout.typed_back`. A rating may be left empty, as on paper.
    days : sequence of mapping
        For each day of which something was said: its date, and of `humidity_pct`, `temp_c` and `day_off` what was.
    gone : sequence of mapping
        Rows of retirements, of the reeds ticked as done.
    sure : str, optional
        The token of the question that this answers with yes.

    Raises
    ------
    EntryRefused
        With every fault: of rows by their place from 1, in the tables "days" and "retirements" by theirs.
    Unsure
        Something looks odd.
    """
    read, faults = read_rows({"days": days, "retirements": gone})
    try:
        found = typed_back(rows, logbook.frames())
    except EntryRefused as err:
        raise EntryRefused([*err.faults, *faults]) from None
    if faults:
        raise EntryRefused(faults)
    off = {day["date"] for day in read["days"] if day["day_off"]}
    odd = [tr("{reed} has an entry on {day}, which is ticked as a day off. Is that right?").format(
        reed=row["reed"], day=row["date"]) for row in found.values() if row["date"] in off]
    with logbook.together():
        done = add_by_day(logbook, list(found.values()))
        faults += [Fault("sittings", None if n is None else list(found)[n], f.column, f.found, f.wanted)
                   for n, f in done.faults]
        for n, (day, values) in enumerate(zip(days, read["days"], strict=True), start=1):
            try:
                old = as_it_stands("days", logbook.frame("days"), date=values["date"])
                logbook.put(Day(**{**old, **{c: values[c] for c in day}}))
            except EntryRefused as err:
                faults += [Fault("days", n, f.column, f.found, f.wanted) for f in err.faults]
        left: list[int] = []
        for n, values in enumerate(read["retirements"], start=1):
            try:
                left.append(logbook.add(Retirement(**values)))
            except EntryRefused as err:
                faults += [Fault("retirements", n, f.column, f.found, f.wanted) for f in err.faults]
        if faults:
            raise EntryRefused(faults)
        question = asked([*odd, *done.odd])
        if question.lines and sure != question.token:
            raise Unsure(question)
    return SheetSaved(done.numbers, tuple(day["date"] for day in read["days"]), tuple(left))
