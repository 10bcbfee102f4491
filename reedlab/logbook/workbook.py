"""A spreadsheet as tables of text: one sheet per table, named as the table."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import IO, Any, Final

from ..errors import Fault
from ..rows.tables import TABLES, Field
from ..rows.values import shown, wanted
from ..wording import tr
from .layout import HISTORY, as_text, named
from .ods import read_ods
from .sheets import Percent, Sheet, TooMuch, Wrong, be_of_sensible_size, read_xlsx

__all__ = ["APART", "PLANS_SHEET", "Cells", "cell_name", "read_sheets", "read_spreadsheet", "sheet_name"]

#: Lines of cells, each with its number as the spreadsheet shows it.
Cells = list[tuple[int, list[str]]]

#: Sheets that hold no table: words for the player, and what the drop-down lists offer.
APART: Final = ("help", "lists")
#: Frozen plans in a spreadsheet: columns protocol_file, part and text.
PLANS_SHEET: Final = "protocols"
_FORMULA: Final = tr("a plain value (copy it and paste it as a value)")


def sheet_name(file: str) -> str:
    """Return the name of the sheet that stands for a file: "history sittings" for history/sittings.csv."""
    return file.removesuffix(".csv").replace(f"{HISTORY}/", f"{HISTORY} ")


def read_sheets(file: IO[bytes], ending: str, *, ours: bool) -> list[Sheet]:
    """Read every sheet of a file that ends in .xlsx, .xlsm or .ods, laid out as `ours` or in any way.

    Raises TooMuch for what no logbook needs, and whatever a damaged file makes the reader raise.
    """
    be_of_sensible_size(file)
    return read_ods(file) if ending == ".ods" else read_xlsx(file, ours=ours)


def read_spreadsheet(path: Path) -> tuple[dict[str, Cells], list[Fault]]:
    """Read every sheet of an .xlsx or .ods file that has something in it.

    Returns
    -------
    sheets : dict of file name to lines
        Under the name of the file that each sheet stands for. All lines of a sheet have the same number of cells;
        dates stand as 2026-03-01, numbers with a decimal point.
    faults : list of Fault
        One, if the file is no spreadsheet. Else one for each cell that does not hold what it seems to: formulas
        without a value, error values, merged cells, dates and percentages where the column takes none.
    """
    ending = path.suffix.lower()
    try:
        with path.open("rb") as file:
            found = read_sheets(file, ending, ours=True)
    except TooMuch as err:
        return {}, [Fault(path.name, None, None, *err.args)]
    except Exception as err:  # whatever a damaged file makes the reader raise
        want = (tr("a spreadsheet saved as .ods or .xlsx, or a folder of CSV files") if ending == ".ods" else
                tr("a spreadsheet saved as .xlsx, or a folder of CSV files"))
        kind = type(err.__cause__ or err).__name__
        return {}, [Fault(path.name, None, None, tr("a file that cannot be read ({kind})").format(kind=kind), want)]
    sheets: dict[str, Cells] = {}
    faults: list[Fault] = []
    for sheet in found:
        title = sheet.title.strip().casefold()
        if title in APART:
            continue
        name = _file_of(title)
        cells, bad = _of_sheet(name, sheet)
        if cells:
            sheets[name] = cells
            faults += bad
    return sheets, faults


def _of_sheet(file: str, sheet: Sheet) -> tuple[Cells, list[Fault]]:
    """Return the lines of a sheet that hold something, and the cells that would be misread without a word."""
    fields = _fields_of(file)
    faults = [Fault(file, n, None, tr("a value far to the right ({value})").format(value=shown(value)),
                    tr("nothing there; empty this cell"), cell=cell) for n, cell, value in sheet.far]
    lines: Cells = []
    titles: dict[int, str] = {}
    for n, values in sheet.lines:
        texts = [_text_of(value) for value in values]
        if titles:
            faults += [Fault(file, n, column, *odd, cell=_cell(k + 1, n)) for k, column in titles.items()
                       if k < len(values) and (odd := _odd(values[k], fields.get(column))) is not None]
        elif any(texts):
            texts = [named(t) for t in texts]
            titles = {k: t for k, t in enumerate(texts) if t}
        if any(texts):
            lines.append((n, texts))
    for line, column, down, across in sheet.merged:
        first, last = _cell(column, line), _cell(column + across - 1, line + down - 1)
        faults.append(Fault(file, line, titles.get(column - 1), tr("merged cells ({span})").format(
            span=f"{first}:{last}"), tr("each cell by itself; take the merge back and fill each one"), cell=first))
    width = max((k + 1 for _, texts in lines for k, text in enumerate(texts) if text), default=0)
    return [(n, (texts + [""] * width)[:width]) for n, texts in lines], faults


def _cell(column: int, line: int) -> str:
    from openpyxl.utils import get_column_letter

    return f"{get_column_letter(column)}{line}"


def cell_name(line: int | None, column: str | None, cells: Cells) -> str | None:
    """Return the name of a cell as the spreadsheet shows it, such as D7, from its line and column title."""
    header = next((row for _, row in cells if any(c.strip() for c in row)), [])
    titles = [c.strip() for c in header]
    if line is None or column not in titles:
        return None
    return _cell(titles.index(column) + 1, line)


def _file_of(title: str) -> str:
    """Return the name of the file that a sheet of this title stands for."""
    if title.startswith(f"{HISTORY} "):
        return f"{HISTORY}/{title.removeprefix(f'{HISTORY} ').strip()}.csv"
    return f"{title}.csv"


def _text_of(value: Any) -> str:
    """Return a cell as text: dates and numbers as the files have them."""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat()
    return as_text(value) if value is None or isinstance(value, bool | int | float | date) else str(value).strip()


def _odd(value: Any, field: Field | None) -> tuple[str, str] | None:
    """Return what a cell holds and what is wanted, where it would be misread without a word."""
    if isinstance(value, Wrong):
        return (tr("the error value {value}").format(value=value) if value else tr("a formula without a value"),
                _FORMULA)
    if field is None:
        return None
    want = wanted(field)
    if isinstance(value, time | timedelta):
        return tr("a time of day or a length of time ({value})").format(
                   value=value), tr("{want}, without a colon").format(want=want)
    if isinstance(value, date) and field.kind != "date":
        return (tr("the date {value:%Y-%m-%d} (the spreadsheet may have made it from what you typed)").format(
                    value=value),
                tr("{want}; set the cell to text, then type it again").format(want=want))
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if number and field.kind in ("int", "float") and isinstance(value, Percent):
        told = f"{100 * value:.6g}"
        return tr("a percentage ({told} %)").format(told=told), tr("{want}, without a percent sign").format(want=want)
    if number and field.kind == "date":
        return tr("the number {value}").format(
                   value=shown(value)), tr("{want}; set the cell to a date").format(want=want)
    return None


def _fields_of(file: str) -> dict[str, Field]:
    """Return the columns that the sheet of a file may have, by name."""
    table = TABLES.get(file.removesuffix(".csv").removeprefix(f"{HISTORY}/"))
    return {} if table is None else {f.name: f for f in table.fields}
