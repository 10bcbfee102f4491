"""What is no sound logbook is refused in plain words and stays as it is, with nothing put beside it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from reedlab.errors import LogbookError
from reedlab.logbook import Logbook, opening, schema


def _text(path: Path, good: Path) -> None:
    path.write_text("date,reed\n2026-03-01,1-01\n" * 20)


def _empty(path: Path, good: Path) -> None:
    path.write_bytes(b"")


def _short(path: Path, good: Path) -> None:
    path.write_bytes(good.read_bytes()[:60])


def _other_database(path: Path, good: Path) -> None:
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("CREATE TABLE sittings (a)")
    raw.close()


def _newer(path: Path, good: Path) -> None:
    shutil.copy(good, path)
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    raw.close()


def _cut(path: Path, good: Path) -> None:
    path.write_bytes(good.read_bytes()[:-5000])


def _corrupt(path: Path, good: Path) -> None:
    raw = bytearray(good.read_bytes())
    for page in range(1, len(raw) // 4096):
        raw[page * 4096: page * 4096 + 64] = b"\xa5" * 64
    path.write_bytes(bytes(raw))


def _version_nothing_leads_from(path: Path, good: Path) -> None:
    shutil.copy(good, path)
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("PRAGMA user_version = 0")
    raw.close()


CASES: dict[str, tuple[Callable[[Path, Path], None], str]] = {
    "text": (_text, "is not a logbook"),
    "empty": (_empty, "empty file"),
    "short": (_short, "is not a logbook"),
    "other database": (_other_database, "another program"),
    "newer": (_newer, "newer reedlab"),
    "cut short": (_cut, "cut short"),
    "corrupt": (_corrupt, "damaged"),
}


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize("case", sorted(CASES))
def test_file_is_refused_and_left_as_it_is(case: str, read_only: bool, tmp_path: Path, full_file: Path) -> None:
    make, words = CASES[case]
    path = tmp_path / "x" / "reeds.sqlite"
    path.parent.mkdir()
    make(path, full_file)
    before = {p.name: p.read_bytes() for p in path.parent.iterdir()}
    with pytest.raises(LogbookError) as err:
        Logbook.open(path, read_only)
    assert words in str(err.value)
    assert "left as it was" in str(err.value) or "left as it is" in str(err.value)
    assert {p.name: p.read_bytes() for p in path.parent.iterdir()} == before


def test_version_that_nothing_leads_from_is_refused_with_a_copy_kept(tmp_path: Path, full_file: Path) -> None:
    _version_nothing_leads_from(tmp_path / "reeds.sqlite", full_file)
    before = (tmp_path / "reeds.sqlite").read_bytes()
    with pytest.raises(LogbookError, match="cannot bring up to date"):
        Logbook.open(tmp_path / "reeds.sqlite")
    assert (tmp_path / "reeds.sqlite").read_bytes() == before


def test_missing_file_and_folder_are_named(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="no logbook at"):
        Logbook.open(tmp_path / "none.sqlite")
    with pytest.raises(LogbookError, match="is a folder"):
        Logbook.open(tmp_path)
    with pytest.raises(LogbookError, match="No logbook can be made"):
        Logbook.create(tmp_path / "none" / "reeds.sqlite")
    assert list(tmp_path.iterdir()) == []


def test_new_logbook_never_replaces_a_file(tmp_path: Path) -> None:
    path = tmp_path / "reeds.sqlite"
    path.write_text("precious")
    with pytest.raises(LogbookError, match="already"):
        Logbook.create(path)
    assert path.read_text() == "precious"


def test_name_with_odd_letters_works(tmp_path: Path) -> None:
    path = tmp_path / "my reeds #1? 100%ü.sqlite"
    Logbook.create(path).close()
    with Logbook.open(path) as book:
        assert book.check() == []


def test_reading_leaves_every_byte(full_file: Path) -> None:
    before = full_file.read_bytes()
    with Logbook.open(full_file, read_only=True) as book:
        book.frames()
        book.check()
    assert full_file.read_bytes() == before
    assert [p.name for p in full_file.parent.iterdir()] in (["reeds.sqlite"], ["backups", "reeds.sqlite"],
                                                            ["reeds.sqlite", "backups"])


def test_entry_cut_short_by_a_crash_is_taken_back_on_opening(tmp_path: Path, full_file: Path) -> None:
    path = tmp_path / "live" / "reeds.sqlite"
    path.parent.mkdir()
    shutil.copy(full_file, path)
    raw = sqlite3.connect(path, isolation_level=None)
    raw.execute("PRAGMA cache_size = 1")
    raw.execute("BEGIN IMMEDIATE")
    for n in range(2000):  # enough to spill half-written pages into the file
        raw.execute("INSERT INTO boxes (entered_at, box, instrument, remark, sha256_before, sha256) "
                    "VALUES ('x', ?, 'clarinet', ?, zeroblob(32), zeroblob(32))", (f"b{n}", "y" * 500))
    crashed = tmp_path / "crashed"
    shutil.copytree(path.parent, crashed)
    raw.execute("ROLLBACK")
    raw.close()
    assert (crashed / "reeds.sqlite-journal").exists()
    for read_only in (True, False):
        again = tmp_path / f"again {read_only}"
        shutil.copytree(crashed, again)
        with Logbook.open(again / "reeds.sqlite", read_only) as book:
            assert book.frame("boxes")["box"].tolist() == ["1", "2"]
        assert [p.name for p in again.iterdir()] == ["reeds.sqlite"]


@pytest.mark.parametrize("read_only", [False, True])
def test_logbook_another_program_switched_to_its_way_of_saving_is_used_all_the_same(
        read_only: bool, tmp_path: Path, full_file: Path) -> None:
    path = tmp_path / "reeds.sqlite"
    shutil.copy(full_file, path)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA journal_mode = WAL")
    raw.close()
    with Logbook.open(path, read_only) as book:
        assert len(book.frame("boxes")) == 2
    if not read_only:
        assert path.read_bytes()[18:20] == b"\x01\x01"
    assert [p.name for p in tmp_path.iterdir()] == ["reeds.sqlite"]


def test_file_another_program_is_writing_to_is_reported_as_busy(
        tmp_path: Path, full_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "WAIT_S", 0.05)
    path = tmp_path / "reeds.sqlite"
    shutil.copy(full_file, path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    for read_only in (True, False):
        with pytest.raises(LogbookError, match="Another program"):
            Logbook.open(path, read_only)
    other.execute("ROLLBACK")
    other.close()
    Logbook.open(path).close()


def test_old_sqlite_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    with pytest.raises(LogbookError, match="or newer"):
        Logbook.create(tmp_path / "reeds.sqlite")
    assert list(tmp_path.iterdir()) == []
