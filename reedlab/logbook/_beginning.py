"""A new logbook: made whole under a name of its own, then put in place if nothing is there. Never over a logbook."""

from __future__ import annotations

import os
import secrets
import sqlite3
import time
from contextlib import suppress
from pathlib import Path
from typing import Final

from ..errors import LogbookError
from ..folder.filing import put_new, to_disk
from ..wording import tr
from . import schema
from ._damage import AlreadyThere, spoken
from ._journal import alone, aside_name, journal_of

__all__ = ["begin_anew", "discard", "draft_of", "is_empty_of_ours", "put_in_place"]

_OLD_S: Final = 3600  # after an hour a draft is nobody's any more


def draft_of(path: Path) -> Path:
    """Make an empty logbook under a passing name beside `path` and return that name."""
    schema.require_sqlite()
    if path.exists() and not is_empty_of_ours(path):
        raise _there(path)
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except OSError as err:
        raise LogbookError(tr("No logbook can be made at {path}: {strerror}.").format(
                               path=path, strerror=err.strerror)) from err
    connection = sqlite3.connect(draft, isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("BEGIN IMMEDIATE")
        schema.create(connection)
        connection.execute("COMMIT")
    except sqlite3.Error as err:
        connection.close()
        discard(draft)
        raise spoken(err) from err
    connection.close()
    return draft


def put_in_place(draft: Path, path: Path) -> None:
    """Give a finished draft the logbook's name. Raises AlreadyThere, and leaves both, if a file is there."""
    with alone(path.parent):
        try:
            if is_empty_of_ours(path):  # nothing was ever saved in it; its journal, if any, is no other's
                if journal_of(path).exists():
                    os.rename(journal_of(path), journal_of(aside_name(path)))
                os.replace(draft, path)
            else:
                put_new(draft, path)
        except FileExistsError:
            raise _there(path) from None
        except OSError as err:
            raise LogbookError(tr("No logbook can be made at {path}: {strerror}.").format(
                                   path=path, strerror=err.strerror)) from err
    to_disk(path.parent)
    _sweep(path)


def begin_anew(path: Path) -> None:
    """Make a logbook out of an empty file of ours, which a first save that was cut off may leave behind."""
    with suppress(AlreadyThere):  # another program was quicker
        draft = draft_of(path)
        try:
            put_in_place(draft, path)
        finally:
            discard(draft)


def is_empty_of_ours(path: Path) -> bool:
    """Say whether a file has a logbook's name and nothing in it."""
    try:
        return path.suffix == ".logbook" and path.is_file() and path.stat().st_size == 0
    except OSError:
        return False


def discard(draft: Path) -> None:
    """Take a draft away that nobody was told of."""
    for name in (draft, journal_of(draft)):
        with suppress(OSError):
            name.unlink(missing_ok=True)


def _sweep(path: Path) -> None:
    """Take away drafts that a program which was cut off left behind."""
    for old in path.parent.glob(f".{path.name}.*.new"):
        with suppress(OSError):
            if abs(time.time() - old.stat().st_mtime) > _OLD_S:
                discard(old)


def _there(path: Path) -> AlreadyThere:
    return AlreadyThere(tr("There is a file at {path} already; it was left as it is. Open it, or choose another name "
                           "for the new logbook.").format(path=path))
