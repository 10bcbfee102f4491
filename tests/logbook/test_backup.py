"""A dated copy before the first entry of a day; the last fourteen are kept."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from reedlab.errors import EntryRefused, LogbookError
from reedlab.logbook import Logbook
from reedlab.records import Box, Day

from .conftest import Clock


def copies(book: Logbook) -> list[str]:
    folder = book.path.parent / "backups"
    return sorted(p.name for p in folder.iterdir()) if folder.exists() else []


def test_copy_holds_what_was_there_before_the_days_first_entry(book: Logbook, clock: Clock) -> None:
    n = len(book.frame("days"))
    book.add(Day(date=date(2026, 3, 20)))
    book.add(Day(date=date(2026, 3, 19)))
    assert copies(book) == ["reeds-2026-03-20.sqlite"]
    with Logbook.open(book.path.parent / "backups" / copies(book)[0], read_only=True) as copy:
        assert len(copy.frame("days")) == n
        assert copy.check() == []


def test_reading_a_refused_entry_and_a_new_logbook_make_no_copy(book: Logbook, empty_book: Logbook) -> None:
    book.frames()
    with pytest.raises(EntryRefused):
        book.add(Day(date=date(2026, 3, 21)))
    empty_book.add(Box(box="1", instrument="clarinet"))
    assert copies(book) == []


def test_last_fourteen_days_are_kept_and_other_files_left_alone(book: Logbook, clock: Clock) -> None:
    folder = book.path.parent / "backups"
    folder.mkdir()
    for name in ("reeds-mine.sqlite", "other-2020-01-01.sqlite", "reeds-2020-01-01-version-1.sqlite"):
        (folder / name).write_text("kept")
    for n in range(20):
        clock.now = datetime(2026, 3, 20, 12) + timedelta(days=n)
        book.put(Day(date=clock.now.date(), humidity_pct=40))
    daily = [c for c in copies(book) if c.startswith("reeds-2026")]
    assert daily == [f"reeds-{date(2026, 3, 26) + timedelta(days=n)}.sqlite" for n in range(14)]
    assert len(copies(book)) == 14 + 3


def test_copy_that_cannot_be_made_stops_the_entry(book: Logbook) -> None:
    (book.path.parent / "backups").write_text("a file in the way")
    before = book.path.read_bytes()
    with pytest.raises(LogbookError, match="Nothing was saved"):
        book.add(Day(date=date(2026, 3, 20)))
    assert book.path.read_bytes() == before


def test_no_half_made_copy_is_left(book: Logbook, tmp_path: Path) -> None:
    book.add(Day(date=date(2026, 3, 20)))
    assert not [c for c in copies(book) if c.endswith(".part")]
