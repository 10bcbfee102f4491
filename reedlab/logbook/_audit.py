"""Is a logbook sound? Reads everything, changes nothing, answers in plain sentences."""

from __future__ import annotations

import sqlite3
from datetime import date
from functools import partial

from ..errors import Fault
from ..rows.tables import TABLES
from ..rows.values import read_row, read_value
from ..wording import tr
from . import _rows
from ._admission import spoken_key
from ._damage import Damaged
from ._suspects import suspects
from .between import RULES, faults_of
from .schema import quoted

__all__ = ["audit"]


def audit(connection: sqlite3.Connection, today: date) -> list[str]:
    """Return one sentence for everything that is wrong; an empty list if the logbook is sound.

    Raises Damaged where the file does not hold what was written into it.
    """
    words = [r[0] for r in connection.execute("PRAGMA integrity_check")]
    if words != ["ok"] or not all(_rows.is_whole(connection, table) for table in TABLES):
        raise Damaged()
    told = [tr("In {table}, entry {row} takes the place of an entry that is not there.").format(table=table, row=row)
            for table, row, *_ in connection.execute("PRAGMA foreign_key_check")]
    for table in TABLES:
        taken_back = connection.execute(
            f"SELECT a.entry_id, a.supersedes FROM {quoted(table)} a JOIN {quoted(table)} b "
            "ON a.supersedes = b.entry_id WHERE b.withdrawn = 1").fetchall()
        told += [tr("In {table}, entry {a} takes the place of entry {b}, which was a withdrawal.").format(
                     table=table, a=a, b=b)
                 for a, b in taken_back]
        spec = TABLES[table]
        if all(read_value(f, value)[1] is None for f in spec.fields for value in _rows.values_of(connection, table, f)):
            continue
        for row in _rows.Entries(connection, table):
            told += [_sentence(table, row["entry_id"], spoken_key(table, row), Fault(table, None, *f))
                     for f in read_row(table, {c: row[c] for c in spec.columns})[1]]
    for rule in RULES:
        rows = suspects(rule, partial(_rows.current, connection), today)
        for fault in faults_of(rule, rows, today):
            row = rows[fault.table][fault.row]
            told.append(_sentence(fault.table, row["entry_id"], spoken_key(fault.table, row),
                                  Fault(fault.table, None, fault.column, fault.found, fault.wanted)))
    return told


def _sentence(table: str, entry_id: int, key: str, fault: Fault) -> str:
    return tr("{key} (entry {entry_id} of {table}): {plain}.").format(
               key=key, entry_id=entry_id, table=table, plain=fault.plain)
