"""Asking for rows of the logbook by what stands in them, in words that SQLite answers from its indexes."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, Final

from ..rows.tables import TABLES

__all__ = ["Find", "Gathered", "Row", "find_in", "find_trials", "in_order", "surely_over"]

Row = Mapping[str, Any]
#: Finds current rows: the table, a condition in SQL and its values.
Find = Callable[[str, str, Sequence[Any]], list[dict[str, Any]]]

_MANY: Final = 500  # values in one condition
_DAYS: Final = re.compile(r'"days"\s*:\s*([0-9]+)')
_LONGEST: Final = 3660  # days that a plan may claim


class Gathered:
    """Current rows gathered by table, each once."""

    def __init__(self, find: Find) -> None:
        self.find = find
        self._rows: dict[str, dict[int, dict[str, Any]]] = {name: {} for name in TABLES}

    def put(self, table: str, rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
        """Add rows that were found elsewhere, and return them."""
        found = list(rows)
        self._rows[table].update((r["entry_id"], r) for r in found)
        return found

    def take(self, table: str, where: str = "1", values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        """Find and add rows, and return them."""
        return self.put(table, self.find(table, where, values))

    def take_in(self, table: str, column: str, values: Collection[Any], where: str = "1",
                more: Sequence[Any] = ()) -> list[dict[str, Any]]:
        """Find and add the rows with one of these values in a column, and return them."""
        return self.put(table, find_in(self.find, table, column, values, where, more))

    def rows(self) -> dict[str, list[dict[str, Any]]]:
        """Return by table what was gathered, in order."""
        return {name: in_order(rows.values()) for name, rows in self._rows.items()}


def in_order(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Sort rows as `_rows.current` does."""
    return sorted(rows, key=lambda r: (r.get("date") or date.min, r.get("order") is None, r.get("order") or 0,
                                       r["entry_id"]))


def find_in(find: Find, table: str, column: str, values: Collection[Any], where: str = "1",
            more: Sequence[Any] = ()) -> list[dict[str, Any]]:
    """Return the rows with one of some values in a column that meet a further condition."""
    out: list[dict[str, Any]] = []
    for some in _some(sorted(v.isoformat() if isinstance(v, date) else v for v in values)):
        out += find(table, f'"{column}" IN ({", ".join("?" * len(some))}) AND {where}', [*some, *more])
    return out


def find_trials(find: Find, reeds: Collection[str]) -> list[dict[str, Any]]:
    """Return the trials whose plan may name one of the reeds; one in another spelling of JSON always may."""
    found: dict[int, dict[str, Any]] = {}
    for some in _some(sorted(json.dumps(r, ensure_ascii=False) for r in reeds)):
        named = " OR ".join(["instr(protocol, '\\') > 0", *["instr(protocol, ?) > 0"] * len(some)])
        found.update((r["entry_id"], r) for r in find("trials", named, some))
    dealt = {r["trial"] for r in find_in(find, "deals", "reed", reeds)}  # a standing plan names no reeds itself
    found.update((r["entry_id"], r) for r in find_in(find, "trials", "trial", dealt - {None}))
    return [found[n] for n in sorted(found)]


def surely_over(trial: Row, day: date, pauses: int) -> bool:
    """Say whether the planned days had passed before a day, however pauses fall; read off the text, for speed."""
    days = [int(n) for n in _DAYS.findall(trial["protocol"])]
    return len(days) == 1 and trial["started"] + timedelta(days=min(days[0], _LONGEST) + pauses) < day


def _some(values: Sequence[Any]) -> Iterator[Sequence[Any]]:
    return (values[i:i + _MANY] for i in range(0, len(values), _MANY))
