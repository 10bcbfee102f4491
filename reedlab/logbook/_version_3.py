"""The step from version 2 of the logbook to version 3. The tables stand here as they were then, for good."""

from __future__ import annotations

import sqlite3
from typing import Final

__all__ = ["NEW", "step"]

#: The tables that came with version 3.
NEW: Final = ("week", "concerts", "guesses")
_KEPT: Final = """
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "{table}" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
"""
_END: Final = """
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
"""
_COLUMNS: Final = {
    "sittings": """
  "sitting" TEXT,
  "date" TEXT NOT NULL,
  "reed" TEXT NOT NULL,
  "setup" TEXT,
  "order" INTEGER CHECK ("order" BETWEEN 1 AND 50),
  "play_min" REAL NOT NULL CHECK ("play_min" BETWEEN 0 AND 720),
  "overall" REAL CHECK ("overall" BETWEEN 0 AND 10),
  "response" REAL CHECK ("response" BETWEEN 0 AND 10),
  "tone" REAL CHECK ("tone" BETWEEN 0 AND 10),
  "stiffness" REAL CHECK ("stiffness" BETWEEN -3 AND 3),
  "position" TEXT,
  "habit" TEXT,
  "waterlogged" INTEGER NOT NULL CHECK ("waterlogged" IN (0, 1)),
  "where" TEXT CHECK ("where" IN ('practice', 'rehearsal', 'concert')),
  "from_memory" INTEGER NOT NULL CHECK ("from_memory" IN (0, 1)),
  "unsure_reed" INTEGER NOT NULL CHECK ("unsure_reed" IN (0, 1)),
  "confirmed" INTEGER NOT NULL CHECK ("confirmed" IN (0, 1)),
  "remark" TEXT,
""",
    "week": """
  "weekday" TEXT NOT NULL CHECK ("weekday" IN ('monday', 'tuesday', 'wednesday',
    'thursday', 'friday', 'saturday', 'sunday')),
  "play_min" REAL NOT NULL CHECK ("play_min" BETWEEN 0 AND 720),
  "remark" TEXT,
""",
    "concerts": """
  "date" TEXT NOT NULL,
  "play_min" REAL CHECK ("play_min" BETWEEN 0 AND 720),
  "remark" TEXT,
""",
    "guesses": """
  "trial" TEXT NOT NULL,
  "unit" TEXT NOT NULL,
  "habit" TEXT,
  "date" TEXT NOT NULL,
""",
}


def step(connection: sqlite3.Connection) -> None:
    """Give the sittings their column `confirmed`, and the logbook its week, concerts and guesses.

    SQLite puts a new column at the end only, so the table of sittings is made anew and its entries copied as
    they are, numbers and all. `schema` guards the tables afterwards.
    """
    old = [row[1] for row in connection.execute("PRAGMA table_info(sittings)")]
    columns = ", ".join(f'"{c}"' for c in old)
    connection.execute("DROP VIEW current_sittings")
    connection.execute("ALTER TABLE sittings RENAME TO sittings_before")
    connection.execute(_sql("sittings"))
    connection.execute(f"INSERT INTO sittings ({columns}, confirmed) "
                       f"SELECT {columns}, 0 FROM sittings_before ORDER BY entry_id")
    connection.execute("DROP TABLE sittings_before")
    for table in NEW:
        connection.execute(_sql(table))


def _sql(table: str) -> str:
    parts = (_KEPT.format(table=table), _COLUMNS[table], _END)
    return f'CREATE TABLE "{table}" (\n' + "\n".join(p.strip("\n") for p in parts) + "\n) STRICT"
