"""Dated copies of the logbook, in a folder beside it."""

from __future__ import annotations

import os
import re
import secrets
import sqlite3
import time
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Final

from ..errors import LogbookError
from ..folder.filing import to_disk
from ..wording import tr
from . import schema
from ._damage import Damaged, is_damage
from .opening import connect

__all__ = ["FOLDER", "KEPT", "NoCopy", "back_up", "copies_of", "copy_number"]

FOLDER: Final = "backups"
KEPT: Final = 14
_LITTER_S: Final = 600  # a copy takes seconds: what is older was cut off


class NoCopy(LogbookError):
    """The day's copy could not be made: no room, or no right to write there."""


def copies_of(path: Path) -> list[tuple[int, str, Path]]:
    """Return a logbook's copies in the order in which they were made: number, day (and mark), file.

    Each copy carries its number, so a clock that was wrong once does not matter. Copies without one are oldest.
    """
    named = re.compile(re.escape(path.stem) + r"-(\d{4}-\d{2}-\d{2}.*)" + re.escape(path.suffix))
    try:
        return sorted((copy_number(p), m[1], p) for p in (path.parent / FOLDER).iterdir()
                      if (m := named.fullmatch(p.name)))
    except OSError:
        return []


def copy_number(copy: Path) -> int:
    """Return which copy of its logbook this is, by its own mark; 0 for one without."""
    try:
        with copy.open("rb") as file:
            mark = int.from_bytes(file.read(100)[68:72], "big")
    except OSError:
        return 0
    return mark & 0xFFFF if schema.is_copy(mark) else 0


def back_up(path: Path, today: date, mark: str = "") -> Path | None:
    """Copy the logbook to ``backups/<name>-<date><mark><suffix>`` unless that copy is there already.

    Parameters
    ----------
    path : Path
        The logbook file; nothing may have been changed yet in a running transaction.
    today : date
    mark : str
        Put after the date, for a copy made for another reason than a new day; such copies are all kept.

    Returns
    -------
    Path or None
        The new copy; None if there was one. Only the 14 daily copies made last are kept.

    Raises
    ------
    NoCopy
        Nothing of the attempt is left behind.
    Damaged
        The logbook is damaged inside; the older copies stay.
    """
    folder = path.parent / FOLDER
    copy = folder / f"{path.stem}-{today.isoformat()}{mark}{path.suffix}"
    if copy.exists():
        return None
    before = [(n, p) for n, name, p in copies_of(path) if len(name) == len("2026-03-05")]
    half = copy.with_name(f".{copy.name}.{secrets.token_hex(4)}.part")
    try:
        folder.mkdir(exist_ok=True)
        _sweep(folder, path)
        os.close(os.open(half, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        _copy(path, half, 1 + max((n for n, _ in before), default=0))
        os.replace(half, copy)
        to_disk(folder)
    except (OSError, sqlite3.Error) as err:
        if is_damage(err):
            raise Damaged() from err
        why = tr("the disk is full or can't be written to")
        if isinstance(err, OSError):
            why = err.strerror or tr("no room")
        raise NoCopy(tr("The day's copy could not be put into {folder} ({why}). Make sure the disk has room and the "
                        "folder can be written to.").format(folder=folder, why=why)) from err
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)
    daily = [p for _, p in before] + ([] if mark else [copy])
    for old in daily[:-KEPT]:
        with suppress(OSError):
            old.unlink(missing_ok=True)
    return copy


def _copy(path: Path, half: Path, number: int) -> None:
    with closing(connect(path, read_only=True)) as source, \
            closing(sqlite3.connect(half, isolation_level=None)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode = MEMORY")
        if [r[0] for r in target.execute("PRAGMA integrity_check")] != ["ok"]:
            raise sqlite3.DatabaseError("malformed")
        target.execute(f"PRAGMA application_id = {schema.copy_id(number)}")
    handle = os.open(half, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sweep(folder: Path, path: Path) -> None:
    """Take away what copies that were cut off left behind; one at work is younger."""
    for old in (*folder.glob(f".{path.stem}-*.part*"), *folder.glob(f"{path.stem}-*.part*")):
        with suppress(OSError):
            if abs(time.time() - old.stat().st_mtime) > _LITTER_S:
                old.unlink()
