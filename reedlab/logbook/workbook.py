"""A spreadsheet as tables of text: one sheet per table, named as the table."""

from __future__ import annotations

import warnings
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from ..errors import Fault
from .layout import as_text

__all__ = ["Cells", "read_workbook"]

#: Lines of cells, each with its number as the spreadsheet shows it.
Cells = list[tuple[int, list[str]]]


def read_workbook(path: Path) -> tuple[dict[str, Cells], list[Fault]]:
    """Read every sheet of an .xlsx file that has something in it.

    Returns
    -------
    sheets : dict of sheet name to lines
        All lines of a sheet have the same number of cells; dates stand as 2026-03-01, numbers with a decimal
        point.
    faults : list of Fault
        One, if the file is no spreadsheet.
    """
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of styles and validations it does not keep
            book = openpyxl.load_workbook(path, data_only=True)
        return {s.title.strip(): cells for s in book.worksheets if (cells := _cells(s.values))}, []
    except Exception as err:  # whatever a damaged file makes the reader raise
        want = "a spreadsheet saved as .xlsx, or a folder of CSV files"
        return {}, [Fault(path.name, None, None, f"a file that cannot be read ({type(err).__name__})", want)]


def _cells(rows: Any) -> Cells:
    lines = [(n, [_text(v) for v in row]) for n, row in enumerate(rows, start=1)]
    width = max((i + 1 for _, cells in lines for i, c in enumerate(cells) if c), default=0)
    return [(n, cells[:width]) for n, cells in lines] if width else []


def _text(value: Any) -> str:
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat()
    return as_text(value) if value is None or isinstance(value, bool | int | float | date) else str(value).strip()
