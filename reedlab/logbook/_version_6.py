"""The step from version 5 of the logbook to version 6: what was preferred back to back. It stands for good."""

from __future__ import annotations

import sqlite3
from typing import Final

__all__ = ["step"]

_BEFORE: Final = '"position" TEXT,'
_NEW: Final = '"preference" REAL CHECK ("preference" BETWEEN -5 AND 5),'


def step(connection: sqlite3.Connection) -> None:
    """Give the sittings their column `preference`.

    SQLite puts a new column at the end only, so the table is made anew and its entries copied as they are, numbers and
    seals and all: a seal leaves out what is empty. `schema` guards and indexes the table afterwards.
    """
    (sql,) = connection.execute("SELECT sql FROM sqlite_master WHERE type = 'table' AND name = 'sittings'").fetchone()
    old = ", ".join(f'"{row[1]}"' for row in connection.execute("PRAGMA table_info(sittings)"))
    connection.execute("DROP VIEW current_sittings")
    connection.execute("ALTER TABLE sittings RENAME TO sittings_before")
    connection.execute(sql.replace(_BEFORE, f"{_NEW}\n  {_BEFORE}", 1))
    connection.execute(f"INSERT INTO sittings ({old}) SELECT {old} FROM sittings_before ORDER BY entry_id")
    connection.execute("DROP TABLE sittings_before")
