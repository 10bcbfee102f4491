"""From files with an old diary to a hint and a fair trial; the logbook stays as it was. All diaries are invented."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from reedlab.errands.read_diary import read_diary
from reedlab.errors import ExchangeError, InputError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder
from reedlab.plan.own_world import world_for
from reedlab.rows.records import Retirement

FIRST, TODAY = date(2025, 11, 3), date(2026, 2, 1)


def write_diary(folder: Path, *, days: int = 20, box: str = "box,instrument\n1,clarinet\n") -> Path:
    """Write a folder of three files: two reeds a day, water and mouth by turns."""
    folder.mkdir()
    rng = np.random.default_rng(4)
    lines = ["date,reed,play_min,overall,habit"]
    for d in range(days):
        for k in range(2):
            reed = f"1-{1 + (d // 2 + k) % 5:02d}"
            rating = rng.integers(8, 17) / 2
            lines.append(f"{FIRST + timedelta(days=d)},{reed},30,{rating:g},{('water', 'mouth')[d % 2]}")
    (folder / "sittings.csv").write_text("\n".join(lines) + "\n")
    (folder / "boxes.csv").write_text(box)
    (folder / "reeds.csv").write_text("reed,box\n" + "".join(f"1-{n:02d},1\n" for n in range(1, 6)))
    return folder


def as_spreadsheet(folder: Path, path: Path) -> Path:
    book = openpyxl.Workbook()
    for name in ("boxes", "reeds", "sittings"):
        sheet = book.create_sheet(name)
        for row in csv.reader((folder / f"{name}.csv").read_text().splitlines()):
            sheet.append(row)
    book.save(path)
    return path


@pytest.fixture
def logbook(tmp_path: Path) -> Path:
    path = tmp_path / "reeds.logbook"
    with Logbook.create(path) as book:
        import_folder(write_diary(tmp_path / "diary"), book)
    return path


@pytest.mark.parametrize("kind", ["folder", "spreadsheet"])
def test_three_files_or_one_spreadsheet_are_enough(tmp_path: Path, kind: str) -> None:
    source = write_diary(tmp_path / "diary")
    if kind == "spreadsheet":
        source = as_spreadsheet(source, tmp_path / "diary.xlsx")
    with Logbook.create(tmp_path / "reeds.logbook") as book:
        report = import_folder(source, book)
        assert str(report) == "Read in: 1 box, 5 reeds, 40 sittings."
        rows = book.frame("sittings")
    assert rows["habit"].value_counts().to_dict() == {"water": 20, "mouth": 20}
    assert len(rows.dropna(subset="overall")) == 40


def test_a_way_with_a_space_in_it_is_named_with_its_line(tmp_path: Path) -> None:
    folder = write_diary(tmp_path / "diary")
    file = folder / "sittings.csv"
    file.write_text(file.read_text().replace("30,", "30,", 1).replace(",mouth\n", ",in mouth\n", 1))
    wrong = pytest.raises(ExchangeError, match="line 4, column `habit`")
    with Logbook.create(tmp_path / "reeds.logbook") as book, wrong:
        import_folder(folder, book)


def test_a_diary_gives_a_hint_and_the_fair_trial_and_writes_nothing(logbook: Path) -> None:
    before = logbook.read_bytes()
    with Logbook.open(logbook, read_only=True) as book:
        found = read_diary(book, "wetting", today=TODAY, trials=50)
        _, own = world_for(book.frames())
    assert logbook.read_bytes() == before
    assert found.hint.to_dict()["verdict"] == "hint_only"
    text = found.to_text()
    assert "40 ratings of 5 reeds, over 20 days" in text
    told = dict(found.hint.folds)["What was read?"]
    assert "With wetting in the mouth: 20 ratings of 5 reeds, on 10 days from 4 November 2025" in told
    assert "With wetting in water: 20 ratings of 5 reeds, on 10 days from 3 November 2025" in told
    assert told.split(". ")[0] in found._repr_html_()
    assert found.plans.reeds_at_hand == 5
    assert found.plans.minutes_a_day == 5 * round(own["minutes_a_day"].value / 5)
    assert "With your 5 reeds" in " ".join(found.advice)
    assert f"taken from {own.ratings} ratings of {own.reeds} reeds" in found.advice[-1]
    assert "This diary brings 40 ratings of 5 reeds" in found.advice[-1]
    assert "reeds at hand for clarinet" in found.advice[0]


def test_where_no_reed_is_left_the_fair_trial_is_for_a_new_box(logbook: Path) -> None:
    with Logbook.open(logbook) as book:
        last = book.frame("sittings")["date"].max().date()
        for n in range(1, 6):
            book.add(Retirement(reed=f"1-{n:02d}", date=last, reason="given_away"))
        found = read_diary(book, "wetting", today=TODAY, trials=50)
    assert "a new box of ten" in found.advice[0]
    assert found.plans.reeds_at_hand == 10


def test_an_empty_logbook_says_what_is_missing(tmp_path: Path) -> None:
    with Logbook.create(tmp_path / "reeds.logbook") as book, pytest.raises(InputError, match="column `habit` is empty"):
        read_diary(book, today=TODAY)


def test_life_in_hours_is_read_where_reeds_were_worn_out(tmp_path: Path) -> None:
    folder = write_diary(tmp_path / "diary")
    lines = ["date,reed,play_min,habit"]
    for n in range(1, 6):
        lines += [f"{FIRST + timedelta(days=d)},1-{n:02d},60,{('open', 'straight')[n % 2]}" for d in range(5 + 2 * n)]
    (folder / "sittings.csv").write_text("\n".join(lines) + "\n")
    (folder / "retirements.csv").write_text("reed,date,reason\n" + "".join(
        f"1-{n:02d},{FIRST + timedelta(days=5 + 2 * n)},worn_out\n" for n in range(1, 5)))
    with Logbook.create(tmp_path / "reeds.logbook") as book:
        import_folder(folder, book)
        found = read_diary(book, today=TODAY, life=True, trials=50)
    assert found.hint.to_dict()["outcome"] == "life_hours"
    assert found.hint.to_dict()["events"] == [2, 2]
    assert "too thin to tell" in found.advice[-1]
