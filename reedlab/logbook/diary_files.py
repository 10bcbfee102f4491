"""A diary's file as grids of cells, whatever program wrote it; and its rows taken into a logbook, all or nothing."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import PurePath
from typing import Any, Final

from ..diaries.grid import Grid, grid_of, grid_of_csv
from ..errors import ExchangeError, Fault
from ..rows.tables import TABLES
from ..rows.values import read_row
from ..wording import tr
from .exchange import Report, take_in
from .incoming import Entry, Folder
from .merging import merge
from .sheets import TooMuch
from .store import Logbook
from .workbook import read_sheets

__all__ = ["ENDINGS", "Rows", "faults_in", "read_diary_file", "take_rows"]

#: What a diary's file may end in.
ENDINGS: Final = (".csv", ".txt", ".tsv", ".xlsx", ".xlsm", ".ods")
_LARGEST: Final = 50_000_000  # bytes

#: Rows by table, each with the line of the file that it comes from.
Rows = Mapping[str, Sequence[tuple[int, Mapping[str, Any]]]]


def read_diary_file(content: bytes, name: str) -> list[Grid]:
    """Read every sheet of a file that has something in it, merged cells filled; a CSV file is one sheet.

    Raises ExchangeError if the file cannot be read.
    """
    ending = PurePath(name).suffix.lower()
    try:
        if len(content) > _LARGEST:
            raise TooMuch(tr("a file of {n} MB").format(n=len(content) // 1_000_000),
                          tr("at most {n} MB").format(n=_LARGEST // 1_000_000))
        if ending in (".xlsx", ".xlsm", ".ods"):
            grids = [_filled(s.title, s.lines, s.merged) for s in read_sheets(io.BytesIO(content), ending, ours=False)]
        elif ending in ENDINGS:
            grids = [grid_of_csv(_decoded(content), PurePath(name).stem)]
        else:
            raise TooMuch(tr("a file of another kind"), tr("a file ending in {endings}").format(
                endings=", ".join(ENDINGS)))
    except TooMuch as err:
        raise ExchangeError.of(name, *err.args) from None
    except Exception as err:  # whatever a damaged file makes the reader raise
        raise ExchangeError.of(name, tr("a file that cannot be read ({kind})").format(kind=type(err).__name__),
                               tr("a spreadsheet or CSV file that your program opens")) from err
    found = [g for g in grids if g.lines]
    if not found:
        raise ExchangeError.of(name, tr("nothing in it"), tr("a table of what you played"))
    return [replace(g, beside=tuple(other.name for other in found if other is not g)) for g in found]


def _decoded(content: bytes) -> str:
    """Return the text: UTF-16 by its mark, else UTF-8, else what Windows programs of western Europe write."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16")
    if b"\x00" in content:
        raise TooMuch(tr("no text"), tr("a CSV file or a spreadsheet"))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _filled(title: str, lines: Sequence[tuple[int, list[Any]]], spans: Iterable[tuple[int, int, int, int]]) -> Grid:
    """Give every cell of a merged one its value, downwards; across, where a title spans columns, only the first."""
    cells = {n: list(row) for n, row in lines}
    filled = 0
    for line, column, down, _ in spans:
        value = cells.get(line, [])[column - 1] if len(cells.get(line, [])) >= column else None
        for n in range(line + 1, line + down):
            row = cells.setdefault(n, [])
            row += [None] * (column - len(row))
            if value is not None and row[column - 1] is None:
                row[column - 1] = value
                filled += 1
    return grid_of(title, sorted(cells.items()), filled)


def faults_in(rows: Rows, logbook: Logbook | None, file: str, today: date) -> list[Fault]:
    """Return what keeps rows from being taken into a logbook, or into a new one, by line. Nothing is written."""
    none: dict[str, Any] = {t: [] for t in TABLES}
    current, every = (none, none) if logbook is None else logbook.all_rows()
    return merge(_folder(rows, file), current, every, today).faults


def take_rows(rows: Rows, logbook: Logbook, file: str) -> Report:
    """Take rows into a logbook, all or nothing; what it has already is counted. ExchangeError with every fault."""
    return take_in(_folder(rows, file), logbook)


def _folder(rows: Rows, file: str) -> Folder:
    """Return rows as if they had been read from a folder."""
    folder = Folder({t: [] for t in TABLES}, {f"{t}.csv" for t in rows}, [])
    for table, given in rows.items():
        for line, row in given:
            values, bad = read_row(table, row)
            folder.faults += [Fault(file, line, *f) for f in bad]
            folder.entries[table].append(Entry(file, line, values, given=frozenset(row), sound=not bad))
    return folder
