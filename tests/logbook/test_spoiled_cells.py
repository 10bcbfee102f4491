"""Every way to spoil a cell of the spreadsheet is named: the sheet, the cell, what was found, what is wanted."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder
from reedlab.logbook.layout import named
from reedlab.logbook.workbook_out import to_fill_in
from reedlab.trial.protocol import Habit

HABITS = (Habit("lick", "wetting in the mouth"), Habit("soak", "soaking in water"))
DAY = date(2026, 3, 5)


def filled(book: Logbook) -> Any:
    """The spreadsheet with two sound rows of sittings, one day and one retired reed."""
    rows = [{"date": DAY, "order": k, "reed": f"1-0{k + 2}", "habit": None, "plan_min": 10} for k in (1, 2, 3)]
    made = openpyxl.load_workbook(io.BytesIO(
        to_fill_in(book.frames(), rows, habits=HABITS, days=[date(2026, 3, 9)], today=DAY)))
    sittings = made["sittings"]
    for row in (2, 3):
        put(sittings, row, play_min=20, overall=7.5)
    put(made["days"], 2, humidity_pct=45)
    put(made["retirements"], 2, reed="1-04", date=date(2026, 3, 12), reason="worn_out")
    return made


def put(sheet: Any, row: int, **values: Any) -> None:
    titles = [named(c.value) for c in sheet[1]]
    for name, value in values.items():
        sheet.cell(row, titles.index(name) + 1).value = value


def place(made: Any, sheet: str, row: int, column: str) -> str:
    titles = [named(c.value) for c in made[sheet][1]]
    return str(made[sheet].cell(row, titles.index(column) + 1).coordinate)


def refused(made: Any, book: Logbook, folder: Path) -> ExchangeError:
    made.save(folder / "filled.xlsx")
    before = book.path.read_bytes()
    with pytest.raises(ExchangeError) as err:
        import_folder(folder / "filled.xlsx", book)
    assert book.path.read_bytes() == before
    return err.value


def test_sound_spreadsheet_is_read_in_and_rows_left_empty_are_counted(book: Logbook, tmp_path: Path) -> None:
    filled(book).save(tmp_path / "f.xlsx")
    report = import_folder(tmp_path / "f.xlsx", book)
    assert (report.added["sittings"], report.added["days"], report.added["retirements"]) == (2, 1, 1)
    assert report.left_empty == 1
    assert "1 planned row was not filled in" in str(report)


def test_reading_in_again_after_filling_in_more_adds_only_the_new_rows(book: Logbook, tmp_path: Path) -> None:
    made = filled(book)
    made.save(tmp_path / "f.xlsx")
    import_folder(tmp_path / "f.xlsx", book)
    put(made["sittings"], 4, play_min=30, overall=4)
    made.save(tmp_path / "f.xlsx")
    report = import_folder(tmp_path / "f.xlsx", book)
    assert (report.added["sittings"], report.skipped["sittings"], report.left_empty) == (1, 2, 0)


# sheet, column, what stands there, what the message says was found, a word of what is wanted
SPOILED: list[tuple[str, str, Any, str, str]] = [
    ("sittings", "play_min", "twenty", "'twenty'", "a number from 0 to 720"),
    ("sittings", "play_min", None, "nothing", "may not be empty"),
    ("sittings", "play_min", -5, "-5", "from 0 to 720"),
    ("sittings", "play_min", 1000, "1000", "from 0 to 720"),
    ("sittings", "play_min", time(0, 45), "a time of day", "without a colon"),
    ("sittings", "play_min", timedelta(minutes=45), "length of time", "without a colon"),
    ("sittings", "play_min", "20 min", "'20 min'", "a number"),
    ("sittings", "play_min", True, "'true'", "a number"),
    ("sittings", "play_min", "=10+10", "a formula without a value", "plain value"),
    ("sittings", "overall", "7,5", "'7,5'", "7.5"),
    ("sittings", "overall", 11, "11", "from 0 to 10"),
    ("sittings", "overall", "good", "'good'", "from 0 to 10"),
    ("sittings", "overall", datetime(2026, 5, 7), "the date 2026-05-07", "set the cell to text"),
    ("sittings", "overall", "#DIV/0!", "the error value", "plain value"),
    ("sittings", "stiffness", 4, "4", "from -3 to 3"),
    ("sittings", "order", 1.5, "1.5", "a whole number"),
    ("sittings", "date", "5.3.2026", "'5.3.2026'", "2026-03-01"),
    ("sittings", "date", "2026-02-30", "'2026-02-30'", "in the calendar"),
    ("sittings", "date", 46086, "the number 46086", "set the cell to a date"),
    ("sittings", "date", datetime(2026, 3, 5, 18, 30), "18:30", "a date"),
    ("sittings", "date", datetime(1826, 3, 5), "1826", "year"),
    ("sittings", "date", None, "nothing", "may not be empty"),
    ("sittings", "date", date(2026, 4, 20), "2026-04-20", "today"),
    ("sittings", "reed", datetime(2026, 1, 3), "the date 2026-01-03", "set the cell to text"),
    ("sittings", "reed", "1-99", "'1-99'", "list of"),
    ("sittings", "reed", 103, "'103'", "list of"),
    ("sittings", "reed", None, "nothing", "may not be empty"),
    ("sittings", "waterlogged", "maybe", "'maybe'", "true or false"),
    ("sittings", "where", "kitchen", "'kitchen'", "practice"),
    ("sittings", "setup", "unknown", "'unknown'", "list of"),
    ("sittings", "habit", "bath", "'bath'", "one of the trial's two habits"),
    ("sittings", "plan_min", "long", "'long'", "a number"),
    ("days", "humidity_pct", 145, "145", "from 0 to 100"),
    ("days", "temp_c", "20°", "'20°'", "a number"),
    ("retirements", "reason", "tired", "'tired'", "worn out"),
    ("retirements", "reed", "1-1", "'1-1'", "list of"),
    ("retirements", "date", "March", "'March'", "2026-03-01"),
]


@pytest.mark.parametrize(("sheet", "column", "value", "found", "want"), SPOILED)
def test_spoiled_cell_is_named(book: Logbook, tmp_path: Path, sheet: str, column: str, value: Any, found: str,
                               want: str) -> None:
    made = filled(book)
    cell = place(made, sheet, 2, column)
    made[sheet][cell].value = value
    if isinstance(value, int) and column in ("date", "reed"):
        made[sheet][cell].number_format = "General"
    if column == "habit":
        put(made[sheet], 2, reed="1-01", date=date(2026, 3, 6))  # a reed and day of the trial
    if isinstance(value, str) and value.startswith("#"):
        made[sheet][cell].data_type = "e"
    err = refused(made, book, tmp_path)
    there = [f for f in err.faults if (f.file, f.cell) == (f"sheet {sheet}", cell)]
    assert len(there) == 1, [str(f) for f in err.faults]
    assert found in there[0].found
    assert want in there[0].wanted
    assert f"sheet {sheet}, cell {cell}" in str(err)


def test_there_are_at_least_25_kinds_of_them() -> None:
    assert len({(s, c, f) for s, c, _, f, _ in SPOILED}) >= 25


def test_percentage_merged_cells_and_a_wrong_title_are_named(book: Logbook, tmp_path: Path) -> None:
    made = filled(book)
    humidity = made["days"][place(made, "days", 2, "humidity_pct")]
    humidity.value, humidity.number_format = 0.45, "0%"
    made["sittings"].merge_cells(f"{place(made, 'sittings', 2, 'remark')}:{place(made, 'sittings', 3, 'remark')}")
    made["retirements"]["B1"].value = "day"
    err = refused(made, book, tmp_path)
    told = {(f.file, f.cell): f for f in err.faults}
    percent = told["sheet days", humidity.coordinate]
    assert "45 %" in percent.found
    assert "without a percent sign" in percent.wanted
    assert "merged cells" in told["sheet sittings", place(made, "sittings", 2, "remark")].found
    assert any(f.file == "sheet retirements" and f.column == "day" and f.cell == "B1" for f in err.faults)


def test_all_spoiled_cells_are_reported_at_once(book: Logbook, tmp_path: Path) -> None:
    made = filled(book)
    spoil = [("play_min", "x", 2), ("overall", 11, 2), ("overall", "a", 3), ("reed", "9-99", 3)]
    for column, value, row in spoil:
        made["sittings"][place(made, "sittings", row, column)].value = value
    err = refused(made, book, tmp_path)
    assert [f.cell for f in err.faults] == [place(made, "sittings", row, column) for column, _, row in spoil]


def test_a_row_by_hand_without_minutes_is_a_fault_not_a_row_left_empty(book: Logbook, tmp_path: Path) -> None:
    made = filled(book)
    put(made["sittings"], 9, date=DAY, reed="1-04")
    err = refused(made, book, tmp_path)
    assert [(f.cell, f.column) for f in err.faults] == [(place(made, "sittings", 9, "play_min"), "play_min")]


def test_a_planned_row_with_a_rating_but_no_minutes_is_a_fault(book: Logbook, tmp_path: Path) -> None:
    made = filled(book)
    put(made["sittings"], 4, overall=6)
    assert [f.column for f in refused(made, book, tmp_path).faults] == ["play_min"]


@pytest.fixture
def semicolons(hand: Callable[..., Path]) -> Callable[..., Path]:
    """A folder by hand, with sittings as a spreadsheet writes them where the comma is the decimal mark."""

    def write(text: str, **files: str | None) -> Path:
        return hand(sittings=text, **files)

    return write


GOOD = "date;reed;play_min;overall;remark\n05.03.2026;1-01;20,5;7,5;\"hell, klar\"\n2026-03-05;1-02;20;6;a;b\n"


def test_csv_with_decimal_commas_is_read_only_when_asked(
        semicolons: Callable[..., Path], empty_book: Logbook) -> None:
    folder = semicolons(GOOD.replace("a;b", '"a;b"'))
    with pytest.raises(ExchangeError, match="say --decimal-comma"):
        import_folder(folder, empty_book)
    report = import_folder(folder, empty_book, decimal_comma=True)
    assert report.added["sittings"] == 2  # the other files, with commas, are read as ever
    rows = empty_book.frame("sittings")
    assert list(rows["play_min"]) == [20.5, 20]
    assert list(rows["overall"]) == [7.5, 6]
    assert {d.date() for d in rows["date"]} == {DAY}
    assert list(rows["remark"]) == ["hell, klar", "a;b"]


def test_a_first_line_that_names_the_mark_is_passed_over_and_lines_still_count(
        semicolons: Callable[..., Path], empty_book: Logbook) -> None:
    folder = semicolons("sep=;\ndate;reed;play_min\n05.03.2026;1-01;x\n")
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, empty_book, decimal_comma=True)
    assert [(f.line, f.column) for f in err.value.faults] == [(3, "play_min")]


@pytest.mark.parametrize(("column", "text", "want"), [
    ("play_min", "7.5", "decimal comma and no point"),
    ("play_min", "1.000", "decimal comma and no point"),
    ("play_min", "1.000,5", "decimal comma and no point"),
    ("play_min", "1,5,5", "a number from 0 to 720"),
    ("overall", "10,5", "from 0 to 10"),
    ("date", "5/3/2026", "05.03.2026"),
    ("date", "05.03.26", "four digits"),
    ("date", "31.02.2026", "in the calendar"),
    ("date", "03.25.2026", "in the calendar"),
    ("date", "5. März", "05.03.2026"),
    ("waterlogged", "WAHR", "true or false"),
])
def test_what_could_mean_two_things_is_a_fault(semicolons: Callable[..., Path], empty_book: Logbook, column: str,
                                               text: str, want: str) -> None:
    row = {"date": "05.03.2026", "reed": "1-01", "play_min": "20", "overall": "7", "waterlogged": ""}
    row |= {column: text}
    folder = semicolons(";".join(row) + "\n" + ";".join(row.values()) + "\n")
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, empty_book, decimal_comma=True)
    assert [(f.file, f.line, f.column) for f in err.value.faults] == [("sittings.csv", 2, column)]
    assert want in err.value.faults[0].wanted


def test_one_csv_file_alone_is_read(book: Logbook, tmp_path: Path) -> None:
    (tmp_path / "days.csv").write_text("date;humidity_pct\n09.03.2026;45,5\n", encoding="utf-8-sig")
    (tmp_path / "other.csv").write_text("not mine")
    assert import_folder(tmp_path / "days.csv", book, decimal_comma=True).added["days"] == 1
    with pytest.raises(ExchangeError, match="unknown name"):
        import_folder(tmp_path / "other.csv", book)
