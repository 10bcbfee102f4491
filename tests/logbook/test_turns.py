"""One's turn at a logbook comes soon after it is free, and a file that is known is not looked through again."""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from datetime import date
from pathlib import Path

import pytest

from reedlab.errors import LogbookError
from reedlab.logbook import Logbook, opening
from reedlab.rows.records import Day

DAY = Day(date=date(2026, 3, 10), humidity_pct=50)


def _lag(path: Path, held_s: float, read_only: bool) -> float:
    """Return how long after another program's turn a logbook is open that was asked for meanwhile."""
    held, free = threading.Event(), [0.0]

    def hold() -> None:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN EXCLUSIVE")
        held.set()
        time.sleep(held_s)
        free[0] = time.perf_counter()
        other.execute("ROLLBACK")
        other.close()

    one = threading.Thread(target=hold)
    one.start()
    held.wait()
    Logbook.open(path, read_only=read_only).close()
    at = time.perf_counter()
    one.join()
    return at - free[0]


@pytest.mark.parametrize("read_only", [True, False])
def test_a_logbook_opens_soon_after_it_is_free(book: Logbook, read_only: bool) -> None:
    # SQLite's own waiting would sleep on until 428 ms after it began
    assert min(_lag(book.path, 0.345, read_only) for _ in range(4)) < 0.05


def _checks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return a list that grows with every statement which looks through a file."""
    asked: list[str] = []
    real = opening.bare

    def bare(path: Path) -> sqlite3.Connection:
        connection = real(path)
        connection.set_trace_callback(lambda sql: asked.append(sql) if "_check" in sql else None)
        return connection

    monkeypatch.setattr(opening, "bare", bare)
    return asked


def test_a_file_known_as_it_stands_is_not_looked_through_again(
        book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = _checks(monkeypatch)
    for n in range(3):
        with Logbook.open(book.path) as again:
            again.put(Day(date=DAY.date, humidity_pct=50 + n))
    assert len(asked) <= 1


def test_a_file_that_another_has_changed_is_looked_through(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    Logbook.open(book.path).close()
    asked = _checks(monkeypatch)
    other = sqlite3.connect(book.path)
    other.execute("CREATE TABLE other (n)")
    other.commit()
    other.close()
    Logbook.open(book.path).close()
    assert len(asked) == 1


def test_a_save_beside_anothers_leaves_the_file_unknown(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    Logbook.open(book.path).close()
    asked = _checks(monkeypatch)
    with Logbook.open(book.path) as mine:
        other = sqlite3.connect(book.path)
        other.execute("CREATE TABLE other (n)")
        other.commit()
        other.close()
        mine.put(DAY)
    Logbook.open(book.path).close()
    assert len(asked) == 1


def test_a_file_spoilt_after_a_save_is_refused(book: Logbook) -> None:
    book.put(DAY)
    book.close()
    Logbook.open(book.path).close()
    with sqlite3.connect(book.path) as raw:
        page, size = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = 'days'").fetchone()[0], 4096
    raw.close()
    time.sleep(0.02)  # a file's time of change moves on in steps of up to 10 ms
    handle = os.open(book.path, os.O_RDWR)  # never closed: closing would take this process's locks away
    os.pwrite(handle, b"\xff" * 64, (page - 1) * size)
    with pytest.raises(LogbookError, match="damaged"):
        Logbook.open(book.path).close()
