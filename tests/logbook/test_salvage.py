"""Of a damaged logbook what is sound is read, what is lost is named, and nothing is written into it."""

from __future__ import annotations

import sqlite3
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from reedlab.errors import LogbookError, ReedlabWarning
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Sitting
from reedlab.rows.tables import TABLES

from .test_seals import behind_its_back


def opened(path: Path) -> Logbook:
    return Logbook.open(path, read_only=True)


def test_changed_entry_is_left_out_and_named_and_the_rest_is_read(book: Logbook) -> None:
    good = book.frames()
    book.close()
    behind_its_back(book.path, "UPDATE sittings SET overall = 6 WHERE entry_id = 3")
    before = book.path.read_bytes()
    with opened(book.path) as again:
        with pytest.warns(ReedlabWarning, match="sittings: entry 3, written down about 2026-03-19, no longer says"):
            now = again.frames()
        assert again.check()[:-1] == again.lost
        assert "Earlier copies" in again.check()[-1]
        assert len(again.lost) == 1
    for table in set(TABLES) - {"sittings"}:
        pd.testing.assert_frame_equal(getattr(now, table), getattr(good, table))
    assert set(good.sittings["entry_id"]) - set(now.sittings["entry_id"]) == {3}
    assert book.path.read_bytes() == before


def broken_page(book: Logbook) -> int:
    """Overwrite one page of many in the table of boxes; return how many boxes there were."""
    book.add_many([Box(box=f"b{n}", instrument="clarinet", remark="x" * 300) for n in range(200)])
    book.close()
    raw = sqlite3.connect(book.path)
    root = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = 'boxes'").fetchone()[0]
    raw.close()
    data = bytearray(book.path.read_bytes())
    assert data[(root - 1) * 4096] == 5  # an inner page: its children hold the entries
    pages = [i for i in range(1, len(data) // 4096)
             if data[i * 4096] == 13 and b"xxxxxxxx" in data[i * 4096:(i + 1) * 4096]]
    at = pages[len(pages) // 2] * 4096
    data[at:at + 100] = b"\xa5" * 100
    book.path.write_bytes(bytes(data))
    return 202


def test_broken_page_loses_its_own_entries_alone(book: Logbook) -> None:
    n = broken_page(book)
    with pytest.warns(ReedlabWarning, match="boxes: some entries after entry"):
        again = opened(book.path)
    boxes = again.frame("boxes")
    assert n - 20 <= len(boxes) < n
    assert boxes["box"].iloc[-1] == "b199"
    assert len(again.frame("reeds")) == 7
    assert any("boxes" in told for told in again.lost)
    again.close()


def test_table_that_is_gone_is_named_and_the_others_are_read(book: Logbook) -> None:
    book.close()
    raw = sqlite3.connect(book.path)
    raw.execute("DROP VIEW current_days")
    raw.execute("DROP TABLE days")
    raw.close()
    with pytest.raises(LogbookError, match="is damaged"):
        Logbook.open(book.path)
    with pytest.warns(ReedlabWarning, match="days: the first entries, or all"):
        again = opened(book.path)
    assert len(again.frame("sittings")) == 4
    assert len(again.frame("days")) == 0
    again.close()


def test_damaged_logbook_takes_no_entry(book: Logbook) -> None:
    broken_page(book)
    before = book.path.read_bytes()
    with pytest.raises(LogbookError, match="is damaged"), Logbook.open(book.path, now=book._now) as again:
        again.add(Sitting(date=date(2026, 3, 20), reed="1-01", play_min=10))
    assert book.path.read_bytes() == before


def test_words_that_are_no_text_any_more_are_no_program_error(book: Logbook) -> None:
    book.close()
    data = book.path.read_bytes()
    assert data.count("ü, “so”; = 1".encode()) == 1
    book.path.write_bytes(data.replace("ü, “so”; = 1".encode(), b"\xff" + "ü, “so”; = 1".encode()[1:]))
    with opened(book.path) as again, pytest.warns(ReedlabWarning, match="sittings: entry 4"):
        assert len(again.frame("sittings")) == 3


def test_message_uses_no_word_of_databases(book: Logbook) -> None:
    broken_page(book)
    with pytest.warns(ReedlabWarning) as told:
        again = opened(book.path)
    said = "\n".join([str(w.message) for w in told] + again.check())
    again.close()
    for word in ("SQL", "PRAGMA", "WAL", "database", "malformed", "journal", "btree", "rowid", "NULL"):
        assert word.casefold() not in said.casefold()
