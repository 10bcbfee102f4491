"""Each entry carries its seal: what changed, vanished or was put in behind the logbook's back is named."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from reedlab.errors import LogbookError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.rows.tables import TABLES


def behind_its_back(path: Path, *statements: str) -> None:
    """Change the file as another program would that knows nothing of seals."""
    with closing(sqlite3.connect(path)) as raw, raw:
        guards = raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            raw.execute(f'DROP TRIGGER "{name}"')
        raw.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            raw.execute(statement)
        for _, sql in guards:
            raw.execute(sql)
    raw.close()


def seals(path: Path) -> dict[str, list[bytes]]:
    with closing(sqlite3.connect(path)) as raw, raw:
        return {t: [r[0] for r in raw.execute(f'SELECT sha256 FROM "{t}" ORDER BY entry_id')] for t in TABLES}


@pytest.mark.parametrize(("change", "table", "entry"), [
    ("UPDATE sittings SET overall = 6 WHERE reed = '1-02' AND overall = 6.5", "sittings", 2),
    ("UPDATE reeds SET reed = '1-33' WHERE reed = '1-05'", "reeds", 5),
    ("UPDATE days SET entered_at = '2026-03-18T20:00:05Z' WHERE entry_id = 2", "days", 2),
    ("UPDATE retirements SET date = '2026-02-31x'", "retirements", 1),
    ("UPDATE sittings SET waterlogged = 1 WHERE reed = '1-05'", "sittings", 4),
    ("UPDATE trials SET protocol = replace(protocol, '\"matters\":1.0', '\"matters\":0.1')", "trials", 2),
])
def test_changed_entry_is_named_on_reading_and_by_check(book: Logbook, change: str, table: str, entry: int) -> None:
    book.close()
    behind_its_back(book.path, change)
    with Logbook.open(book.path) as again:
        with pytest.raises(LogbookError, match=f"entry {entry} of {table}"):
            again.frames()
        assert f"{table}: entry {entry}" in "\n".join(again.check())


@pytest.mark.parametrize("change", ["DELETE FROM sittings WHERE entry_id = 3",
                                    "UPDATE sittings SET sha256_before = zeroblob(32) WHERE entry_id = 3"])
def test_gap_is_named_by_check(book: Logbook, change: str) -> None:
    book.close()
    behind_its_back(book.path, change)
    with Logbook.open(book.path) as again:
        told = "\n".join(again.check())
    assert "sittings: entry 3" in told or "sittings: something between entry 2 and entry 4" in told


def test_folder_carries_every_entry_into_the_same_seals(book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "folder")
    with Logbook.create(tmp_path / "new.sqlite", now=book._now) as new:
        import_folder(tmp_path / "folder", new)
        assert new.check() == []
    assert seals(tmp_path / "new.sqlite") == seals(book.path)


def test_seal_is_a_plain_sha_256_of_the_entry_and_the_one_before(book: Logbook) -> None:
    """Worked out a second time by hand for two entries of a table."""
    raw = sqlite3.connect(book.path)
    rows = raw.execute("SELECT sha256_before, sha256, entry_id, entered_at, box, instrument, cut, strength, opened, "
                       "price FROM boxes ORDER BY entry_id").fetchall()
    raw.close()
    before = bytes(32)
    for was, own, number, at, *values in rows:
        said = {k: v for k, v in zip(("box", "instrument", "cut", "strength", "opened", "price"), values,
                                     strict=True) if v is not None}
        text = json.dumps(["boxes", number, at, None, 0, said], sort_keys=True, separators=(",", ":"))
        assert was == before
        assert own == hashlib.sha256(before + text.encode()).digest()
        before = own
    assert len(rows) == 2
