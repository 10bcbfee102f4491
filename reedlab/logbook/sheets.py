"""The sheets of a spreadsheet as they stand, whatever program wrote it; here those of an .xlsx file."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import closing
from typing import IO, Any, Final, NamedTuple

from ..wording import tr

__all__ = ["LINES", "Percent", "Sheet", "TooMuch", "Wrong", "be_of_sensible_size", "read_xlsx"]

LINES: Final = 200_000
# Bounds: a logbook of 100,000 sittings, as a spreadsheet, has 2 million cells and unpacks to about 100 MB.
_PACKED: Final = 50_000_000  # bytes
_UNPACKED: Final = 400_000_000
_SMALL, _RATIO = 2_000_000, 50  # a small file may unpack to 2 MB and 50 times its size
_PARTS: Final = 2_000
_LAST_LINE: Final = 1_048_576  # of any spreadsheet; lines below the table may be empty
_COLUMNS: Final = 100  # of a table of ours
_WIDEST: Final = 16_384  # columns of any spreadsheet
_CELLS: Final = 20_000_000
_MERGE: Final = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]{1,3}[0-9]{1,7}:[A-Z]{1,3}[0-9]{1,7})"')


class TooMuch(Exception):
    """Raised inside with what was found and what is wanted."""


class Percent(float):
    """A number that the sheet shows as a percentage."""


class Wrong(str):
    """What stands in a cell in the place of a value: an error, or nothing where a formula has no value."""


class Sheet(NamedTuple):
    """One sheet.

    `lines` are lines of cells by their numbers, those without any value left out; `merged` are merged cells as (first
    line, first column, lines, columns); `far` are values too far to the right to be read: line, cell and value.
    """

    title: str
    lines: list[tuple[int, list[Any]]]
    merged: list[tuple[int, int, int, int]]
    far: list[tuple[int, str, Any]]


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
        raise TooMuch(tr("a file of {n} parts").format(n=len(parts)),
                      tr("a plain spreadsheet (at most {parts} parts)").format(parts=_PARTS))
    if whole > min(_UNPACKED, _SMALL + _RATIO * packed):
        raise TooMuch(tr("a file that unpacks to {whole:.0f} MB").format(whole=whole / 1000000.0),
                      tr("a plain spreadsheet; copy the cells into a new one and save that"))


def read_xlsx(file: IO[bytes], *, ours: bool) -> list[Sheet]:
    """Read every sheet of an .xlsx file.

    Of one laid out as ours, values beyond the columns that a table can have are named in `far`, and formulas that have
    no value are found; that takes a second reading.
    """
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # openpyxl warns of styles and validations it does not keep
        with closing(openpyxl.load_workbook(file, read_only=True, data_only=True)) as book:
            if not ours:
                return [_sheet(sheet, None) for sheet in book.worksheets]
            with closing(openpyxl.load_workbook(file, read_only=True, data_only=False)) as raw:
                return list(map(_sheet, book.worksheets, raw.worksheets))


def _sheet(sheet: Any, raw: Any) -> Sheet:
    """Read one sheet. What it says of its own size is not believed: lines and cells are counted as they come."""
    found = Sheet(sheet.title, [], list(_merged(sheet)), [])
    for part in (sheet, raw or sheet):
        part.reset_dimensions()
    columns, seen = _WIDEST if raw is None else _COLUMNS, 0
    rows = ((row, row) for row in sheet.iter_rows()) if raw is None else zip(
        sheet.iter_rows(), raw.iter_rows(), strict=True)
    for n, (row, formulas) in enumerate(rows, start=1):
        if not row and n < _LAST_LINE:
            continue
        seen += len(row)
        if (far := next((c for c in row[columns:] if c.value is not None), None)) is not None:
            found.far.append((n, far.coordinate, far.value))
        cells = [_value(cell, formula) for cell, formula in zip(row[:columns], formulas, strict=False)]
        filled = any(c is not None and str(c).strip() for c in cells)
        if seen > _CELLS or n > _LAST_LINE or (filled and n > LINES):
            raise TooMuch(tr("the sheet {sheet_name} with cells down to line {n}").format(
                               sheet_name=sheet.title.strip().casefold(), n=n),
                          tr("at most {lines} lines; delete what stands far below the table").format(lines=LINES))
        if any(c is not None for c in cells):
            found.lines.append((n, cells))
    return found


def _value(cell: Any, formula: Any) -> Any:
    value = cell.value
    if cell.data_type == "e" or (value is None and formula.data_type == "f"):
        return Wrong(value or "")
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return Percent(value) if number and "%" in str(cell.number_format) else value


def _merged(sheet: Any) -> Iterator[tuple[int, int, int, int]]:
    """Yield merged cells; read line by line, a sheet does not tell of them, so its text is searched."""
    from openpyxl.utils import range_boundaries

    with sheet._get_source() as source:
        text = source.read()
    for span in _MERGE.finditer(text):
        column, line, last_column, last_line = range_boundaries(span[1].decode("ascii"))
        yield line, column, last_line - line + 1, last_column - column + 1
