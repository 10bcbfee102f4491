"""A spreadsheet with one sheet per table is read like the folder it stands for."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder

from .conftest import HAND


def workbook(path: Path, **sheets: list[list[object]]) -> Path:
    book = openpyxl.Workbook()  # its first sheet stays empty, as a spreadsheet program leaves it
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def by_hand(**changes: list[list[object]]) -> dict[str, list[list[object]]]:
    return {name: [[*row] for row in csv.reader(str(text).splitlines())] for name, text in HAND.items()} | changes


SITTINGS: list[list[object]] = [
    ["date", "reed", "play_min", "overall", "habit", "waterlogged"],
    [datetime(2026, 3, 5), "1-01", 20, 7.0, "soak", True],
    [date(2026, 3, 5), "1-02", 20.0, 6, "lick", None],
    [None, None, None, None, None, None],
    [datetime(2026, 3, 6), "1-01", 20, None, None, False],
]


def test_typed_cells_give_the_same_rows_as_the_folder(
        tmp_path: Path, empty_book: Logbook, hand: Callable[..., Path]) -> None:
    folder = hand()
    sheets = {name.title(): rows for name, rows in by_hand(sittings=SITTINGS).items()}
    import_folder(workbook(tmp_path / "reeds.xlsx", **sheets), empty_book)
    sheet = empty_book.frame("sittings")
    assert sheet["waterlogged"].tolist() == [True, False, False]
    again = import_folder(folder, empty_book)
    assert sum(again.added.values()) == 0
    assert sheet["date"].tolist() == [pd.Timestamp("2026-03-05")] * 2 + [pd.Timestamp("2026-03-06")]


def test_fault_is_named_with_sheet_and_line(tmp_path: Path, empty_book: Logbook) -> None:
    bad = [*SITTINGS, ["7.3.2026", "1-01", "long", 11]]
    before = empty_book.path.read_bytes()
    with pytest.raises(ExchangeError) as err:
        import_folder(workbook(tmp_path / "reeds.xlsx", **by_hand(sittings=bad)), empty_book)
    assert [(f.file, f.line, f.column) for f in err.value.faults] == [
        ("sheet sittings", 6, "date"), ("sheet sittings", 6, "play_min"), ("sheet sittings", 6, "overall")]
    assert empty_book.path.read_bytes() == before


def test_sheet_of_unknown_name_is_a_fault_unless_empty(tmp_path: Path, empty_book: Logbook) -> None:
    with pytest.raises(ExchangeError, match="sheet siting: found an unknown name") as err:
        import_folder(workbook(tmp_path / "reeds.xlsx", **by_hand(siting=[["date"]])), empty_book)
    assert len(err.value.faults) == 1


def test_file_that_is_no_spreadsheet_is_refused(tmp_path: Path, empty_book: Logbook) -> None:
    path = tmp_path / "reeds.xlsx"
    path.write_text("date,reed\n")
    with pytest.raises(ExchangeError, match="saved as"):
        import_folder(path, empty_book)
