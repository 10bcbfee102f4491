"""Reading and writing one CSV file: UTF-8, commas, a header line. Knows nothing of the tables."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from ..errors import Fault
from ..rows.values import nearest
from ..wording import tr
from .layout import bare

__all__ = ["Sheet", "fill", "read_csv", "write_csv"]

_BYTES: Final = 300_000_000  # a million sittings take about 100 MB
_LINES: Final = 3_000_000
_COLUMNS: Final = 200


@dataclass
class Sheet:
    """The lines of one file as text by column, each with its line number; and what was wrong with it."""

    name: str
    header: list[str] = field(default_factory=list)
    rows: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    #: True where some lines could not be read at all
    lost: bool = False
    #: True where semicolons stand between the columns, so that a comma is a decimal mark
    comma: bool = False

    def wrong(self, line: int | None, found: str, wanted: str, column: str | None = None, *,
              lost: bool = False) -> None:
        """Note a fault, and whether lines are `lost` by it."""
        self.faults.append(Fault(self.name, line, column, found, wanted))
        self.lost = self.lost or lost


def read_csv(path: Path, name: str, known: Sequence[str], needed: Iterable[str], *,
             decimal_comma: bool = False) -> Sheet:
    """Read one file as text and check its shape.

    Parameters
    ----------
    path : Path
    name : str
        What the file is called in messages.
    known : sequence of str
        The columns it may have.
    needed : iterable of str
        The columns it must have.
    decimal_comma : bool
        Allow semicolons between the columns.

    Returns
    -------
    Sheet
        Lines with the wrong number of cells are left out and reported. Empty lines are passed over. A byte order
        mark and any line ending are accepted.
    """
    sheet = Sheet(name)
    try:
        text = _decode(path)
    except _Unread as err:
        sheet.wrong(*err.args, lost=True)
        return sheet
    skipped = 0
    if decimal_comma and (told := text.split("\n", 1)[0].strip().casefold()) in ("sep=;", '"sep=;"'):
        skipped, text = 1, text[text.index("\n") + 1:] if "\n" in text else ""  # a spreadsheet's own first line
        sheet.comma = bool(told)
    first = next((row for row in text.splitlines() if row.strip()), "")
    sheet.comma = sheet.comma or (decimal_comma and ";" in first and "," not in first)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=";" if sheet.comma else ",")

    def numbered() -> Iterator[tuple[int, list[str]]]:
        start = 1 + skipped
        try:
            for cells in reader:
                if start > _LINES:
                    sheet.wrong(start, tr("more lines"), tr("at most {lines}").format(lines=_LINES), lost=True)
                    return
                yield start, [bare(c) for c in cells]
                start = reader.line_num + 1 + skipped
        except csv.Error as err:
            sheet.wrong(start, tr("quotes that do not close or do not fit ({err})").format(err=err),
                        tr("double quotes around the whole cell, and \"\" for a quote inside it"), lost=True)

    return fill(sheet, numbered(), known, needed)


def fill(sheet: Sheet, lines: Iterable[tuple[int, list[str]]], known: Sequence[str],
         needed: Iterable[str]) -> Sheet:
    """Put numbered lines of cells into a sheet and check their shape; the first with something is the header."""
    for line, cells in lines:
        if not any(c.strip() for c in cells):
            continue
        if not sheet.header:
            if len(cells) > _COLUMNS:
                sheet.wrong(line, tr("{n} columns").format(n=len(cells)),
                            tr("at most {columns}").format(columns=_COLUMNS), lost=True)
                return sheet
            sheet.header = [c.strip() for c in cells]
            if not _check_header(sheet, line, known, list(needed)):
                return sheet
        elif len(cells) != len(sheet.header):
            sheet.wrong(line, tr("{n} cells").format(n=len(cells)),
                        tr("{n}, one for each column of the header; a text with a comma in it needs double quotes "
                           "around it").format(n=len(sheet.header)), lost=True)
        else:
            sheet.rows.append((line, dict(zip(sheet.header, cells, strict=True))))
    if not sheet.header and not sheet.faults:
        sheet.wrong(None, tr("only empty lines"), tr("a header line with the column names"))
    return sheet


class _Unread(Exception):
    """Raised inside with the line, what was found and what is wanted."""


def _decode(path: Path) -> str:
    how = tr("a CSV file in UTF-8 (in a spreadsheet: save as 'CSV UTF-8')")
    try:
        size = path.stat().st_size
        if size > _BYTES:
            raise _Unread(None, tr("a file of {size} MB").format(size=size // 1000000),
                          tr("at most {bytes} MB; split it and read in one part after another").format(
                              bytes=_BYTES // 1000000))
        raw = path.read_bytes()
    except OSError as err:
        raise _Unread(None, tr("a file that cannot be read ({strerror})").format(strerror=err.strerror), how) from err
    if not raw:
        raise _Unread(None, tr("an empty file"), tr("a header line with the column names"))
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in raw:
        raise _Unread(None, tr("another encoding, such as UTF-16, or no text at all"), how)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        line = raw[: err.start].count(b"\n") + 1
        raise _Unread(line, tr("a byte that is not UTF-8 (0x{raw:02x})").format(raw=raw[err.start]), how) from err


def _check_header(sheet: Sheet, line: int, known: Sequence[str], needed: Sequence[str]) -> bool:
    """Report what is wrong with the header; False where the rows cannot be read with it."""
    header = sheet.header
    if len(header) == 1 and known[0] != header[0]:
        for mark, word in ((";", tr("semicolons")), ("\t", tr("tabs"))):
            if mark in header[0]:
                more = tr("; or say --decimal-comma when you read it in") if mark == ";" else ""
                sheet.wrong(line, tr("{word} between the columns").format(word=word),
                            tr("commas between the columns, and a decimal point{more}").format(more=more), lost=True)
                return False
    for name in header:
        if name not in known:
            hint = nearest(name, [k for k in known if k not in header])
            sheet.wrong(line, tr("a column that is not known") if name else tr("a column without a name"),
                        tr("one of {known}{hint}").format(known=", ".join(known), hint=hint), name or None)
    for name in sorted({n for n in header if header.count(n) > 1 and n}):
        sheet.wrong(line, tr("this column more than once"), tr("each column once"), name)
    for name in needed:
        if name not in header:
            hint = nearest(name, [h for h in header if h not in known], tr("; is it the one called '{name}'?"))
            sheet.wrong(line, tr("no such column"), tr("this column{nearest}").format(nearest=hint), name)
    return True


def write_csv(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write one new file, line by line: UTF-8, commas, one line feed after each line.

    For a folder that `filing.write_folder` puts in place: until then a half-written file harms nothing.
    """
    with path.open("x", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)
