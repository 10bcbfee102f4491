"""A journal that is not the logbook's own is set aside before SQLite sees it.

A writer that was cut off leaves `<logbook>-journal`: the pages as they were before, which SQLite puts back on the
next opening. Is the logbook replaced meanwhile by a copy, those pages would spoil the copy. So the journal's own
first page is held against the file's. Each save of ours writes page 1 first, so every such journal has it, with the
file's count of changes before the save: its own file has that count, or the next (SQLite's file format, sections
1.3.7 and 3). A dated copy carries a mark instead of the logbook's, until it is written to for the first time.

Not seen: a logbook of another history whose count happens to fit, put beside the journal of this one by hand.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Final

from . import schema

__all__ = ["alone", "aside_name", "first_page", "journal_of", "set_apart"]

_MAGIC: Final = bytes.fromhex("d9d505f920a163d7")
_SEARCHED: Final = 4096  # records of a journal in which its first page is looked for
_HANDLES: dict[tuple[int, int], int] = {}
_ONE_AT_A_TIME = Lock()


def journal_of(path: Path) -> Path:
    """Return where SQLite keeps the journal of a file."""
    return path.with_name(path.name + "-journal")


def first_page(path: Path) -> bytes:
    """Return the first 100 bytes of a file, which a SQLite connection of this process may have open.

    POSIX takes away every lock of a process on a file as soon as the process closes the file in any place. So the
    file is opened once and never closed.
    """
    if os.name == "nt":
        with path.open("rb") as file:
            return file.read(100)
    with _ONE_AT_A_TIME:
        stat = path.stat()
        key = stat.st_dev, stat.st_ino
        if key not in _HANDLES:
            for old, handle in list(_HANDLES.items()):
                if os.fstat(handle).st_nlink == 0:  # no file of that number is left that could be locked
                    os.close(handle)
                    del _HANDLES[old]
            _HANDLES[key] = os.open(path, os.O_RDONLY | getattr(os, "O_CLOEXEC", 0))
        return os.pread(_HANDLES[key], 100, 0)


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Let one reedlab at a time put whole files in place in a folder (where the folder's disk knows such locks)."""
    if os.name == "nt":
        yield  # Windows neither renames nor replaces a file that is open
        return
    import fcntl

    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def aside_name(path: Path, now: datetime | None = None) -> Path:
    """Return a free dated name beside a logbook under which it can be set aside."""
    stem = f"{path.stem} set aside {(now or datetime.now()):%Y-%m-%d %H%M%S}"
    n, name = 1, path.with_name(stem + path.suffix)
    while name.exists() or journal_of(name).exists():
        n += 1
        name = path.with_name(f"{stem} {n}{path.suffix}")
    return name


def set_apart(path: Path) -> Path | None:
    """Set a journal aside that belongs to another file than the one now at `path`; return its new name."""
    if not _is_strange(path):
        return None
    with alone(path.parent):
        if not _is_strange(path):
            return None
        target = journal_of(aside_name(path))
        os.rename(journal_of(path), target)
        return target


def _is_strange(path: Path) -> bool:
    """Say whether the journal beside a file is surely another's. A writer at work never seems so.

    The journal is read before and after the file: where it is the same both times, all three belong to one moment.
    """
    for _ in range(20):
        before = _original(journal_of(path))
        if before is None:
            return False
        try:
            now = first_page(path)
        except OSError:
            return False
        after = _original(journal_of(path))
        if after == before:
            return _clash(before[1], before[2], now)
    return False


def _original(journal: Path) -> tuple[bytes, int, bytes] | None:
    """Return a journal's header, the pages its file had, and that file's first 100 bytes; None if it has no say."""
    try:
        with journal.open("rb") as file:
            head = file.read(28)
            if len(head) < 28 or head[:8] != _MAGIC:
                return None  # not written out yet: SQLite passes over it
            pages, sector, page = (int.from_bytes(head[i:i + 4], "big") for i in (16, 20, 24))
            count = int.from_bytes(head[8:12], "big")
            for n in range(min(count, _SEARCHED)):
                file.seek(sector + n * (page + 8))
                record = file.read(104)
                if len(record) < 104:
                    break
                if record[:4] == b"\x00\x00\x00\x01":
                    return head, pages, record[4:]
            return head, pages, b""
    except OSError:
        return None


def _clash(pages: int, original: bytes, now: bytes) -> bool:
    if len(now) < 100:
        return pages > 0
    mark = int.from_bytes(now[68:72], "big")
    if not original:
        return schema.is_copy(mark)
    was = int.from_bytes(original[68:72], "big")
    if schema.is_copy(mark) and mark != was:
        return True
    counts = [int.from_bytes(x[24:28], "big") for x in (original, now)]
    return original[16:18] != now[16:18] or (counts[1] - counts[0]) % 2**32 not in (0, 1)
