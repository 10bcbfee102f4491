"""Opening a logbook file without harming whatever else it may turn out to be.

What a writer that was cut off left half done is taken back by SQLite, under its own locks: so a file is always
opened so that SQLite may write, and one opened to read is kept from writing by SQLite itself.
"""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from random import uniform
from time import monotonic, sleep
from typing import Final
from urllib.parse import quote

from ..errors import LogbookError
from ..wording import tr
from . import schema
from ._beginning import begin_anew, is_empty_of_ours
from ._damage import BUSY, Damaged, is_damage, spoken
from ._journal import first_page, journal_of, set_apart
from ._looked import found_sound, is_known_sound

__all__ = ["bare", "connect", "connect_old", "identity", "patiently"]

WAIT_S = 10.0  # how long to wait for another program to finish its entry
_FIRST_S, _LEAST_S = 0.005, 0.0003  # how long until one asks again: at first, and after a quarter of a second
_MAGIC: Final = b"SQLite format 3\x00"
#: Bytes up to which a file is looked through when it is opened, unless this program knows it as it stands: to read,
#: with its indexes; to write. A larger one is when the day's copy is made and by `check`, and every entry is by its
#: seal when it is read.
_LOOKED_THROUGH: Final = {True: 4_000_000, False: 1_000_000}


def connect_old(path: Path, *, read_only: bool) -> tuple[sqlite3.Connection, int | None]:
    """Check that a file is a sound logbook this reedlab can use, and return its connection.

    A file that is refused stays as it is, byte for byte, with nothing put beside it. An older logbook opened
    read-only is brought up to date in memory; otherwise the caller does that (`schema.migrate`): then its version
    is returned too, else None.
    """
    schema.require_sqlite()
    if not read_only and is_empty_of_ours(path):
        begin_anew(path)
    _look_at_header(path)
    set_apart(path)
    try:
        connection = connect(path, read_only=read_only)
        try:
            version, mark = _look_inside(connection, path, read_only)
            if read_only:
                return connection if version == schema.VERSION else _copy_in_memory(connection), None
            return connection, None if (version, mark) == (schema.VERSION, schema.APPLICATION_ID) else version
        except BaseException:
            connection.close()
            raise
    except (sqlite3.Error, UnicodeDecodeError) as err:
        raise _refusal(path, err) from err


def identity(path: Path) -> tuple[int, int]:
    """Return what tells this file from another that is put in its place."""
    stat = path.stat()
    return stat.st_dev, stat.st_ino


def _refusal(path: Path, err: sqlite3.Error | UnicodeDecodeError) -> LogbookError:
    if "locked" in str(err) or "busy" in str(err):
        return LogbookError(BUSY)
    if is_damage(err):
        how = " " + tr("(it is cut short, perhaps by a copy that did not finish)") if _cut_short(path) else ""
        return Damaged(tr("The logbook {name} is damaged{how}; it was left as it is").format(name=path.name, how=how))
    if journal_of(path).exists():
        return LogbookError(tr("The last entry in {name} was cut short, and it can't be put in order here, "
                               "where files may only be read. Copy the folder to a place where you may "
                               "write; nothing is lost.").format(name=path.name))
    return spoken(err)


def _cut_short(path: Path) -> bool:
    head = first_page(path)
    page = int.from_bytes(head[16:18], "big")
    return path.stat().st_size < (65536 if page == 1 else page) * int.from_bytes(head[28:32], "big")


def _copy_in_memory(connection: sqlite3.Connection) -> sqlite3.Connection:
    """Copy an older logbook into memory and bring the copy up to date."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    try:
        connection.backup(copy)
        schema.migrate(copy)
        copy.execute("PRAGMA query_only = ON")
    except BaseException:
        copy.close()
        raise
    connection.close()
    return copy


def connect(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """Return a connection to a logbook file; nothing is read yet."""
    connection = bare(path)
    try:
        if read_only:
            connection.execute("PRAGMA query_only = ON")
        else:
            connection.execute("PRAGMA foreign_keys = ON")
            patiently(connection, "PRAGMA synchronous = EXTRA")  # reads what tables there are
            if first_page(path)[18:20] != b"\x01\x01":  # another program saves in another way
                patiently(connection, "PRAGMA journal_mode = DELETE")
    except BaseException:
        connection.close()
        raise
    return connection


def bare(path: Path) -> sqlite3.Connection:
    """Return a connection of which nothing is asked yet, so that it can be had of any file."""
    return sqlite3.connect(f"file:{quote(os.fsencode(path.resolve()))}?mode=rw", uri=True, timeout=WAIT_S,
                           isolation_level=None)


def patiently(connection: sqlite3.Connection, statement: str) -> None:
    """Execute what needs the file to itself, or with readers only; ask the more often the longer it takes.

    So whoever waits longest is likely next. SQLite's own waiting asks more and more seldom: in a crowd some wait for
    many seconds.
    """
    begun = monotonic()
    connection.execute("PRAGMA busy_timeout = 0")
    try:
        while True:
            try:
                connection.execute(statement)
                return
            except sqlite3.OperationalError as err:
                waited = monotonic() - begun
                if "locked" not in str(err) or waited > WAIT_S:
                    raise
            sleep(uniform(0.5, 1.5) * max(_LEAST_S, _FIRST_S - waited / 50))
    finally:
        connection.execute(f"PRAGMA busy_timeout = {int(1000 * WAIT_S)}")


def _look_at_header(path: Path) -> None:
    """Refuse on the first 100 bytes alone whatever is not a logbook (SQLite file format, section 1.3)."""
    if not path.exists():
        raise LogbookError(tr("There is no logbook at {path}. Check the name and the folder.").format(path=path))
    if path.is_dir():
        raise LogbookError(tr("{path} is a folder. Give the logbook file inside it.").format(path=path))
    try:
        head = first_page(path)
    except OSError as err:
        raise LogbookError(tr("{path} cannot be read: {strerror}.").format(path=path, strerror=err.strerror)) from err
    if is_empty_of_ours(path):
        raise LogbookError(tr("{path} is empty: nothing was saved in it yet. The first Save begins it.").format(
                               path=path))
    if not head:
        raise LogbookError(tr("{path} is an empty file, not a logbook; it was left as it is.").format(path=path))
    if head[:16] != _MAGIC or len(head) < 100:
        raise LogbookError(tr("{path} is not a logbook; it was left as it is. To read in a CSV folder, use "
                              "the import.").format(path=path))
    mark = int.from_bytes(head[68:72], "big")
    if mark != schema.APPLICATION_ID and not schema.is_copy(mark):
        raise LogbookError(tr("{path} is the file of another program, not a logbook; it was left as it is.").format(
                               path=path))
    version = int.from_bytes(head[60:64], "big")
    if version > schema.VERSION:
        raise LogbookError(
            tr("{path} was written by a newer reedlab (logbook version {version}; this one knows up to {version2}). It "
               "was left as it is. Update reedlab and open it again.").format(
                path=path, version=version, version2=schema.VERSION))


def _look_inside(connection: sqlite3.Connection, path: Path, read_only: bool) -> tuple[int, int]:
    """Return the file's version and mark. All is read in one go, while nobody may write."""
    connection.execute("BEGIN")
    patiently(connection, "SELECT 1 FROM sqlite_master")
    try:
        version, mark = (int(connection.execute(f"PRAGMA {what}").fetchone()[0])
                         for what in ("user_version", "application_id"))
        if not is_known_sound(path, thoroughly=read_only):
            _look_through(connection, path, version, read_only)
    finally:
        connection.execute("COMMIT")
    return version, mark


def _look_through(connection: sqlite3.Connection, path: Path, version: int, read_only: bool) -> None:
    there = {(r[0], r[1]): " ".join(str(r[2]).split()) for r in connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")}
    if version == schema.VERSION and not schema.expected().items() <= there.items():
        raise sqlite3.DatabaseError(tr("malformed: what the file says of its own tables"))
    if path.stat().st_size <= _LOOKED_THROUGH[read_only]:
        words = [r[0] for r in connection.execute(f"PRAGMA {'integrity' if read_only else 'quick'}_check(1)")]
        if words != ["ok"]:
            raise sqlite3.DatabaseError("malformed: " + words[0])
        found_sound(path, thoroughly=read_only)
