"""A spreadsheet as tables of text: one sheet per table, named as the table."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import closing
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import IO, Any, Final

from ..errors import Fault
from ..rows.tables import TABLES, Field
from ..rows.values import shown, wanted
from ..wording import tr
from .layout import HISTORY, as_text, named

__all__ = ["APART", "LINES", "PLANS_SHEET", "Cells", "TooMuch", "be_of_sensible_size", "cell_name", "fields_of_sheet",
           "file_of", "odd_value", "read_workbook", "sheet_name", "text_of"]

#: Lines of cells, each with its number as the spreadsheet shows it.
Cells = list[tuple[int, list[str]]]

#: Sheets that hold no table: words for the player, and what the drop-down lists offer.
APART: Final = ("help", "lists")
#: Frozen plans in a spreadsheet: columns protocol_file, part and text.
PLANS_SHEET: Final = "protocols"
# Bounds: a logbook of 100,000 sittings, as a spreadsheet, has 2 million cells and unpacks to about 100 MB.
_PACKED: Final = 50_000_000  # bytes
_UNPACKED: Final = 400_000_000
_SMALL, _RATIO = 2_000_000, 50  # a small file may unpack to 2 MB and 50 times its size
_PARTS: Final = 2_000
LINES: Final = 200_000
_LAST_LINE: Final = 1_048_576  # of any spreadsheet; lines below the table may be empty
_COLUMNS: Final = 100
_CELLS: Final = 20_000_000
_MERGE: Final = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}[0-9]{1,7})"')
_FORMULA: Final = tr("a plain value (copy it and paste it as a value)")


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
        with path.open("rb") as file:
            be_of_sensible_size(file)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of styles and validations it does not keep
            # opened here, so that the file is closed again whatever it makes the reader raise
            with (path.open("rb") as one, path.open("rb") as two,
                  closing(openpyxl.load_workbook(one, read_only=True, data_only=True)) as book,
                  closing(openpyxl.load_workbook(two, read_only=True, data_only=False)) as raw):
                return _read_sheets(book, raw)
    except TooMuch as err:
        return {}, [Fault(path.name, None, None, *err.args)]
    except Exception as err:  # whatever a damaged file makes the reader raise
        want = tr("a spreadsheet saved as .xlsx, or a folder of CSV files")
        kind = type(err.__cause__ or err).__name__
        return {}, [Fault(path.name, None, None, tr("a file that cannot be read ({kind})").format(kind=kind), want)]


class TooMuch(Exception):
    """Raised inside with what was found and what is wanted."""


def be_of_sensible_size(file: IO[bytes]) -> None:
    """Refuse a file that would unpack to far more than it seems: on the sizes it states, which no reader exceeds.

    Raises TooMuch with what was found and what is wanted.
    """
    packed = file.seek(0, io.SEEK_END)
    if packed > _PACKED:
        raise TooMuch(tr("a file of {packed} MB").format(packed=packed // 1000000),
                       tr("at most {packed} MB").format(packed=_PACKED // 1000000))
    with zipfile.ZipFile(file) as archive:
        parts = archive.infolist()
        whole = sum(p.file_size for p in parts)
    if len(parts) > _PARTS:
        raise TooMuch(tr("a file of {n} parts").format(
                           n=len(parts)), tr("a plain spreadsheet (at most {parts} parts)").format(
                                              parts=_PARTS))
    if whole > min(_UNPACKED, _SMALL + _RATIO * packed):
        raise TooMuch(tr("a file that unpacks to {whole:.0f} MB").format(whole=whole / 1000000.0),
                       tr("a plain spreadsheet; copy the cells into a new one and save that"))


def _read_sheets(book: Any, raw: Any) -> tuple[dict[str, Cells], list[Fault]]:
    sheets: dict[str, Cells] = {}
    faults: list[Fault] = []
    for sheet, formulas in zip(book.worksheets, raw.worksheets, strict=True):
        title = sheet.title.strip().casefold()
        if title in APART:
            continue
        name = file_of(title)
        cells, bad = _read_sheet(name, sheet, formulas)
        if cells:
            sheets[name] = cells
            faults += bad
    return sheets, faults


def _read_sheet(file: str, sheet: Any, raw: Any) -> tuple[Cells, list[Fault]]:
    """Return the lines of a sheet that hold something, and the cells that would be misread without a word.

    What a sheet says of its own size is not believed: lines and cells are counted as they come.
    """
    lines: Cells = []
    faults: list[Fault] = []
    titles: dict[int, str] = {}
    fields = fields_of_sheet(file)
    for part in (sheet, raw):
        part.reset_dimensions()
    seen = 0
    for n, (row, formulas) in enumerate(zip(sheet.iter_rows(), raw.iter_rows(), strict=True), start=1):
        if not row and n < _LAST_LINE:
            continue
        seen += len(row)
        texts = [text_of(cell.value) for cell in row[:_COLUMNS]]
        far = next((c for c in row[_COLUMNS:] if c.value is not None), None)
        if far is not None:
            faults.append(Fault(file, n, None, tr("a value far to the right ({value})").format(value=shown(far.value)),
                                tr("nothing there; empty this cell"), cell=far.coordinate))
        filled = any(texts)
        if seen > _CELLS or n > _LAST_LINE or (filled and n > LINES):
            raise TooMuch(tr("the sheet {sheet_name} with cells down to line {n}").format(
                               sheet_name=sheet_name(file), n=n),
                           tr("at most {lines} lines; delete what stands far below the table").format(lines=LINES))
        if not titles:
            texts = [named(t) for t in texts]
        if filled:
            lines.append((n, texts))
        if not titles:
            titles = {i: t for i, t in enumerate(texts) if t}
            continue
        for i, column in titles.items():
            if i >= len(row):
                continue
            odd = _odd(row[i], formulas[i], fields.get(column))
            if odd is not None:
                faults.append(Fault(file, n, column, *odd, cell=row[i].coordinate))
    width = max((i + 1 for _, texts in lines for i, text in enumerate(texts) if text), default=0)
    return ([(n, (texts + [""] * width)[:width]) for n, texts in lines],
            [*faults, *_merged(file, sheet, titles)])


def _merged(file: str, sheet: Any, titles: Mapping[int, str]) -> Iterator[Fault]:
    """Yield merged cells; read line by line, a sheet does not tell of them, so its text is searched."""
    from openpyxl.utils import range_boundaries

    with sheet._get_source() as source:
        text = source.read()
    for found in _MERGE.finditer(text):
        span = found[1].decode("ascii")
        column, line, *_ = range_boundaries(span)
        yield Fault(file, line, titles.get(column - 1), tr("merged cells ({span})").format(span=span),
                    tr("each cell by itself; take the merge back and fill each one"), cell=span.partition(":")[0])


def cell_name(line: int | None, column: str | None, cells: Cells) -> str | None:
    """Return the name of a cell as the spreadsheet shows it, such as D7, from its line and column title."""
    from openpyxl.utils import get_column_letter

    header = next((row for _, row in cells if any(c.strip() for c in row)), [])
    titles = [c.strip() for c in header]
    if line is None or column not in titles:
        return None
    return f"{get_column_letter(titles.index(column) + 1)}{line}"


def file_of(title: str) -> str:
    """Return the name of the file that a sheet of this title stands for."""
    if title.startswith(f"{HISTORY} "):
        return f"{HISTORY}/{title.removeprefix(f'{HISTORY} ').strip()}.csv"
    return f"{title}.csv"


def text_of(value: Any) -> str:
    """Return a cell as text: dates and numbers as the files have them."""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat()
    return as_text(value) if value is None or isinstance(value, bool | int | float | date) else str(value).strip()


def _odd(cell: Any, formula: Any, field: Field | None) -> tuple[str, str] | None:
    if cell.data_type == "e":
        return tr("the error value {value}").format(value=cell.value), _FORMULA
    if formula.data_type == "f" and cell.value is None:
        return tr("a formula without a value"), _FORMULA
    return None if field is None else odd_value(cell.value, field, percent="%" in str(cell.number_format))


def odd_value(value: Any, field: Field, *, percent: bool) -> tuple[str, str] | None:
    """Return what a cell holds and what is wanted, where it would be misread without a word."""
    want = wanted(field)
    if isinstance(value, time | timedelta):
        return tr("a time of day or a length of time ({value})").format(
                   value=value), tr("{want}, without a colon").format(want=want)
    if isinstance(value, date) and field.kind != "date":
        return (tr("the date {value:%Y-%m-%d} (the spreadsheet may have made it from what you typed)").format(
                    value=value),
                tr("{want}; set the cell to text, then type it again").format(want=want))
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if number and field.kind in ("int", "float") and percent:
        told = f"{100 * value:.6g}"
        return tr("a percentage ({told} %)").format(told=told), tr("{want}, without a percent sign").format(want=want)
    if number and field.kind == "date":
        return tr("the number {value}").format(
                   value=shown(value)), tr("{want}; set the cell to a date").format(want=want)
    return None


def fields_of_sheet(file: str) -> dict[str, Field]:
    """Return the columns that the sheet of a file may have, by name."""
    table = TABLES.get(file.removesuffix(".csv").removeprefix(f"{HISTORY}/"))
    return {} if table is None else {f.name: f for f in table.fields}
