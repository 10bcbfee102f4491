"""Dated copies of the logbook, in a folder beside it."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Final
from urllib.parse import quote

from ..errors import LogbookError

__all__ = ["FOLDER", "KEPT", "back_up"]

FOLDER: Final = "backups"
KEPT: Final = 14


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
        The new copy; None if there was one. Only the last 14 daily copies are kept.
    """
    folder = path.parent / FOLDER
    copy = folder / f"{path.stem}-{today.isoformat()}{mark}{path.suffix}"
    if copy.exists():
        return None
    half = copy.with_name(copy.name + ".part")
    try:
        folder.mkdir(exist_ok=True)
        half.unlink(missing_ok=True)
        with closing(sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=ro", uri=True)) as source, \
                closing(sqlite3.connect(half)) as target:
            source.backup(target)
        os.replace(half, copy)
    except (OSError, sqlite3.Error) as err:
        with suppress(OSError):
            half.unlink(missing_ok=True)
        raise LogbookError(f"The day's copy could not be put into {folder} ({err}). Nothing was saved. "
                           "Make sure the disk has room and the folder can be written to.") from err
    daily = re.compile(re.escape(path.stem) + r"-\d{4}-\d{2}-\d{2}" + re.escape(path.suffix))
    for old in sorted(p for p in folder.iterdir() if daily.fullmatch(p.name))[:-KEPT]:
        old.unlink(missing_ok=True)
    return copy
