"""Whether rows may go into the logbook: the faults between rows that a change would bring. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from ..cross_checks import CrossFault, cross_check, key_of
from ..errors import Fault

__all__ = ["brought_in", "spoken_key"]

Rows = Mapping[str, Sequence[Mapping[str, Any]]]


def brought_in(before: Rows, after: Rows, places: Mapping[tuple[str, int], int], today: date) -> list[Fault]:
    """Return the faults that hold after a change and did not before.

    Parameters
    ----------
    before, after : mapping of table name to current rows
    places : mapping of (table, place in `after`) to the row's number among those handed in
    today : date
    """
    found = cross_check(after, today)
    had = {_name(before, f) for f in cross_check(before, today)} if found else set()
    faults = []
    for f in found:
        n = places.get((f.table, f.row))
        if n is not None:
            faults.append(Fault(f.table, n, f.column, f.found, f.wanted))
        elif _name(after, f) not in had:
            where = spoken_key(f.table, after[f.table][f.row])
            faults.append(Fault(f.table, None, f.column, f"{f.found} ({where})", f.wanted))
    return faults


def spoken_key(table: str, row: Mapping[str, Any]) -> str:
    """Return a row's table and key in plain text, as ``reeds 2-07``."""
    return " ".join([table, *(str(k) for k in key_of(table, row) or ())])


def _name(rows: Rows, f: CrossFault) -> tuple[Any, ...]:
    return f.table, key_of(f.table, rows[f.table][f.row]), f.column, f.found, f.wanted
