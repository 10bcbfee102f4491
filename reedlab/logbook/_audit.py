"""Is a logbook sound? Reads everything, changes nothing, answers in plain sentences."""

from __future__ import annotations

import sqlite3
from datetime import date

from ..checks import check_row
from ..cross_checks import cross_check
from ..errors import Fault, LogbookError
from ..tables import TABLES
from . import _rows
from ._admission import spoken_key
from ._damage import Damaged
from .schema import quoted

__all__ = ["audit"]


def audit(connection: sqlite3.Connection, today: date) -> list[str]:
    """Return one sentence for everything that is wrong; an empty list if the logbook is sound.

    Raises Damaged where the file does not hold what was written into it.
    """
    words = [r[0] for r in connection.execute("PRAGMA integrity_check")]
    if words != ["ok"] or not all(_rows.is_whole(connection, table) for table in TABLES):
        raise Damaged()
    told = [f"In {table}, entry {row} takes the place of an entry that is not there."
            for table, row, *_ in connection.execute("PRAGMA foreign_key_check")]
    rows = {}
    for table in TABLES:
        try:
            rows[table] = _rows.current(connection, table)
        except LogbookError as err:
            rows[table] = []
            told.append(str(err))
    for table in TABLES:
        taken_back = connection.execute(
            f"SELECT a.entry_id, a.supersedes FROM {quoted(table)} a JOIN {quoted(table)} b "
            "ON a.supersedes = b.entry_id WHERE b.withdrawn = 1").fetchall()
        told += [f"In {table}, entry {a} takes the place of entry {b}, which was a withdrawal."
                 for a, b in taken_back]
        for row in rows[table]:
            told += [_sentence(table, row["entry_id"], spoken_key(table, row), Fault(table, None, *f))
                     for f in check_row(table, {c: row[c] for c in TABLES[table].columns})]
    for f in cross_check(rows, today):
        row = rows[f.table][f.row]
        told.append(_sentence(f.table, row["entry_id"], spoken_key(f.table, row),
                              Fault(f.table, None, f.column, f.found, f.wanted)))
    return told


def _sentence(table: str, entry_id: int, key: str, fault: Fault) -> str:
    return f"{key} (entry {entry_id} of {table}): {fault.plain}."
