"""The sheets of an .ods spreadsheet (OpenDocument 1.3, part 3): a zip with the cells as XML."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from datetime import date, time, timedelta
from typing import IO, Any, Final

from .sheets import LINES, Percent, Sheet

__all__ = ["read_ods"]

_TABLE: Final = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE: Final = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT: Final = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_SPAN: Final = re.compile(r"PT(\d+)H(\d+)M(\d+)(?:[.,]\d+)?S")
_WIDE: Final = 200  # cells of a line that are looked at


def read_ods(file: IO[bytes]) -> list[Sheet]:
    """Read every sheet. Whatever a damaged file makes the reader raise is for the caller to tell."""
    from defusedxml.ElementTree import parse

    with zipfile.ZipFile(file) as archive, archive.open("content.xml") as text:
        root = parse(text).getroot()
    return [_sheet(table) for table in root.iter(f"{_TABLE}table")]


def _sheet(table: Any) -> Sheet:
    lines: list[tuple[int, list[Any]]] = []
    merged: list[tuple[int, int, int, int]] = []
    n = 1
    for row in table.iter(f"{_TABLE}table-row"):
        again = int(row.get(f"{_TABLE}number-rows-repeated", "1"))
        cells = list(_cells(row, n, merged))
        if any(c is not None for c in cells):
            lines += [(n + k, cells) for k in range(min(again, LINES))]
        n += again
        if len(lines) > LINES:
            break
    return Sheet(str(table.get(f"{_TABLE}name", "")), lines, merged, [])


def _cells(row: Any, line: int, merged: list[tuple[int, int, int, int]]) -> Iterator[Any]:
    k = 0
    for cell in row:
        if cell.tag not in (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
            continue
        again = int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
        span = (int(cell.get(f"{_TABLE}number-rows-spanned", "1")),
                int(cell.get(f"{_TABLE}number-columns-spanned", "1")))
        if span != (1, 1):
            merged.append((line, k + 1, *span))
        value = _value(cell)
        for _ in range(min(again, max(_WIDE - k, 0))):
            yield value
        k += again


def _value(cell: Any) -> Any:
    kind = cell.get(f"{_OFFICE}value-type")
    if kind in ("float", "currency", "percentage"):
        return (Percent if kind == "percentage" else float)(cell.get(f"{_OFFICE}value", "nan"))
    if kind == "date":
        return date.fromisoformat(cell.get(f"{_OFFICE}date-value", "")[:10])
    if kind == "time" and (found := _SPAN.fullmatch(cell.get(f"{_OFFICE}time-value", ""))):
        hours, minutes, seconds = (int(g) for g in found.groups())
        return time(hours, minutes, seconds) if hours < 24 else timedelta(hours=hours, minutes=minutes)
    text = "\n".join("".join(p.itertext()) for p in cell.iter(f"{_TEXT}p"))
    return text or None
