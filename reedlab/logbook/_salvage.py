"""What can still be read of a damaged logbook, and what is lost, in words. The file is only read."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any, Final

from ..rows.tables import TABLES
from ..wording import tr
from . import schema
from ._damage import Damaged
from ._rows import ENTRY, is_sealed
from ._seal import FIRST
from .opening import connect

__all__ = ["salvage"]

_FARTHEST: Final = 2**40  # how far beyond a broken page the next entry is looked for
_AT, _BEFORE, _OWN = -5, -2, -1  # where in an entry stand its moment, the seal before it and its own


def salvage(path: Path) -> tuple[sqlite3.Connection, list[str]]:
    """Return a copy in memory of every sound entry, to read only, and a sentence for each that is lost."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    lost: list[str] = []
    try:
        schema.create(copy)
        with closing(connect(path, read_only=True)) as source:
            source.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
            for table in TABLES:
                lost += _take(source, copy, table)
        if not any(copy.execute(f"SELECT 1 FROM {schema.quoted(t)} LIMIT 1").fetchone() for t in TABLES):
            raise Damaged(tr("Nothing in {name} can be read any more").format(name=path.name))
        copy.execute("PRAGMA query_only = ON")
    except BaseException:
        copy.close()
        raise
    return copy, lost or [tr("The file is damaged, but every entry in it could still be read.")]


def _take(source: sqlite3.Connection, copy: sqlite3.Connection, table: str) -> list[str]:
    names = ENTRY[table]
    marks = ", ".join("?" * len(names))
    into = f"INSERT INTO {schema.quoted(table)} ({', '.join(schema.quoted(c) for c in names)}) VALUES ({marks})"
    lost: list[str] = []
    before, last, about = FIRST, 0, ""
    for row in _rows_of(source, table):
        if row is None:
            lost.append(tr("{table}: some entries after entry {last}{about} can't be read.").format(
                            table=table, last=last, about=about) if last else
                        tr("{table}: the first entries, or all, can't be read.").format(table=table))
            before = b""
            continue
        if not is_sealed(table, row):
            lost.append(tr("{table}: entry {row}{about} no longer says what was written down, and is left out.").format(
                            table=table, row=row[-6], about=about))
        else:
            if row[_BEFORE] != before and before and not lost:
                lost.append(tr("{table}: something between entry {last} and entry {row}{about} is lost, or was put in "
                               "by another program.").format(table=table, last=last, row=row[-6], about=about))
            with suppress(sqlite3.IntegrityError):
                copy.execute(into, row)
            last, about = row[-6], tr(", written down about {row},").format(row=row[_AT][:10])
        before = row[_OWN]
    return lost


def _rows_of(source: sqlite3.Connection, table: str) -> Iterator[tuple[Any, ...] | None]:
    """Yield the entries of a table in order; None for a stretch of the file that can't be read."""
    columns = ", ".join(schema.quoted(c) for c in ENTRY[table])
    last, step = -1, 1
    while step <= _FARTHEST:
        try:
            for row in source.execute(f"SELECT {columns} FROM {schema.quoted(table)} NOT INDEXED WHERE entry_id >= ? "
                                      "ORDER BY entry_id", (last + step,)):
                if row[-6] <= last:
                    raise sqlite3.DatabaseError(tr("entries out of order"))
                last, step = row[-6], 1
                yield row
            return
        except (sqlite3.DatabaseError, UnicodeDecodeError):
            if step == 1:
                yield None
            step *= 2
