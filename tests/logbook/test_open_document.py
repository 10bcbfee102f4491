"""A spreadsheet in the open document format is read as the .xlsx one; a time kept as a part of a day is asked about."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder

from ..errands._diaries import ods

DAY = date(2026, 3, 12)


@pytest.fixture
def with_reeds(empty_book: Logbook, hand: Callable[..., Path]) -> Logbook:
    import_folder(hand(), empty_book)
    return empty_book


def sheet(tmp_path: Path, *rows: list[Any]) -> Path:
    path = tmp_path / "filled.ods"
    path.write_bytes(ods([["Date", "Reed", "Minutes played", "Overall, 0 to 10"], *rows], title="sittings"))
    return path


def test_it_is_read_with_the_players_own_words_as_titles(tmp_path: Path, with_reeds: Logbook) -> None:
    before = len(with_reeds.frame("sittings"))
    report = import_folder(sheet(tmp_path, [DAY, "1-01", 45, 6.5], [DAY, "1-02", 20, None]), with_reeds)
    assert report.added["sittings"] == 2
    new = with_reeds.frame("sittings").iloc[before:]
    first = next(new.itertuples())
    assert (first.reed, first.play_min, first.overall) == ("1-01", 45, 6.5)


def test_what_would_be_misread_is_named_by_cell(tmp_path: Path, with_reeds: Logbook) -> None:
    rows = ([DAY, "1-01", timedelta(minutes=45), 6], [46086.0, "1-01", 20, 6], [DAY, "1-01", DAY, 6],
            [DAY, "1-01", 0.03125, 6])
    with pytest.raises(ExchangeError) as bad:
        import_folder(sheet(tmp_path, *rows), with_reeds)
    assert [(f.cell, f.found.split("(")[0].strip()) for f in bad.value.faults] == [
        ("C2", "a time of day or a length of time"), ("A3", "the number 46086"), ("C4", "the date 2026-03-12"),
        ("C5", "0.03125, a part of a day as spreadsheets keep a time")]
    assert "Is it 45?" in bad.value.faults[3].wanted


def test_a_part_of_a_day_is_asked_about_in_csv_too(tmp_path: Path, with_reeds: Logbook) -> None:
    path = tmp_path / "sittings.csv"
    path.write_text("date,reed,play_min\n2026-03-12,1-01,0.03125\n", encoding="utf8")
    with pytest.raises(ExchangeError, match="Is it 45"):
        import_folder(path, with_reeds)
    path.write_text("date,reed,play_min\n2026-03-12,1-01,0.5\n", encoding="utf8")
    assert import_folder(path, with_reeds).added["sittings"] == 1


def test_a_torn_one_is_refused(tmp_path: Path, empty_book: Logbook) -> None:
    path = tmp_path / "torn.ods"
    path.write_bytes(b"PK\x03\x04")
    with pytest.raises(ExchangeError, match="cannot be read"):
        import_folder(path, empty_book)
