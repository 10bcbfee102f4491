"""Rows between Python and SQLite: reading, writing and naming them. Knows SQL, keeps no state."""

from __future__ import annotations

import dataclasses
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any

from ..errors import LogbookError
from ..rows.records import Record
from ..rows.tables import TABLES, Field
from ..wording import tr
from ._damage import WAY_BACK, EntryDamaged
from ._seal import FIRST, sealed
from .schema import quoted

__all__ = ["ENTRY", "META", "Entries", "as_mapping", "chain", "current", "entry", "insert", "is_sealed", "is_whole",
           "names_taken", "raw", "said", "sitting_name", "stamp", "values_of"]

#: What every entry carries besides its own columns.
META = ("entry_id", "entered_at", "supersedes", "withdrawn")
_SEAL = ("sha256_before", "sha256")
_TICKS = {t.name: frozenset(f.name for f in t.fields if f.kind == "bool") for t in TABLES.values()}


_COLUMNS = {t.name: t.columns for t in TABLES.values()}
#: Every column of an entry: the table's own, what each carries, its seal.
ENTRY = {t.name: (*t.columns, *META, *_SEAL) for t in TABLES.values()}


def is_sealed(table: str, entry: Sequence[Any]) -> bool:
    """Say whether an entry, with its columns as in `ENTRY`, still says what was written down."""
    columns = _COLUMNS[table]
    n = len(columns)
    return isinstance(entry[-2], bytes) and sealed(
        table, entry[n:-2], columns, entry[:n], _TICKS[table], entry[-2]) == entry[-1]


def as_mapping(record: Record) -> dict[str, Any]:
    """Return a record's fields by name."""
    return {f.name: getattr(record, f.name) for f in dataclasses.fields(record)}


def _to_sql(field: Field, value: Any) -> Any:
    if value is None:
        return None
    if field.kind == "date":
        return value.isoformat()
    if field.kind == "float":
        return float(value) + 0.0  # SQLite keeps no minus before a zero
    return int(value) if field.kind == "bool" else value


def _from_sql(field: Field, value: Any) -> Any:
    if value is None:
        return None
    if field.kind == "date":
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise LogbookError(tr("The logbook holds {value!r} as `{name}`, which is no date: it was changed by "
                                  "another program. {way_back}").format(
                                   value=value, name=field.name, way_back=WAY_BACK)) from None
    return bool(value) if field.kind == "bool" else value


def _found(table: str, connection: sqlite3.Connection, where: str = "", values: tuple[Any, ...] = (),
           order: str = "") -> sqlite3.Cursor:
    columns = ", ".join(quoted(c) for c in ENTRY[table])
    by = [quoted(c) + (" IS NULL, " + quoted(c) if c == "order" else "")
          for c in ("date", "order") if c in _COLUMNS[table]]
    order = order or ", ".join([*by, "entry_id"])
    return connection.execute(f"SELECT {columns} FROM {quoted(table)} {where} ORDER BY {order}", values)


def _said(table: str, found: Iterable[tuple[Any, ...]]) -> Iterator[dict[str, Any]]:
    fields = TABLES[table].fields
    n = len(fields)
    damaged = []
    for row in found:
        if not is_sealed(table, row):
            damaged.append((table, row[n]))
        elif not damaged:
            yield ({f.name: _from_sql(f, v) for f, v in zip(fields, row, strict=False)}
                   | dict(zip(META, row[n:-2], strict=True)))
    if damaged:
        raise EntryDamaged(damaged)


def _read(table: str, connection: sqlite3.Connection, where: str, *values: Any) -> list[dict[str, Any]]:
    return said(table, _found(table, connection, where, values))


def current(connection: sqlite3.Connection, table: str, where: str = "1",
            values: Sequence[Any] = ()) -> list[dict[str, Any]]:
    """Return the rows that hold now: neither superseded nor withdrawn; by date and order, then as entered.

    `where` is a condition in SQL that they must meet, with `values` for its question marks.
    """
    return said(table, raw(connection, table, where, values))


def raw(connection: sqlite3.Connection, table: str, where: str = "1",
        values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
    """Return what `current` returns as SQLite holds it, in the shortest time; for `said` when others may go on."""
    return _found(table, connection, f"AS one WHERE {_holds(table)} AND ({where})", tuple(values)).fetchall()


def said(table: str, rows: Iterable[tuple[Any, ...]]) -> list[dict[str, Any]]:
    """Return what rows from `raw` say, each held against its seal."""
    return list(_said(table, rows))


@dataclasses.dataclass(frozen=True)
class Entries:
    """The rows of a table that hold now, as `current` has them, or else those that hold no more, as entered.

    Read one by one, anew each time they are asked for.
    """

    connection: sqlite3.Connection
    table: str
    past: bool = False

    def __iter__(self) -> Iterator[dict[str, Any]]:
        holds = _holds(self.table)
        where, order = (f"NOT ({holds})", "entry_id") if self.past else (holds, "")
        return _said(self.table, _found(self.table, self.connection, f"AS one WHERE {where}", order=order))

    def __bool__(self) -> bool:
        return next(iter(self), None) is not None


def _holds(table: str) -> str:
    later = f"SELECT 1 FROM {quoted(table)} AS later WHERE later.supersedes = one.entry_id"
    return f"withdrawn = 0 AND NOT EXISTS ({later})"


def entry(connection: sqlite3.Connection, table: str, entry_id: int) -> dict[str, Any] | None:
    """Return one entry, or None if there is none of this number."""
    found = _read(table, connection, "WHERE entry_id = ?", entry_id)
    return found[0] if found else None


def is_whole(connection: sqlite3.Connection, table: str) -> bool:
    """Say whether every entry of a table is sealed and none is missing between; reads row by row."""
    before = FIRST
    for row in _found(table, connection, order="entry_id"):
        if row[-2] != before or not is_sealed(table, row):
            return False
        before = row[-1]
    return True


def chain(connection: sqlite3.Connection, table: str, entry_id: int) -> list[dict[str, Any]]:
    """Return an entry with all it took the place of and all that took its place, oldest first."""
    out = [e] if (e := entry(connection, table, entry_id)) else []
    while out and out[0]["supersedes"] is not None and (e := entry(connection, table, out[0]["supersedes"])):
        out.insert(0, e)
    while out and (later := _read(table, connection, "WHERE supersedes = ?", out[-1]["entry_id"])):
        out += later
    return out


def insert(
    connection: sqlite3.Connection, table: str, row: Mapping[str, Any], *, entered_at: str,
    supersedes: int | None = None, withdrawn: bool = False, entry_id: int | None = None,
) -> int:
    """Write one entry after the last of its table, sealed, and return its number."""
    spec = TABLES[table]
    last = connection.execute(
        f"SELECT entry_id, sha256 FROM {quoted(table)} ORDER BY entry_id DESC LIMIT 1").fetchone()
    number, before = (0, FIRST) if last is None else last
    own = [_to_sql(f, row[f.name]) for f in spec.fields]
    own_number = int(number) + 1 if entry_id is None else entry_id
    meta = [own_number, entered_at, supersedes, int(withdrawn)]
    seal = sealed(table, meta, spec.columns, own, _TICKS[table], before)
    columns = ", ".join(quoted(c) for c in ENTRY[table])
    values = [*own, *meta, before, seal]
    marks = ", ".join("?" * len(values))
    connection.execute(f"INSERT INTO {quoted(table)} ({columns}) VALUES ({marks})", values)
    return own_number


def sitting_name(day: date, reed: str, taken: set[str]) -> str:
    """Return the first free name for a sitting, as 2026-03-01-2-07-1, and add it to `taken`."""
    n = 1
    while (name := f"{day.isoformat()}-{reed}-{n}") in taken:
        n += 1
    taken.add(name)
    return name


def values_of(connection: sqlite3.Connection, table: str, field: Field) -> Iterator[Any]:
    """Read the values that stand in a column of the current rows; of what repeats, each once."""
    name = quoted(field.name)
    once = "" if field.name == TABLES[table].key[0] else "DISTINCT "
    for value, in connection.execute(f"SELECT {once}{name} FROM {quoted(f'current_{table}')}"):
        yield _from_sql(field, value)


def names_taken(connection: sqlite3.Connection, day: date, reed: str) -> set[str]:
    """Return the names of a reed's sittings on a day, those corrected or withdrawn too."""
    begins = f"{day.isoformat()}-{reed}-"
    found = connection.execute("SELECT sitting FROM sittings WHERE sitting >= ? AND sitting < ?",
                               (begins, begins[:-1] + "."))  # "." comes after "-"
    return {name for name, in found}


def stamp(now: datetime) -> str:
    """Return a moment as UTC in ISO form, to the second."""
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
