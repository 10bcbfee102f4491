"""A spreadsheet as tables of text: one sheet per table, named as the table."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Final

from ..checks import shown, wanted
from ..errors import Fault
from ..tables import TABLES, Field
from .layout import HISTORY, as_text

__all__ = ["APART", "PLANS_SHEET", "Cells", "cell_name", "read_workbook", "sheet_name"]

#: Lines of cells, each with its number as the spreadsheet shows it.
Cells = list[tuple[int, list[str]]]

#: Sheets that hold no table: words for the player, and what the drop-down lists offer.
APART: Final = ("help", "lists")
#: Frozen plans in a spreadsheet: columns protocol_file, part and text.
PLANS_SHEET: Final = "protocols"
_FORMULA: Final = "a plain value (copy it and paste it as a value)"


def sheet_name(file: str) -> str:
    """Return the name of the sheet that stands for a file: "history sittings" for history/sittings.csv."""
    return file.removesuffix(".csv").replace(f"{HISTORY}/", f"{HISTORY} ")


def read_workbook(path: Path) -> tuple[dict[str, Cells], list[Fault]]:
    """Read every sheet of an .xlsx file that has something in it.

    Returns
    -------
    sheets : dict of file name to lines
        Under the name of the file that each sheet stands for. All lines of a sheet have the same number of cells;
        dates stand as 2026-03-01, numbers with a decimal point.
    faults : list of Fault
        One, if the file is no spreadsheet. Else one for each cell that does not hold what it seems to: formulas
        without a value, error values, merged cells, dates and percentages where the column takes none.
    """
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of styles and validations it does not keep
            book = openpyxl.load_workbook(path, data_only=True)
            raw = openpyxl.load_workbook(path, data_only=False)
        sheets: dict[str, Cells] = {}
        faults: list[Fault] = []
        for sheet in book.worksheets:
            title = sheet.title.strip().casefold()
            cells = _cells(sheet.values)
            if not cells or title in APART:
                continue
            name = _file(title)
            sheets[name] = cells
            faults += _odd_cells(name, sheet, raw[sheet.title])
        return sheets, faults
    except Exception as err:  # whatever a damaged file makes the reader raise
        want = "a spreadsheet saved as .xlsx, or a folder of CSV files"
        return {}, [Fault(path.name, None, None, f"a file that cannot be read ({type(err).__name__})", want)]


def cell_name(line: int | None, column: str | None, cells: Cells) -> str | None:
    """Return the name of a cell as the spreadsheet shows it, such as D7, from its line and column title."""
    from openpyxl.utils import get_column_letter

    header = next((row for _, row in cells if any(c.strip() for c in row)), [])
    titles = [c.strip() for c in header]
    if line is None or column not in titles:
        return None
    return f"{get_column_letter(titles.index(column) + 1)}{line}"


def _file(title: str) -> str:
    if title.startswith(f"{HISTORY} "):
        return f"{HISTORY}/{title.removeprefix(f'{HISTORY} ').strip()}.csv"
    return f"{title}.csv"


def _cells(rows: Any) -> Cells:
    lines = [(n, [_text(v) for v in row]) for n, row in enumerate(rows, start=1)]
    width = max((i + 1 for _, cells in lines for i, c in enumerate(cells) if c), default=0)
    return [(n, cells[:width]) for n, cells in lines] if width else []


def _text(value: Any) -> str:
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat()
    return as_text(value) if value is None or isinstance(value, bool | int | float | date) else str(value).strip()


def _odd_cells(file: str, sheet: Any, raw: Any) -> Iterator[Fault]:
    """Yield cells that would be misread without a word."""
    titles: dict[int, str] = {}
    table = TABLES.get(file.removesuffix(".csv").removeprefix(f"{HISTORY}/"))
    for row, formulas in zip(sheet.iter_rows(), raw.iter_rows(), strict=True):
        if not titles:
            titles = {c.column: str(c.value).strip() for c in row if c.value is not None}
            continue
        for cell, formula in zip(row, formulas, strict=True):
            column = titles.get(cell.column)
            if column is None:
                continue
            field = next((f for f in table.fields if f.name == column), None) if table is not None else None
            odd = _odd(cell, formula, field)
            if odd is not None:
                yield Fault(file, cell.row, column, *odd, cell=cell.coordinate)
    for span in sheet.merged_cells.ranges:
        corner = f"{span.start_cell.coordinate}"
        yield Fault(file, span.min_row, titles.get(span.min_col), f"merged cells ({span.coord})",
                    "each cell by itself; take the merge back and fill each one", cell=corner)


def _odd(cell: Any, formula: Any, field: Field | None) -> tuple[str, str] | None:
    value = cell.value
    if cell.data_type == "e":
        return f"the error value {value}", _FORMULA
    if formula.data_type == "f" and value is None:
        return "a formula without a value", _FORMULA
    if field is None:
        return None
    want = wanted(field)
    if isinstance(value, time | timedelta):
        return f"a time of day or a length of time ({value})", f"{want}, without a colon"
    if isinstance(value, date) and field.kind != "date":
        return (f"the date {value:%Y-%m-%d} (the spreadsheet may have made it from what you typed)",
                f"{want}; set the cell to text, then type it again")
    if isinstance(value, int | float) and not isinstance(value, bool) and field.kind in ("int", "float") \
            and "%" in str(cell.number_format):
        told = f"{100 * value:.6g}"
        return f"a percentage ({told} %)", f"{want}, without a percent sign"
    if isinstance(value, int | float) and not isinstance(value, bool) and field.kind == "date":
        return f"the number {shown(value)}", f"{want}; set the cell to a date"
    return None
