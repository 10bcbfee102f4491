"""The schema is strict, has a version, and older files are brought forward."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from reedlab.errors import LogbookError
from reedlab.logbook import Logbook, schema
from reedlab.rows.records import Concert, Guess, Sitting, Weekday
from reedlab.rows.tables import TABLES

from .conftest import Clock

#: A change of the tables needs a new version with its step forward: then change this line too.
FINGERPRINT = {6: "437fe0f041cf96aa"}


def test_tables_have_not_changed_without_a_new_version() -> None:
    text = "\n".join(schema.table_sql(t) for t in TABLES.values())
    assert {schema.VERSION: hashlib.sha256(text.encode()).hexdigest()[:16]} == FINGERPRINT


def old_file(folder: Path, version: int = 1) -> Path:
    path = folder / "old.sqlite"
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.executescript((Path(__file__).parent / f"version_{version}.sql").read_text(encoding="utf-8"))
    raw.close()
    return path


def schema_of(path: Path) -> list[tuple[str, ...]]:
    raw = sqlite3.connect(path)
    rows = [tuple(" ".join(str(c).split()) for c in r)
            for r in raw.execute("SELECT type, name, sql FROM sqlite_master "
                                 "WHERE name NOT LIKE 'sqlite_%' ORDER BY 1, 2")]
    raw.close()
    return rows


def test_version_1_is_brought_forward_with_its_entries_and_a_copy(tmp_path: Path, clock: Clock) -> None:
    path = old_file(tmp_path)
    before = path.read_bytes()
    with Logbook.open(path, now=clock) as book:
        assert book.frame("sittings")["play_min"].tolist() == [15]
        assert len(book.history("sittings", 1)) == 2
        book.add(Sitting(date=date(2026, 3, 19), reed="1-01", play_min=9))
        assert book.check() == []
    new = tmp_path / "new.sqlite"
    Logbook.create(new).close()
    assert schema_of(path) == schema_of(new)
    copy = tmp_path / "backups" / "old-2026-03-20-version-1.sqlite"
    with Logbook.open(copy, read_only=True) as old:
        assert len(old.frame("sittings")) == 1
    assert copy.stat().st_size == len(before)


def test_version_2_is_brought_forward_entry_by_entry(tmp_path: Path, clock: Clock, book: Logbook) -> None:
    """The file holds the very entries of the fixture `book`, written by version 2."""
    path = old_file(tmp_path, 2)
    with Logbook.open(path, now=clock) as old:
        assert old.check() == []
        for table in set(TABLES) - {"week", "concerts", "guesses", "deals"}:
            pd.testing.assert_frame_equal(old.frame(table), book.frame(table))
            for entry in book.frame(table)["entry_id"]:
                pd.testing.assert_frame_equal(old.history(table, entry), book.history(table, entry))
        assert not old.frame("sittings")["confirmed"].any()
        last = int(old.frame("sittings")["entry_id"].iloc[-1])
        old.correct("sittings", last, Sitting(date=date(2026, 3, 6), reed="1-05", play_min=60, confirmed=True))
        old.add_many([Weekday(weekday="monday", play_min=0), Concert(date=date(2026, 5, 1), play_min=90),
                      Guess(trial="wetting", unit="s1-1", habit=None, date=date(2026, 3, 7))])
        assert old.check() == []
    new = tmp_path / "new.sqlite"
    Logbook.create(new).close()
    assert schema_of(path) == schema_of(new)
    assert (tmp_path / "backups" / "old-2026-03-20-version-2.sqlite").exists()


def test_entries_copied_to_version_3_still_cannot_be_changed(tmp_path: Path, clock: Clock) -> None:
    path = old_file(tmp_path, 2)
    Logbook.open(path, now=clock).close()
    raw = sqlite3.connect(path)
    for change in ("UPDATE sittings SET overall = 9", "DELETE FROM sittings"):
        with pytest.raises(sqlite3.DatabaseError):
            raw.execute(change)
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):  # an entry is superseded once
        raw.execute("INSERT INTO sittings (entered_at, sha256_before, sha256, supersedes, date, reed, play_min, "
                    "waterlogged, from_memory, unsure_reed, confirmed) "
                    "VALUES ('t', zeroblob(32), zeroblob(32), 1, 'd', '1-01', 1, 0, 0, 0, 0)")
    raw.close()


def test_version_1_is_read_without_changing_a_byte(tmp_path: Path) -> None:
    path = old_file(tmp_path)
    before = path.read_bytes()
    with Logbook.open(path, read_only=True) as book:
        assert book.frame("sittings")["play_min"].tolist() == [15]
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["old.sqlite"]


def test_a_table_that_is_as_it_should_be_is_left_alone(tmp_path: Path, full_file: Path) -> None:
    """As version 5 left it, without the column that came after: seals and other tables stay as they are."""
    shutil.copy(full_file, tmp_path / "x.sqlite")
    with closing(sqlite3.connect(tmp_path / "x.sqlite", isolation_level=None)) as raw:
        seals = raw.execute("SELECT entry_id, sha256 FROM sittings ORDER BY entry_id").fetchall()
        raw.executescript("DROP VIEW current_sittings; ALTER TABLE sittings DROP COLUMN preference;"
                          "PRAGMA user_version = 5")
        asked: list[str] = []
        raw.set_trace_callback(asked.append)
        schema.migrate(raw)
        raw.set_trace_callback(None)
        assert raw.execute("SELECT entry_id, sha256 FROM sittings ORDER BY entry_id").fetchall() == seals
        assert not [q for q in asked if "reeds_before" in q]
    new = tmp_path / "new.sqlite"
    Logbook.create(new).close()
    assert schema_of(tmp_path / "x.sqlite") == schema_of(new)
    with Logbook.open(tmp_path / "x.sqlite", read_only=True) as book:
        assert book.check() == []


def test_failed_step_leaves_the_file_at_its_old_version(
        tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    path = old_file(tmp_path)

    def fails(connection: sqlite3.Connection, tables: tuple[str, ...]) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr(schema, "_guard", fails)
    before = path.read_bytes()
    with pytest.raises(LogbookError):
        Logbook.open(path, now=clock)
    assert path.read_bytes() == before


def test_tables_are_strict_and_limits_hold_in_the_file_too(tmp_path: Path, full_file: Path) -> None:
    shutil.copy(full_file, tmp_path / "x.sqlite")
    raw = sqlite3.connect(tmp_path / "x.sqlite")
    start = ("INSERT INTO sittings "
             "(entered_at, date, reed, play_min, waterlogged, from_memory, unsure_reed, confirmed, overall, "
             "sha256_before, sha256) ")
    for values in ("('t', 'd', '1-01', 'long', 0, 0, 0, 0, 5)", "('t', 'd', '1-01', 10, 0, 0, 0, 0, 11)",
                   "('t', 'd', '1-01', 10, 2, 0, 0, 0, 5)", "('t', 'd', NULL, 10, 0, 0, 0, 0, 5)"):
        with pytest.raises(sqlite3.IntegrityError):
            raw.execute(start + "VALUES " + values.replace(")", ", zeroblob(32), zeroblob(32))"))
    raw.close()
