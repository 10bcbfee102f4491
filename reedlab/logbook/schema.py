"""The SQLite schema, made from `tables.TABLES`, and its versions.

Every table keeps all entries for good: `entry_id`, `entered_at` (UTC), `supersedes` (the entry this one
replaces), `withdrawn` (1 for an entry that only takes an earlier one back) and its seal (`_seal`). The current
rows are those that are neither superseded nor withdrawn.

A change of the tables raises `VERSION` by one. Older files are brought forward table by table (`migrate`): a column
that came later is empty or not ticked, so it may not be one that is required.
"""

from __future__ import annotations

import sqlite3
from functools import cache
from typing import Final

from ..errors import LogbookError
from ..rows.tables import TABLES, Field, Table
from ..wording import tr
from ._seal import FIRST, sealed

__all__ = ["APPLICATION_ID", "VERSION", "copy_id", "create", "expected", "is_copy", "migrate", "quoted",
           "require_sqlite"]

APPLICATION_ID: Final = 0x52454544  # "REED"
VERSION: Final = 6
_COPY: Final = 0x5243  # "RC", before the number of a dated copy
_OLDEST_SQLITE: Final = (3, 37, 0)  # STRICT tables
_SQL_TYPE: Final = {"text": "TEXT", "choice": "TEXT", "date": "TEXT", "int": "INTEGER", "float": "REAL",
                    "bool": "INTEGER"}

#: What rows are looked up by: table and columns.
_INDEXES: Final = (("sittings", "reed", "date"), ("sittings", "date"), ("sittings", "sitting"), ("reeds", "reed"),
                   ("days", "date"), ("retirements", "reed"))
_META: Final = 4  # columns that every entry begins with


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
        "sha256_before BLOB NOT NULL CHECK (length(sha256_before) = 32)",
        "sha256 BLOB NOT NULL CHECK (length(sha256) = 32)",
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
    _index(connection, tuple(TABLES))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {VERSION}")


@cache
def expected() -> dict[tuple[str, str], str]:
    """Return what a sound file of this version says of its own tables: statement by kind and name, spaces evened."""
    connection = sqlite3.connect(":memory:")
    create(connection)
    rows = connection.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'").fetchall()
    connection.close()
    return {(kind, name): _evened(sql) for kind, name, sql in rows}


def _evened(sql: str) -> str:
    return " ".join(str(sql).split())


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


def _index(connection: sqlite3.Connection, tables: tuple[str, ...]) -> None:
    for table, *columns in _INDEXES:
        if table not in tables:
            continue
        names = ", ".join(quoted(c) for c in columns)
        connection.execute(f"CREATE INDEX {quoted('_'.join([table, 'by', *columns]))} ON {quoted(table)} ({names})")


def migrate(connection: sqlite3.Connection) -> None:
    """Bring an older schema forward, inside the caller's transaction: every table that is not as it should be.

    Raises LogbookError where the version is none that there was.
    """
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version < 1:
        raise LogbookError(
            tr("This logbook is of version {version}, which this reedlab cannot bring up to date.").format(
                version=version))
    there = {name: _evened(sql) for name, sql in connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE type = 'table'")}
    anew = [t for t in TABLES.values() if there.get(t.name) != _evened(table_sql(t))]
    for table in anew:
        if table.name not in there:
            connection.execute(table_sql(table))
        else:
            _make_anew(connection, table)
    names = tuple(t.name for t in anew)
    _guard(connection, names)
    _index(connection, names)
    connection.execute(f"PRAGMA user_version = {VERSION}")


def _make_anew(connection: sqlite3.Connection, table: Table) -> None:
    """Copy the entries of a table as they are, numbers and seals and all, into one made as it should be.

    What came later is empty or not ticked, and a seal leaves that out. SQLite itself puts a new column at the end only.
    """
    name, before = quoted(table.name), quoted(f"{table.name}_before")
    old = [row[1] for row in connection.execute(f"PRAGMA table_info({name})")]
    connection.execute(f"DROP VIEW IF EXISTS {quoted(f'current_{table.name}')}")
    connection.execute(f"ALTER TABLE {name} RENAME TO {before}")
    connection.execute(table_sql(table))
    unticked = [f.name for f in table.fields if f.kind == "bool" and f.name not in old]
    into = ", ".join(quoted(c) for c in (*old, *unticked))
    what = ", ".join([*map(quoted, old), *(f"0 AS {quoted(c)}" for c in unticked)])
    rows = f"SELECT {what} FROM {before} ORDER BY entry_id"
    if "sha256" in old:
        connection.execute(f"INSERT INTO {name} ({into}) {rows}")
    else:
        _seal_all(connection, table, into, rows)
    connection.execute(f"DROP TABLE {before}")


def _seal_all(connection: sqlite3.Connection, table: Table, into: str, rows: str) -> None:
    """Copy entries from before there were seals; each gets its own, in the order of their numbers."""
    ticks = frozenset(f.name for f in table.fields if f.kind == "bool")
    last = FIRST
    found = connection.execute(rows)
    columns = [c[0] for c in found.description]
    marks = ", ".join("?" * (len(columns) + 2))
    for row in found:
        seal = sealed(table.name, row[:_META], columns[_META:], row[_META:], ticks, last)
        connection.execute(f"INSERT INTO {quoted(table.name)} ({into}, sha256_before, sha256) VALUES ({marks})",
                           (*row, last, seal))
        last = seal
