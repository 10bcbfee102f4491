"""Spreadsheets handed out: what the one to fill in offers, and that a whole logbook comes back without loss."""

from __future__ import annotations

import io
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from reedlab.errors import InputError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.logbook.layout import named
from reedlab.logbook.workbook_out import export_workbook, to_fill_in
from reedlab.rows.records import Sitting
from reedlab.rows.tables import TABLES
from reedlab.trial.protocol import Habit

DAY = date(2026, 3, 9)


def opened(book: Logbook, **more: Any) -> Any:
    rows = [{"date": DAY, "order": 1, "reed": "1-01", "habit": "soak", "plan_min": 10.0}]
    return openpyxl.load_workbook(io.BytesIO(to_fill_in(book.frames(), rows, today=DAY, **more)))


def rules(sheet: Any) -> dict[str, Any]:
    titles = {c.column_letter: named(c.value) for c in sheet[1]}
    return {titles[str(r.sqref).split("2:")[0]]: r for r in sheet.data_validations.dataValidation}


def test_it_has_a_sheet_for_each_table_the_player_fills_and_prefilled_rows(book: Logbook) -> None:
    made = opened(book, habits=(Habit("lick", "a"), Habit("soak", "b")), days=[DAY])
    assert made.sheetnames == ["sittings", "days", "retirements", "help", "lists"]
    assert made["lists"].sheet_state == "hidden"
    for name in ("sittings", "days", "retirements"):
        titles = {named(c.value) for c in made[name][1]}
        assert titles <= {*TABLES[name].columns, "plan_min"}
        assert {f.name for f in TABLES[name].fields if f.required} <= titles
        assert made[name].freeze_panes is not None
    assert [c.value for c in made["sittings"][1]][:6] == ["Date", "Order", "Reed", "What you did", "Minutes planned",
                                                         "Minutes played"]
    row = {named(t.value): c for t, c in zip(made["sittings"][1], made["sittings"][2], strict=True)}
    assert row["date"].value.date() == DAY
    assert row["date"].number_format == "yyyy-mm-dd"
    assert row["reed"].number_format == "@"
    assert [row[c].value for c in ("reed", "habit", "plan_min", "play_min", "overall")] == [
        "1-01", "soak", 10, None, None]


def test_lists_offer_reeds_in_use_habits_and_choices_and_ranges_hold_numbers(book: Logbook) -> None:
    made = opened(book, habits=(Habit("lick", "a"), Habit("soak", "b")))
    found = rules(made["sittings"])
    lists = {c[0].value: [x.value for x in c[1:] if x.value] for c in made["lists"].columns}
    assert lists["reed"] == ["1-01", "1-02", "1-03", "1-04", "1-05", "2-01"]  # 1-06 left service
    assert found["reed"].formula1 == "lists!$A$2:$A$7"
    assert found["habit"].type == "list"
    assert found["waterlogged"].formula1 == '"yes,no"'
    assert (found["overall"].type, found["overall"].formula1, found["overall"].formula2) == ("decimal", "0", "10")
    assert (found["stiffness"].formula1, found["stiffness"].formula2) == ("-3", "3")
    assert found["date"].type == "date"
    assert rules(made["retirements"])["reason"].formula1 == (
        '"worn_out,damaged,mouldy,lost,given_away,by_choice"')
    # A spreadsheet program shows at most 255 characters of a list, a prompt or an error.
    assert all(len(str(t or "")) <= 255 for r in found.values() for t in (r.formula1, r.prompt, r.error))


def test_with_a_helper_the_habit_is_no_column(book: Logbook) -> None:
    assert "habit" not in {named(c.value) for c in opened(book)["sittings"][1]}


def test_whole_logbook_comes_back_from_a_spreadsheet_without_loss(
        book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    book.add(Sitting(date=date(2026, 3, 8), reed="1-01", play_min=3, remark="=SUM(A1:A2)"))
    book.add(Sitting(date=date(2026, 3, 8), reed="1-01", play_min=0.1 + 0.2, remark="007 and +1 and _x0041_"))
    export_workbook(book, tmp_path / "all.xlsx")
    import_folder(tmp_path / "all.xlsx", empty_book)
    export_folder(book, tmp_path / "one")
    export_folder(empty_book, tmp_path / "two")
    files = sorted(p.relative_to(tmp_path / "one") for p in (tmp_path / "one").rglob("*") if p.is_file())
    assert len(files) > 8
    assert [f for f in files if (tmp_path / "one" / f).read_bytes() != (tmp_path / "two" / f).read_bytes()] == []


def test_plan_longer_than_a_cell_is_kept_in_parts(
        book: Logbook, empty_book: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reedlab.logbook.workbook_out._PART", 100)
    export_workbook(book, tmp_path / "all.xlsx")
    import_folder(tmp_path / "all.xlsx", empty_book)
    assert empty_book.protocol("wetting") == book.protocol("wetting")


def test_a_file_that_is_there_is_never_written_over(book: Logbook, tmp_path: Path) -> None:
    shutil.copy(book.path, tmp_path / "all.xlsx")
    with pytest.raises(InputError, match="there already"):
        export_workbook(book, tmp_path / "all.xlsx")
    assert (tmp_path / "all.xlsx").read_bytes() == book.path.read_bytes()
