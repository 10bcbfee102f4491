"""Opening a logbook file without harming whatever else it may turn out to be."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Final
from urllib.parse import quote

from ..errors import LogbookError
from ..tables import TABLES
from . import schema

__all__ = ["BUSY", "connect_new", "connect_old", "spoken"]

BUSY: Final = ("Another program has this logbook open and is writing to it. Nothing was saved and nothing "
               "is lost. Close the other program, or wait a moment, and try again.")
WAIT_S = 5.0  # how long to wait for another program to finish its entry
_MAGIC: Final = b"SQLite format 3\x00"


def spoken(err: sqlite3.Error) -> LogbookError:
    """Return a database error in words for the player."""
    text = str(err)
    if "locked" in text or "busy" in text:
        return LogbookError(BUSY)
    if "readonly" in text or "read-only" in text:
        return LogbookError("This logbook, or its folder, may only be read here. Nothing was saved.")
    if "full" in text:
        return LogbookError("The disk is full. Nothing was saved. Make some room and try again.")
    return LogbookError(f"The logbook could not be used ({text}). Nothing was saved. {_RESCUE}")


_RESCUE: Final = "There are dated copies in the `backups` folder beside it."


def connect_new(path: Path) -> sqlite3.Connection:
    """Make a new, empty logbook file and return its connection. Never touches a file that is there."""
    schema.require_sqlite()
    try:
        path.open("xb").close()
    except FileExistsError:
        raise LogbookError(f"There is a file at {path} already; it was left as it is. "
                           "Open it, or choose another name for the new logbook.") from None
    except OSError as err:
        raise LogbookError(f"No logbook can be made at {path}: {err.strerror}.") from err
    connection = None
    try:
        connection = _connect(path, "rw")
        connection.execute("BEGIN IMMEDIATE")
        schema.create(connection)
        connection.execute("COMMIT")
    except sqlite3.Error as err:
        if connection is not None:
            connection.close()
        path.unlink()
        raise spoken(err) from err
    return connection


def connect_old(path: Path, *, read_only: bool) -> sqlite3.Connection:
    """Check that a file is a sound logbook this reedlab can use, and return its connection.

    The file is looked at first and opened for writing last, so a file that is refused stays as it is,
    byte for byte, with nothing put beside it. An older logbook opened read-only is brought up to date
    in memory; otherwise the caller does that (`schema.migrate`).
    """
    schema.require_sqlite()
    _look_at_header(path)
    unfinished = path.with_name(path.name + "-journal").exists()
    if unfinished and read_only:
        raise LogbookError(f"The last entry in {path.name} was cut short. Open the logbook once in the usual "
                           "way, so that it can be put in order; nothing before it is lost.")
    try:
        # A half-written entry of our own: SQLite takes it back on opening for writing.
        connection = _checked(path, "rw" if unfinished else "ro")
        if read_only:
            return connection if _version(connection) == schema.VERSION else _copy_in_memory(connection)
        connection.close()
        return _connect(path, "rw")
    except sqlite3.DatabaseError as err:
        if "locked" in str(err) or "busy" in str(err):
            raise LogbookError(BUSY) from err
        raise LogbookError(f"The logbook {path.name} is damaged ({err}); it was left as it is. {_RESCUE}") from err


def _checked(path: Path, mode: str) -> sqlite3.Connection:
    connection = _connect(path, mode)
    try:
        _look_inside(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


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
    finally:
        connection.close()
    return copy


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    connection = sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode={mode}", uri=True, timeout=WAIT_S,
                                 isolation_level=None)
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        if mode == "rw":
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA journal_mode = DELETE")
    except BaseException:
        connection.close()
        raise
    return connection


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _look_at_header(path: Path) -> None:
    """Refuse on the first 100 bytes alone whatever is not a logbook (SQLite file format, section 1.3)."""
    if not path.exists():
        raise LogbookError(f"There is no logbook at {path}. Check the name and the folder.")
    if path.is_dir():
        raise LogbookError(f"{path} is a folder. Give the logbook file inside it.")
    try:
        with path.open("rb") as file:
            head = file.read(100)
        size = path.stat().st_size
    except OSError as err:
        raise LogbookError(f"{path} cannot be read: {err.strerror}.") from err
    if size == 0:
        raise LogbookError(f"{path} is an empty file, not a logbook; it was left as it is.")
    if head[:16] != _MAGIC or len(head) < 100:
        raise LogbookError(f"{path} is not a logbook; it was left as it is. "
                           "To read in a CSV folder, use the import.")
    if int.from_bytes(head[68:72], "big") != schema.APPLICATION_ID:
        raise LogbookError(f"{path} is the file of another program, not a logbook; it was left as it is.")
    version = int.from_bytes(head[60:64], "big")
    if version > schema.VERSION:
        raise LogbookError(
            f"{path} was written by a newer reedlab (logbook version {version}; this one knows up to "
            f"{schema.VERSION}). It was left as it is. Update reedlab and open it again.")
    if head[18] != 1 or head[19] != 1:
        raise LogbookError(f"{path} was switched to another way of saving by another program (write-ahead "
                           "log); it was left as it is. Switch it back there with: PRAGMA journal_mode = DELETE")
    page = int.from_bytes(head[16:18], "big")
    pages = int.from_bytes(head[28:32], "big")
    if size < (65536 if page == 1 else page) * pages:
        raise LogbookError(f"The logbook {path.name} is cut short, perhaps by a copy that did not finish; "
                           f"it was left as it is. {_RESCUE}")


def _look_inside(connection: sqlite3.Connection, path: Path) -> None:
    words = [r[0] for r in connection.execute("PRAGMA integrity_check")]
    if words != ["ok"]:
        raise sqlite3.DatabaseError(words[0])
    there = {r[0] for r in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if _version(connection) == schema.VERSION and not set(TABLES) <= there:
        raise LogbookError(f"{path} lacks some tables of a logbook; it was left as it is. {_RESCUE}")
