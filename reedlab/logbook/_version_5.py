"""The step from version 4 of the logbook to version 5: the boxes of standing trials. It stands for good."""

from __future__ import annotations

import sqlite3
from typing import Final

__all__ = ["NEW", "step"]

#: The table that came with version 5.
NEW: Final = ("deals",)
_SQL: Final = """CREATE TABLE "deals" (
  entry_id INTEGER PRIMARY KEY,
  entered_at TEXT NOT NULL,
  supersedes INTEGER UNIQUE REFERENCES "deals" (entry_id),
  withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
  sha256_before BLOB NOT NULL CHECK (length(sha256_before) = 32),
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32),
  "trial" TEXT NOT NULL,
  "number" INTEGER NOT NULL CHECK ("number" BETWEEN 1 AND 1000),
  "place" INTEGER NOT NULL CHECK ("place" BETWEEN 1 AND 1000),
  "reed" TEXT NOT NULL,
  "matched_set" TEXT NOT NULL,
  "habit" TEXT NOT NULL,
  "date" TEXT NOT NULL,
  CHECK (withdrawn = 0 OR supersedes IS NOT NULL),
  CHECK (supersedes < entry_id)
) STRICT"""


def step(connection: sqlite3.Connection) -> None:
    """Give the logbook its table of deals. `schema` guards it afterwards."""
    connection.execute(_SQL)
