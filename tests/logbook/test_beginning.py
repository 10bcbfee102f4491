"""A logbook begins whole or not at all, and nothing ever takes one away."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from reedlab.errors import ExchangeError, LogbookError
from reedlab.logbook import Logbook, exchange, opening
from reedlab.rows.records import Box, Day

from .conftest import Clock

Hand = Callable[..., Path]


def test_refused_import_leaves_what_was_saved_meanwhile(
        hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a long import into a new logbook runs, a page makes the logbook and says Saved; then it is refused."""
    target, read = tmp_path / "new.logbook", exchange.read_folder

    def slow(path: Path, **more: bool) -> object:
        with Logbook.open_or_create(target) as page:
            page.put(Box(box="9", instrument="clarinet"))
        return read(path, **more)

    monkeypatch.setattr(exchange, "read_folder", slow)
    with pytest.raises(ExchangeError):
        exchange.import_into(hand(reeds="reed\nx\n"), target)
    with Logbook.open(target) as book:
        assert book.frame("boxes")["box"].tolist() == ["9"]


def test_sound_import_into_a_new_logbook_joins_one_that_came_meanwhile(
        hand: Hand, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target, read = tmp_path / "new.logbook", exchange.read_folder

    def slow(path: Path, **more: bool) -> object:
        with Logbook.open_or_create(target) as page:
            page.put(Box(box="9", instrument="clarinet"))
        return read(path, **more)

    monkeypatch.setattr(exchange, "read_folder", slow)
    report = exchange.import_into(hand(), target)
    assert report.added["boxes"] == 1
    with Logbook.open(target) as book:
        assert sorted(book.frame("boxes")["box"]) == ["1", "9"]
        assert len(book.frame("sittings")) == 3
        assert book.check() == []


def test_refused_import_into_a_new_logbook_leaves_nothing(hand: Hand, tmp_path: Path) -> None:
    before = sorted(p.name for p in tmp_path.iterdir())
    folder = hand(reeds="reed\nx\n")
    with pytest.raises(ExchangeError):
        exchange.import_into(folder, tmp_path / "new.logbook")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([*before, folder.name])


def test_empty_file_of_ours_is_begun_anew(tmp_path: Path) -> None:
    path = tmp_path / "reeds.logbook"
    path.touch()
    with pytest.raises(LogbookError, match="nothing was saved in it yet"):
        Logbook.open(path, read_only=True)
    with Logbook.open(path) as book:
        book.add(Box(box="1", instrument="clarinet"))
        assert book.check() == []
    assert [p.name for p in tmp_path.iterdir()] == ["reeds.logbook"]


def test_another_program_that_was_quicker_with_an_empty_file_is_joined(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between the look at the empty file and the draft of ours, a whole logbook comes to be there."""
    path = tmp_path / "reeds.logbook"
    path.touch()
    began = opening.begin_anew

    def late(where: Path) -> None:
        monkeypatch.setattr(opening, "begin_anew", began)
        with Logbook.open_or_create(where) as quicker:
            quicker.add(Box(box="1", instrument="clarinet"))
        began(where)

    monkeypatch.setattr(opening, "begin_anew", late)
    with Logbook.open_or_create(path) as book:
        book.add(Box(box="2", instrument="clarinet"))
        assert sorted(book.frame("boxes")["box"]) == ["1", "2"]


def test_many_first_saves_at_once_all_stand(tmp_path: Path) -> None:
    for turn in range(5):
        path = tmp_path / f"{turn}.logbook"
        if turn % 2:
            path.touch()
        faults: list[BaseException] = []

        def save(n: int, path: Path = path, faults: list[BaseException] = faults) -> None:
            try:
                with Logbook.open_or_create(path) as book:
                    book.add(Box(box=str(n), instrument="clarinet"))
            except BaseException as err:
                faults.append(err)

        threads = [threading.Thread(target=save, args=(n,)) for n in range(4)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert faults == []
        with Logbook.open(path, read_only=True) as book:
            assert sorted(book.frame("boxes")["box"]) == ["0", "1", "2", "3"]
            assert book.check() == []
    assert sorted(p.name for p in tmp_path.iterdir()) == [*(f"{n}.logbook" for n in range(5)), "backups"]


def test_logbook_begins_where_a_disk_knows_no_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_link(a: object, b: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_link)
    Logbook.create(tmp_path / "reeds.logbook").close()
    with pytest.raises(LogbookError, match="already"):
        Logbook.create(tmp_path / "reeds.logbook")
    assert [p.name for p in tmp_path.iterdir()] == ["reeds.logbook"]


def test_file_exchanged_underneath_is_seen_before_anything_is_written(book: Logbook, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    Logbook.create(other).close()
    before = other.read_bytes()
    os.replace(other, book.path)
    with pytest.raises(LogbookError, match="Another file was put in the place"):
        book.add(Day(date=date(2026, 3, 20)))
    assert book.path.read_bytes() == before


_KILLED = """
import os, sqlite3, sys
from datetime import date
from reedlab.logbook import Logbook
from reedlab.rows.records import Box
book = Logbook.open(sys.argv[1])
with book.together():
    book._connection.execute("PRAGMA cache_size = 1")
    for n in range(400):
        book._make_ready()
        book.add(Box(box=f"k{n}", instrument="clarinet", remark="y" * 900))
        if n % 40 == 0:
            print(n, flush=True)
    os.kill(os.getpid(), 9)
"""


def killed_writer(path: Path) -> None:
    """Have a process killed in the midst of a large save, so that its journal is left beside the logbook."""
    run = subprocess.run([sys.executable, "-c", _KILLED, str(path)], capture_output=True, text=True)
    assert run.returncode == -9, run.stderr
    assert path.with_name(path.name + "-journal").stat().st_size > 0


@pytest.mark.parametrize("read_only", [True, False])
def test_own_journal_is_rolled_back(book: Logbook, read_only: bool) -> None:
    book.close()
    killed_writer(book.path)
    with Logbook.open(book.path, read_only) as again:
        assert again.frame("boxes")["box"].tolist() == ["1", "2"]
        assert again.check() == []
    assert not book.path.with_name(book.path.name + "-journal").exists()


def copied_by(kind: str, book: Logbook, clock: Clock) -> bytes:
    """Return a copy taken of the logbook as it is now: the day's own, or by hand."""
    if kind == "by hand":
        return book.path.read_bytes()
    book.add(Day(date=date(2026, 3, 20)))
    (copy,) = (book.path.parent / "backups").iterdir()
    return copy.read_bytes()


@pytest.mark.parametrize("kind", ["daily", "by hand"])
@pytest.mark.parametrize("saves", [1, 3])
def test_copy_put_back_by_hand_beside_the_journal_of_a_killed_writer_is_kept(
        kind: str, saves: int, book: Logbook, clock: Clock) -> None:
    copy = copied_by(kind, book, clock)
    for n in range(saves):
        book.add(Day(date=date(2026, 3, 19 - n)))
    book.close()
    killed_writer(book.path)
    journal = book.path.with_name(book.path.name + "-journal").read_bytes()
    book.path.write_bytes(copy)
    for read_only in (True, False) if saves == 1 else (False,):
        with Logbook.open(book.path, read_only, now=clock) as again:
            assert len(again.frame("days")) == 2
            assert again.check() == []
            if not read_only:
                again.add(Day(date=date(2026, 3, 18)))
                assert again.check() == []
    (aside,) = book.path.parent.glob("reeds set aside *-journal")
    assert aside.read_bytes() == journal  # nothing is deleted


def test_journal_of_a_writer_at_work_is_never_set_aside(book: Logbook, tmp_path: Path) -> None:
    """A process saves without pause; opening beside it neither fails nor takes its journal."""
    book.close()
    code = ("import sys\nfrom reedlab.logbook import Logbook\nfrom reedlab.rows.records import Box\n"
            "for n in range(60):\n    with Logbook.open(sys.argv[1]) as b:\n"
            "        b.add(Box(box=f'w{n}', instrument='clarinet'))\n    print(n, flush=True)\n")
    with subprocess.Popen([sys.executable, "-c", code, str(book.path)], stdout=subprocess.PIPE, text=True) as writer:
        seen = 0
        while writer.poll() is None:
            with Logbook.open(book.path, read_only=True) as reader:
                now = len(reader.frame("boxes"))
            assert now >= seen
            seen = now
        assert writer.stdout is not None
        assert len(writer.stdout.read().split()) == 60
    with Logbook.open(book.path, read_only=True) as reader:
        assert len(reader.frame("boxes")) == 62
        assert reader.check() == []
    assert not list(tmp_path.glob("*set aside*"))


def test_database_of_ours_is_plain_sqlite(book: Logbook) -> None:
    with closing(sqlite3.connect(book.path)) as raw, raw:
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    raw.close()
