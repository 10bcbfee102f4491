"""A dated copy before the first entry of a day; the last fourteen are kept."""

from __future__ import annotations

import os
from datetime import date, datetime, timedelta

import pytest

from reedlab.errors import EntryRefused, LogbookError, ReedlabWarning
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Day

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


def test_entry_is_saved_with_a_warning_where_the_copy_cannot_be_made(book: Logbook) -> None:
    (book.path.parent / "backups").write_text("a file in the way")
    with pytest.warns(ReedlabWarning, match="copy could not be put into"):
        book.add(Day(date=date(2026, 3, 20)))
    assert len(book.frame("days")) == 3
    (told,) = book.warned
    assert "The day's copy could not be put into" in told


def test_nothing_half_made_is_left_and_litter_goes(book: Logbook, clock: Clock) -> None:
    folder = book.path.parent / "backups"
    folder.mkdir()
    for name in (".reeds-2026-03-01.sqlite.0a.part", "reeds-2026-03-01.sqlite.part", ".reeds-x.sqlite.1.part-journal"):
        (folder / name).write_text("half")
        os.utime(folder / name, (1e9, 1e9))
    book.add(Day(date=date(2026, 3, 20)))
    assert copies(book) == ["reeds-2026-03-20.sqlite"]


def test_copies_of_a_clock_that_ran_ahead_are_the_first_to_go(book: Logbook, clock: Clock) -> None:
    """Twenty days in 2031, then true days in 2026: the copies made last are kept, whatever their dates say."""
    for start, n in ((datetime(2031, 1, 1, 12), 20), (datetime(2026, 3, 20, 12), 10)):
        for k in range(n):
            clock.now = start + timedelta(days=k)
            book.put(Day(date=date(2026, 3, 1) + timedelta(days=k), humidity_pct=40 + n + k))
            assert f"reeds-{clock.now.date()}.sqlite" in copies(book)
    kept = [*(date(2026, 3, 20) + timedelta(days=k) for k in range(10)),
            *(date(2031, 1, 1) + timedelta(days=k) for k in range(16, 20))]
    assert copies(book) == [f"reeds-{day}.sqlite" for day in kept]


def test_copies_and_logbook_are_for_their_owner_alone(book: Logbook, clock: Clock) -> None:
    book.path.chmod(0o644)
    book.close()
    with Logbook.open(book.path, now=clock) as again:
        again.add(Day(date=date(2026, 3, 20)))
    for path in (book.path, *(book.path.parent / "backups").iterdir()):
        assert path.stat().st_mode & 0o777 == 0o600


def test_damaged_logbook_is_not_copied_over_the_sound_copies(book: Logbook, clock: Clock) -> None:
    book.add(Day(date=date(2026, 3, 20)))
    clock.now += timedelta(days=1)
    book.frames()
    raw = bytearray(book.path.read_bytes())
    raw[-4096:] = b"\xa5" * 4096
    book.path.write_bytes(bytes(raw))
    with pytest.raises(LogbookError, match="is damaged"):
        book.add(Day(date=date(2026, 3, 21)))
    assert copies(book) == ["reeds-2026-03-20.sqlite"]


def test_entry_is_on_the_disk_before_it_is_acknowledged(book: Logbook) -> None:
    assert book._connection.execute("PRAGMA synchronous").fetchone() == (3,)  # EXTRA: the journal's end too
