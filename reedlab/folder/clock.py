"""Which day it is, asked in one place.

Real life uses the computer's date. The demo happens on a fixed invented day, written in a file beside
its logbook, so that its running trial is on its fifth day whenever you look at it.
"""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from ..errors import InputError
from ..rows.tables import Field
from ..rows.values import read_value
from ..wording import tr

__all__ = ["TODAY_FILE", "day_called", "is_invented", "today_in"]

TODAY_FILE = "demo_today.txt"
_DAY = Field("day", "date", "", required=True)


def today_in(folder: Path | str | None = None) -> date:
    """Return today's date for the logbook in `folder`.

    The first of: the environment variable ``REEDLAB_TODAY``; the file ``demo_today.txt`` in `folder`;
    the computer's date. Raises InputError if one of the first two is not a date like 2026-03-01.
    """
    text, place = os.environ.get("REEDLAB_TODAY", ""), "REEDLAB_TODAY"
    if not text and folder is not None and (Path(folder) / TODAY_FILE).is_file():
        text, place = _first_line(Path(folder) / TODAY_FILE), TODAY_FILE
    if not text.strip():
        return date.today()
    try:
        return _day(text)
    except ValueError:
        raise InputError(tr("`{place}` holds {text!r}; wanted a date like 2026-03-01.").format(
                             place=place, text=text.strip()[:40])) from None


def is_invented(folder: Path | str) -> bool:
    """Say whether the logbook in `folder` is the demo's: only that one has a day of its own."""
    return (Path(folder) / TODAY_FILE).is_file()


def day_called(text: str | None, folder: Path | str | None = None, *, option: str = "--today", more: str = "") -> date:
    """Return the day named on the command line; without one, today.

    Raises InputError naming the `option` (and what `more` it takes) if it is no day from 1950 to 2150.
    """
    if text is None:
        return today_in(folder)
    try:
        return _day(text)
    except ValueError:
        raise InputError(tr("`{option}` is {text!r}; wanted a date like 2026-03-01{more}.").format(
                             option=option, text=text[:40], more=more)) from None


def _day(text: str) -> date:
    day, wanted = read_value(_DAY, text)
    if not isinstance(day, date) or wanted is not None:
        raise ValueError(text)
    return day


def _first_line(path: Path) -> str:
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            return file.readline(100)
    except OSError as err:
        raise InputError(tr("{path} can't be read: {strerror}.").format(path=path, strerror=err.strerror)) from err
