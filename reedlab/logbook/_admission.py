"""Whether rows may go into the logbook: the faults between rows that a change would bring."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from ..errors import Fault
from ._concerned import Change, Concerned
from ._finding import Find, Row
from .between import RULES, CrossFault, faults_of, key_of

__all__ = ["newly_wrong", "spoken_key"]

Rows = Mapping[str, Sequence[Row]]


def newly_wrong(changes: Sequence[Change], places: Sequence[int], find: Find, today: date) -> list[Fault]:
    """Return the faults that hold after some changes and did not before; reads the rows concerned only.

    Parameters
    ----------
    changes : sequence of Change
    places : sequence of int
        The number of each change's row among those handed in.
    find : callable
        Finds current rows (`_rows.current` of an open logbook).
    today : date
    """
    faults: list[Fault] = []
    for rule in RULES:
        before = Concerned(changes, find, rule).rows()
        after, numbers = _changed(before, changes, places)
        found = faults_of(rule, after, today)
        had = {_name(before, f) for f in faults_of(rule, before, today)} if found else set()
        faults += _told(found, after, numbers, had)
    return faults


def _changed(before: Rows, changes: Sequence[Change], numbers: Sequence[int]) -> tuple[
        dict[str, list[Row]], dict[tuple[str, int], int]]:
    """Return the rows after the changes, and by table and place the number of each row that came."""
    after = {table: list(rows) for table, rows in before.items()}
    for change in changes:
        rows = after[change.table]
        if change.old is None:
            assert change.new is not None
            rows.append(change.new)
            continue
        at = next(i for i, r in enumerate(rows) if r.get("entry_id") == change.old["entry_id"])
        rows[at:at + 1] = [] if change.new is None else [change.new]
    number = {id(c.new): n for c, n in zip(changes, numbers, strict=True) if c.new is not None}
    return after, {(table, i): number[id(r)] for table, rows in after.items() for i, r in enumerate(rows)
                   if id(r) in number}


def _told(found: Sequence[CrossFault], after: Rows, places: Mapping[tuple[str, int], int],
          had: set[tuple[Any, ...]]) -> Iterator[Fault]:
    for f in found:
        n = places.get((f.table, f.row))
        if n is not None:
            yield Fault(f.table, n, f.column, f.found, f.wanted)
        elif _name(after, f) not in had:
            where = spoken_key(f.table, after[f.table][f.row])
            yield Fault(f.table, None, f.column, f"{f.found} ({where})", f.wanted)


def spoken_key(table: str, row: Row) -> str:
    """Return a row's table and key in plain text, as ``reeds 2-07``."""
    return " ".join([table, *(str(k) for k in key_of(table, row) or ())])


def _name(rows: Rows, f: CrossFault) -> tuple[Any, ...]:
    return f.table, key_of(f.table, rows[f.table][f.row]), f.column, f.found, f.wanted
