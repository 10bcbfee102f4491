"""An .ods spreadsheet as tables of text, one sheet for each table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..errors import Fault
from ..wording import tr
from .layout import named
from .ods import Percent, read_ods
from .workbook import (
    APART,
    LINES,
    Cells,
    TooMuch,
    be_of_sensible_size,
    fields_of_sheet,
    file_of,
    odd_value,
    text_of,
)

__all__ = ["read_open_document"]


def read_open_document(path: Path) -> tuple[dict[str, Cells], list[Fault]]:
    """Read every sheet of an .ods file that has something in it, as `read_workbook` does for .xlsx."""
    try:
        with path.open("rb") as file:
            be_of_sensible_size(file)
            found = read_ods(file, LINES)
    except TooMuch as err:
        return {}, [Fault(path.name, None, None, *err.args)]
    except Exception as err:  # whatever a damaged file makes the reader raise
        want = tr("a spreadsheet saved as .ods or .xlsx, or a folder of CSV files")
        return {}, [Fault(path.name, None, None, tr("a file that cannot be read ({kind})").format(
            kind=type(err).__name__), want)]
    sheets: dict[str, Cells] = {}
    faults: list[Fault] = []
    for title, lines, merged in found:
        name = file_of(title.strip().casefold())
        if title.strip().casefold() in APART or not lines:
            continue
        sheets[name], bad = _of_lines(name, lines, merged)
        faults += bad
    return sheets, faults


def _of_lines(file: str, lines: Sequence[tuple[int, Sequence[Any]]],
              merged: Sequence[tuple[int, int, int, int]]) -> tuple[Cells, list[Fault]]:
    fields = fields_of_sheet(file)
    titles = {k: named(text_of(c)) for k, c in enumerate(lines[0][1]) if c is not None}
    faults = [Fault(file, n, titles[k], *odd, cell=f"{_letter(k + 1)}{n}") for n, cells in lines[1:]
              for k, value in enumerate(cells) if titles.get(k) in fields and (odd := odd_value(
                  value, fields[titles[k]], percent=isinstance(value, Percent)))]
    for line, column, down, across in merged:
        span = f"{_letter(column)}{line}:{_letter(column + across - 1)}{line + down - 1}"
        faults.append(Fault(file, line, titles.get(column - 1), tr("merged cells ({span})").format(span=span), tr(
            "each cell by itself; take the merge back and fill each one"), cell=f"{_letter(column)}{line}"))
    width = max(k + 1 for _, cells in lines for k, c in enumerate(cells) if c is not None)
    texts = [(n, ([text_of(c) for c in cells] + [""] * width)[:width]) for n, cells in lines]
    return [(texts[0][0], [named(t) for t in texts[0][1]]), *texts[1:]], faults


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(column))
