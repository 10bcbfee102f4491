"""The step from version 3 of the logbook to version 4: every entry gets its seal. It stands for good."""

from __future__ import annotations

import sqlite3
from typing import Final

from ._seal import FIRST, sealed

__all__ = ["INDEXES", "SEAL", "step"]

#: The columns of the seal, after `withdrawn`.
SEAL: Final = ("sha256_before BLOB NOT NULL CHECK (length(sha256_before) = 32)",
               "sha256 BLOB NOT NULL CHECK (length(sha256) = 32)")
#: What rows are looked up by: table and columns.
INDEXES: Final = (("sittings", "reed", "date"), ("sittings", "date"), ("sittings", "sitting"), ("reeds", "reed"),
                  ("days", "date"), ("retirements", "reed"))
_META: Final = ("entry_id", "entered_at", "supersedes", "withdrawn")
_AFTER: Final = "withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),"


def step(connection: sqlite3.Connection, tables: tuple[str, ...]) -> None:
    """Make every table anew with the columns of the seal, and seal its entries in the order of their numbers.

    `schema` guards the tables afterwards.
    """
    for table in tables:
        (sql,) = connection.execute("SELECT sql FROM sqlite_master WHERE type = 'table' AND name = ?",
                                    (table,)).fetchone()
        described = connection.execute(f'PRAGMA table_info("{table}")').fetchall()
        columns = [c[1] for c in described if c[1] not in _META]
        ticks = frozenset(c[1] for c in described if c[2] == "INTEGER" and c[3] and c[1] not in _META)
        connection.execute(f'DROP VIEW "current_{table}"')
        connection.execute(f'ALTER TABLE "{table}" RENAME TO "{table}_before"')
        connection.execute(sql.replace(_AFTER, "\n  ".join([_AFTER, *(f"{c}," for c in SEAL)]), 1))
        names = ", ".join(f'"{c}"' for c in (*_META, *columns))
        marks = ", ".join("?" * (len(_META) + len(columns) + 2))
        before, n = FIRST, len(_META)
        for row in connection.execute(f'SELECT {names} FROM "{table}_before" ORDER BY entry_id'):
            own = sealed(table, row[:n], columns, row[n:], ticks, before)
            connection.execute(f'INSERT INTO "{table}" ({names}, sha256_before, sha256) VALUES ({marks})',
                               (*row, before, own))
            before = own
        connection.execute(f'DROP TABLE "{table}_before"')
