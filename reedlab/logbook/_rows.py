"""Rows between Python and SQLite: reading, writing and naming them. Knows SQL, keeps no state."""

from __future__ import annotations

import dataclasses
import sqlite3
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from ..errors import LogbookError
from ..records import Record
from ..tables import TABLES, Field
from .schema import quoted

__all__ = ["META", "as_mapping", "current", "entry", "every", "insert", "sitting_name", "stamp"]

#: What every entry carries besides its own columns.
META = ("entry_id", "entered_at", "supersedes", "withdrawn")


def as_mapping(record: Record) -> dict[str, Any]:
    """Return a record's fields by name."""
    return {f.name: getattr(record, f.name) for f in dataclasses.fields(record)}


def _to_sql(field: Field, value: Any) -> Any:
    if value is None:
        return None
    if field.kind == "date":
        return value.isoformat()
    return int(value) if field.kind == "bool" else value


def _from_sql(field: Field, value: Any) -> Any:
    if value is None:
        return None
    if field.kind == "date":
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise LogbookError(f"The logbook holds {value!r} as `{field.name}`, which is no date: it was "
                               "changed by another program. Use the newest sound copy in `backups`.") from None
    return bool(value) if field.kind == "bool" else value


def _read(source: str, connection: sqlite3.Connection, where: str = "",
          values: tuple[Any, ...] = ()) -> list[dict[str, Any]]:
    """Read a table, or the view of its current rows."""
    spec = TABLES[source.removeprefix("current_")]
    columns = ", ".join(quoted(c) for c in (*spec.columns, *META))
    by = [quoted(c) + (" IS NULL, " + quoted(c) if c == "order" else "")
          for c in ("date", "order") if c in spec.columns]
    order = ", ".join([*by, "entry_id"])
    found = connection.execute(f"SELECT {columns} FROM {quoted(source)} {where} ORDER BY {order}", values)
    n = len(spec.fields)
    return [
        {f.name: _from_sql(f, v) for f, v in zip(spec.fields, row, strict=False)}
        | dict(zip(META, row[n:], strict=True))
        for row in found
    ]


def current(connection: sqlite3.Connection, table: str) -> list[dict[str, Any]]:
    """Return the rows that hold now: neither superseded nor withdrawn; by date and order, then as entered."""
    return _read(f"current_{table}", connection)


def every(connection: sqlite3.Connection, table: str) -> list[dict[str, Any]]:
    """Return all entries of a table, those superseded or withdrawn too, as entered."""
    return sorted(_read(table, connection), key=lambda r: r["entry_id"])


def entry(connection: sqlite3.Connection, table: str, entry_id: int) -> dict[str, Any] | None:
    """Return one entry, or None if there is none of this number."""
    found = _read(table, connection, "WHERE entry_id = ?", (entry_id,))
    return found[0] if found else None


def insert(
    connection: sqlite3.Connection, table: str, row: Mapping[str, Any], *, entered_at: str,
    supersedes: int | None = None, withdrawn: bool = False, entry_id: int | None = None,
) -> int:
    """Write one entry and return its number."""
    spec = TABLES[table]
    columns = ", ".join(quoted(c) for c in (*spec.columns, *META))
    values = [*(_to_sql(f, row[f.name]) for f in spec.fields), entry_id, entered_at, supersedes, int(withdrawn)]
    marks = ", ".join("?" * len(values))
    done = connection.execute(f"INSERT INTO {quoted(table)} ({columns}) VALUES ({marks})", values)
    return int(done.lastrowid or 0)


def sitting_name(day: date, reed: str, taken: set[str]) -> str:
    """Return the first free name for a sitting, as 2026-03-01-2-07-1, and add it to `taken`."""
    n = 1
    while (name := f"{day.isoformat()}-{reed}-{n}") in taken:
        n += 1
    taken.add(name)
    return name


def stamp(now: datetime) -> str:
    """Return a moment as UTC in ISO form, to the second."""
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
