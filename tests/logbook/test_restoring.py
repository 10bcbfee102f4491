"""The way back to a copy: what each holds and lacks is told, nothing is deleted, a logbook is there at every moment."""

from __future__ import annotations

import os
import sqlite3
import threading
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from reedlab import forms
from reedlab.cli import main
from reedlab.errors import InputError, LogbookError
from reedlab.forms import Book
from reedlab.forms.shared.restore_form import RestoreForm
from reedlab.logbook import Logbook, opening
from reedlab.logbook.restoring import copies, restore
from reedlab.rows.records import Day

from .conftest import Clock
from .test_beginning import killed_writer


@pytest.fixture
def kept(book: Logbook, clock: Clock) -> Path:
    """A logbook with copies of three days; each day two entries more."""
    for n in range(3):
        clock.now = datetime(2026, 3, 20, 12) + timedelta(days=n)
        book.put(Day(date=clock.now.date(), humidity_pct=40))
        book.put(Day(date=date(2026, 2, 1) + timedelta(days=n), humidity_pct=40))
    book.close()
    return book.path


def spoil(path: Path) -> None:
    raw = bytearray(path.read_bytes())
    for page in range(1, len(raw) // 4096):
        raw[page * 4096: page * 4096 + 64] = b"\xa5" * 64
    path.write_bytes(bytes(raw))


def days_in(path: Path) -> int:
    with Logbook.open(path, read_only=True) as book:
        assert book.check() == []
        return len(book.frame("days"))


def test_copies_are_told_with_what_they_hold_and_lack(kept: Path) -> None:
    found = copies(kept)
    assert [(c.name, dict(c.lacks), c.last) for c in found] == [
        ("2026-03-22", {"days": 2}, "2026-03-21"), ("2026-03-21", {"days": 4}, "2026-03-20"),
        ("2026-03-20", {"days": 6}, "2026-03-19")]
    assert found[0].entries == found[2].entries + 4
    assert found[0].told_lacks == "Left out would be 2 entries of now (2 in days)."


def test_copy_takes_the_place_and_the_logbook_is_kept(kept: Path) -> None:
    before = kept.read_bytes()
    aside = restore(kept, copies(kept)[1].path, now=datetime(2026, 3, 22, 20, 15))
    assert aside is not None
    assert aside.name == "reeds set aside 2026-03-22 201500.sqlite"
    assert aside.read_bytes() == before
    assert days_in(kept) == 4
    with Logbook.open(kept, now=Clock(datetime(2026, 3, 23, 12))) as book:
        book.put(Day(date=date(2026, 3, 23)))
    assert days_in(kept) == 5
    assert [c.name for c in copies(kept)] == ["2026-03-23", "2026-03-22", "2026-03-21", "2026-03-20"]
    assert kept.stat().st_mode & 0o777 == 0o600


def test_damaged_logbook_goes_aside_with_its_journal(kept: Path) -> None:
    killed_writer(kept)
    kept.write_bytes(b"\xa5" * 8192)
    journal = kept.with_name(kept.name + "-journal").read_bytes()
    aside = restore(kept, next(c.path for c in copies(kept) if c.name == "2026-03-22"))
    assert aside is not None
    assert aside.read_bytes() == b"\xa5" * 8192
    assert [p.read_bytes() for p in kept.parent.glob("reeds set aside *-journal")] == [journal]
    assert not kept.with_name(kept.name + "-journal").exists()
    assert days_in(kept) == 6


def test_damaged_copy_and_a_writer_at_work_change_nothing(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "WAIT_S", 0.05)
    first, second, _ = copies(kept)
    spoil(first.path)
    before = kept.read_bytes()
    assert copies(kept)[0].lost
    with pytest.raises(InputError, match="damaged itself"):
        restore(kept, first.path)
    other = sqlite3.connect(kept, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(LogbookError, match="Another program"):
        restore(kept, second.path)
    other.close()
    assert kept.read_bytes() == before
    assert not list(kept.parent.glob("*set aside*"))
    assert not list(kept.parent.glob(".*"))


def test_save_that_waits_while_a_copy_is_put_in_place_is_refused_or_kept(
        kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An open logbook whose file is exchanged while it waits for its turn writes into neither unseen."""
    book = Logbook.open(kept, now=Clock(datetime(2026, 3, 22, 13)))
    told: list[str] = []

    def save() -> None:
        try:
            book.put(Day(date=date(2026, 1, 1)))
            told.append("saved")
        except LogbookError as err:
            told.append(str(err))

    replace = os.replace

    def slow(a: Path, b: Path) -> None:
        if Path(b) == kept:
            thread.start()
            thread.join(0.3)
        replace(a, b)

    thread = threading.Thread(target=save)
    book._connection.close()
    book._connection = sqlite3.connect(kept, timeout=5, isolation_level=None, check_same_thread=False)
    monkeypatch.setattr(os, "replace", slow)
    restore(kept, copies(kept)[0].path)
    thread.join()
    book._connection.close()
    (said,) = told
    assert "Another file was put in the place" in said
    assert days_in(kept) == 6


def test_command_tells_first_and_acts_on_yes(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["restore", str(kept)]) == 0
    told = capsys.readouterr().out
    assert "Left out would be 2 entries of now" in told
    before = kept.read_bytes()
    assert main(["restore", str(kept), "--copy", "2026-03-22"]) == 0
    assert "--yes" in capsys.readouterr().out
    assert kept.read_bytes() == before
    assert main(["restore", str(kept), "--copy", "2026-03-22", "--yes"]) == 0
    assert "Nothing was deleted" in capsys.readouterr().out
    assert days_in(kept) == 6
    assert main(["restore", str(kept), "--copy", "2026-01-01", "--yes"]) == 2
    assert "There is no copy of 2026-01-01" in capsys.readouterr().err


def test_command_takes_a_folder_and_says_where_there_is_no_copy(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["restore", str(tmp_path)]) == 2
    assert "There are no copies" in capsys.readouterr().err


def test_page_goes_back_with_one_button(kept: Path) -> None:
    path = kept.with_name("reeds.logbook")
    kept.rename(path)
    for copy in (path.parent / "backups").iterdir():
        copy.rename(copy.with_suffix(".logbook"))
    spoil(path)
    form = forms.start(Book(path, lambda: date(2026, 3, 22)))
    way = form.restore  # type: ignore[attr-defined]
    assert isinstance(way, RestoreForm)
    way.more_button.value = True
    assert len(way.pick.options) == 4
    way.pick.put("2026-03-22")
    way.back.click()
    assert "Go back to the copy of 2026-03-22?" in way.message.value
    way._yes.click()
    assert "is your logbook now" in way.message.value
    assert "Nothing was deleted" in way.message.value
    assert days_in(path) == 6
    assert "Your logbook holds" in form.where.value  # type: ignore[attr-defined]
