"""Folders that are shared, locked or changed underneath; clocks that jump."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from reedlab.cli import main
from reedlab.errands.book import Book
from reedlab.errors import InputError
from reedlab.folder.filing import write_file, write_folder
from reedlab.forms.start_page.form import StartForm
from reedlab.logbook import Logbook
from reedlab.logbook.beside import other_copies
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.rows.records import Box, Day

CONFLICTED = ("reeds (conflicted copy 2026-03-01).logbook", "reeds.sync-conflict-20260301-120000-ABCDEFG.logbook",
              "reeds-LAPTOP.logbook", "reeds (1).logbook", "REEDS_conflict.LOGBOOK")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, remark in (("reeds.logbook", "mine"), *((n, "the other's") for n in CONFLICTED)):
        with Logbook.create(tmp_path / name) as book:
            book.add(Box(box="1", instrument="clarinet", remark=remark))
    (tmp_path / "other.logbook").write_bytes(b"")
    (tmp_path / "reeds.txt").write_text("x")
    return tmp_path


def test_a_conflicted_copy_beside_the_logbook_is_named_and_not_used(folder: Path,
                                                                   capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "reeds.logbook"
    assert {p.name for p in other_copies(path)} == set(CONFLICTED)
    page = StartForm(Book.here(path)).where.value
    assert main(["check", str(path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    for name in CONFLICTED:
        assert f"Beside your logbook lies another: {name}." in page
        assert f"Beside your logbook lies another: {name}." in told
    with Logbook.open(path, read_only=True) as book:
        assert list(book.frame("boxes")["remark"]) == ["mine"]


def test_what_the_other_copy_holds_can_be_brought_in_as_it_is_told(folder: Path, tmp_path: Path) -> None:
    path, other = folder / "reeds.logbook", folder / CONFLICTED[0]
    with Logbook.open(other) as book:
        book.withdraw("boxes", 1)
        book.add(Day(date=date(2026, 3, 1), humidity_pct=40))
    with Logbook.open(other, read_only=True) as book:
        export_folder(book, tmp_path / "other-copy")
    with Logbook.open(path) as book:
        assert import_folder(tmp_path / "other-copy", book).added["days"] == 1


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="folders of another kind")
def test_a_folder_that_may_only_be_read_is_said_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "page.html").write_text("good")
    if os.geteuid() == 0:  # to whom nothing is forbidden

        def refuse(*args: object, **more: object) -> tuple[int, str]:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr("tempfile.mkstemp", refuse)
        monkeypatch.setattr("tempfile.mkdtemp", refuse)
    else:
        tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="you may not write there"):
        write_file(tmp_path / "page.html", "new")
    with pytest.raises(InputError, match="you may not write there"):
        write_folder(tmp_path / "out", lambda made: None, ours=lambda name: True)
    tmp_path.chmod(0o700)
    assert (tmp_path / "page.html").read_text() == "good"


def test_a_file_changed_underneath_while_it_is_read_is_taken_whole_or_not_at_all(tmp_path: Path) -> None:
    """Who has the old file open goes on reading the old one to its end."""
    path = tmp_path / "page.html"
    write_file(path, "old" * 10_000)
    with path.open() as reading:
        first = reading.read(10)
        write_file(path, "new" * 10_000)
        assert first + reading.read() == "old" * 10_000
    assert path.read_text() == "new" * 10_000


def test_a_clock_set_back_keeps_the_order_of_entries(tmp_path: Path) -> None:
    moment = [datetime(2031, 5, 1, 20, tzinfo=UTC)]
    with Logbook.create(tmp_path / "reeds.logbook", now=lambda: moment[0]) as book:
        first = book.add(Box(box="1", instrument="clarinet", remark="early"))
        moment[0] = datetime(2026, 3, 1, 20, tzinfo=UTC)
        book.correct("boxes", first, Box(box="1", instrument="clarinet", remark="late"))
        assert list(book.frame("boxes")["remark"]) == ["late"]
        assert len(book.history("boxes", first)) == 2
        assert book.check() == []
        export_folder(book, tmp_path / "out")
    with Logbook.create(tmp_path / "again.logbook", now=lambda: moment[0] + timedelta(days=3000)) as again:
        import_folder(tmp_path / "out", again)
        assert list(again.frame("boxes")["remark"]) == ["late"]


# The nights on which clocks are changed in 2026: a day of 23 hours and one of 25, north and south of the equator.
CHANGES = [("Europe/Vienna", date(2026, 3, 29)), ("Europe/Vienna", date(2026, 10, 25)),
           ("America/New_York", date(2026, 3, 8)), ("America/New_York", date(2026, 11, 1)),
           ("Australia/Lord_Howe", date(2026, 4, 5)), ("Australia/Lord_Howe", date(2026, 10, 4))]


@pytest.mark.parametrize(("zone", "night"), CHANGES)
def test_an_entry_of_the_night_the_clocks_change_is_of_its_own_day(zone: str, night: date, tmp_path: Path) -> None:
    here = ZoneInfo(zone)
    before, after = (datetime(night.year, night.month, night.day, h, 30, tzinfo=here) for h in (0, 23))
    assert (after.astimezone(UTC) - before.astimezone(UTC)) != timedelta(hours=23), "the clocks are changed"
    for number, moment in enumerate((before, after)):
        with Logbook.create(tmp_path / f"{number}.logbook", now=lambda moment=moment: moment) as book:
            assert book.today == night
            book.add(Day(date=night))
            assert book.check() == []
            written = book.frame("days")["entered_at"].iloc[0]
            assert datetime.fromisoformat(str(written)) == moment.astimezone(UTC)
            with pytest.raises(InputError, match="today"):
                book.add(Day(date=night + timedelta(days=1)))


