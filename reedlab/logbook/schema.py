"""The SQLite schema, made from `tables.TABLES`, and its versions.

Every table keeps all entries for good: `entry_id`, `entered_at` (UTC), `supersedes` (the entry this one
replaces), `withdrawn` (1 for an entry that only takes an earlier one back) and its seal (`_seal`). The current
rows are those that are neither superseded nor withdrawn.

A change of the schema raises `VERSION` by one and adds the step to `MIGRATIONS`. Steps written once are
not changed again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from functools import cache
from typing import Final

from ..errors import LogbookError
from ..rows.tables import TABLES, Field, Table
from ..wording import tr
from . import _version_3, _version_4, _version_5, _version_6

__all__ = ["APPLICATION_ID", "MIGRATIONS", "VERSION", "copy_id", "create", "expected", "is_copy", "migrate",
           "quoted", "require_sqlite"]

APPLICATION_ID: Final = 0x52454544  # "REED"
VERSION: Final = 6
_COPY: Final = 0x5243  # "RC", before the number of a dated copy
_OLDEST_SQLITE: Final = (3, 37, 0)  # STRICT tables
_SQL_TYPE: Final = {"text": "TEXT", "choice": "TEXT", "date": "TEXT", "int": "INTEGER", "float": "REAL",
                    "bool": "INTEGER"}

Step = Callable[[sqlite3.Connection], None]


def require_sqlite() -> None:
    """Raise LogbookError if this Python's SQLite is too old for strict tables."""
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        raise LogbookError(
            tr("This Python brings SQLite {sqlite_version}; the logbook needs 3.37 or newer. Install a newer Python "
               "(3.11 or later from python.org has it).").format(sqlite_version=sqlite3.sqlite_version))


def copy_id(number: int) -> int:
    """Return what stands in a dated copy in the place of `APPLICATION_ID`: a mark, and which copy it is."""
    return _COPY << 16 | min(number, 0xFFFF)


def is_copy(application_id: int) -> bool:
    """Say whether a file calls itself a dated copy."""
    return application_id >> 16 == _COPY


def quoted(name: str) -> str:
    """Return a table or column name quoted for SQL."""
    return '"' + name.replace('"', '""') + '"'


def table_sql(table: Table) -> str:
    """Return the CREATE TABLE statement of one table."""
    lines = [
        "entry_id INTEGER PRIMARY KEY",
        "entered_at TEXT NOT NULL",
        f"supersedes INTEGER UNIQUE REFERENCES {quoted(table.name)} (entry_id)",
        "withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1))",
        *_version_4.SEAL,
        *(_column_sql(f) for f in table.fields),
        "CHECK (withdrawn = 0 OR supersedes IS NOT NULL)",
        "CHECK (supersedes < entry_id)",
    ]
    return f"CREATE TABLE {quoted(table.name)} (\n  " + ",\n  ".join(lines) + "\n) STRICT"


def _column_sql(field: Field) -> str:
    name = quoted(field.name)
    sql = f"{name} {_SQL_TYPE[field.kind]}"
    if field.required or field.kind == "bool":
        sql += " NOT NULL"
    if field.kind == "bool":
        sql += f" CHECK ({name} IN (0, 1))"
    elif field.kind == "choice":
        sql += f" CHECK ({name} IN ({', '.join(_literal(c) for c in field.choices)}))"
    elif field.low is not None and field.high is not None:
        sql += f" CHECK ({name} BETWEEN {field.low:g} AND {field.high:g})"
    return sql


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def create(connection: sqlite3.Connection) -> None:
    """Write the newest schema into an empty database, inside the caller's transaction."""
    for table in TABLES.values():
        connection.execute(table_sql(table))
    _guard(connection, tuple(TABLES))
    _index(connection)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {VERSION}")


@cache
def expected() -> dict[tuple[str, str], str]:
    """Return what a sound file of this version says of its own tables: statement by kind and name, spaces evened."""
    connection = sqlite3.connect(":memory:")
    create(connection)
    rows = connection.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'").fetchall()
    connection.close()
    return {(kind, name): " ".join(str(sql).split()) for kind, name, sql in rows}


def _guard(connection: sqlite3.Connection, tables: tuple[str, ...]) -> None:
    """Let SQLite itself refuse to change or delete an entry, and give each table a view of its current rows."""
    for name in tables:
        table = quoted(name)
        for what in ("UPDATE", "DELETE"):
            connection.execute(
                f"CREATE TRIGGER {quoted(f'{name}_no_{what.lower()}')} BEFORE {what} ON {table} BEGIN "
                "SELECT RAISE(ABORT, 'entries are never changed; add one that supersedes'); END")
        connection.execute(
            f"CREATE VIEW {quoted(f'current_{name}')} AS SELECT * FROM {table} WHERE withdrawn = 0 AND entry_id "
            f"NOT IN (SELECT supersedes FROM {table} WHERE supersedes IS NOT NULL)")


def _index(connection: sqlite3.Connection, tables: tuple[str, ...] = tuple(TABLES)) -> None:
    for table, *columns in _version_4.INDEXES:
        if table not in tables:
            continue
        names = ", ".join(quoted(c) for c in columns)
        connection.execute(f"CREATE INDEX {quoted('_'.join([table, 'by', *columns]))} ON {quoted(table)} ({names})")


def _to_2(connection: sqlite3.Connection) -> None:
    _guard(connection, ("boxes", "setups", "reeds", "sittings", "days", "retirements", "trials", "looks"))


def _to_3(connection: sqlite3.Connection) -> None:
    _version_3.step(connection)
    _guard(connection, ("sittings", *_version_3.NEW))


def _to_4(connection: sqlite3.Connection) -> None:
    tables = ("boxes", "setups", "reeds", "sittings", "days", "retirements", "trials", "looks", *_version_3.NEW)
    _version_4.step(connection, tables)
    _guard(connection, tables)
    _index(connection)


def _to_5(connection: sqlite3.Connection) -> None:
    _version_5.step(connection)
    _guard(connection, _version_5.NEW)


def _to_6(connection: sqlite3.Connection) -> None:
    _version_6.step(connection)
    _guard(connection, ("sittings",))
    _index(connection, ("sittings",))


#: From each older version, the step to the next one.
MIGRATIONS: Final[Mapping[int, Step]] = {1: _to_2, 2: _to_3, 3: _to_4, 4: _to_5, 5: _to_6}


def migrate(connection: sqlite3.Connection, steps: Mapping[int, Step] | None = None,
            to: int | None = None) -> None:
    """Bring an older schema forward, one step after the other, inside the caller's transaction.

    Parameters
    ----------
    connection : sqlite3.Connection
    steps : mapping of version to step, default `MIGRATIONS`
    to : int, default `VERSION`
    """
    steps = MIGRATIONS if steps is None else steps
    target = VERSION if to is None else to
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    while version < target:
        if version not in steps:
            raise LogbookError(
                tr("This logbook is of version {version}, which this reedlab cannot bring up to date.").format(
                    version=version))
        steps[version](connection)
        version += 1
        connection.execute(f"PRAGMA user_version = {version}")
