"""Which day it is, asked in one place.

Real life uses the computer's date. The demo happens on a fixed invented day, written in a file beside
its logbook, so that its running trial is on its fifth day whenever you look at it.
"""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from .errors import InputError

__all__ = ["TODAY_FILE", "day_called", "today_in"]

TODAY_FILE = "demo_today.txt"


def today_in(folder: Path | str | None = None) -> date:
    """Return today's date for the logbook in `folder`.

    The first of: the environment variable ``REEDLAB_TODAY``; the file ``demo_today.txt`` in `folder`;
    the computer's date. Raises InputError if one of the first two is not a date like 2026-03-01.
    """
    text, place = os.environ.get("REEDLAB_TODAY", ""), "REEDLAB_TODAY"
    if not text and folder is not None and (Path(folder) / TODAY_FILE).is_file():
        text, place = (Path(folder) / TODAY_FILE).read_text(encoding="utf8"), TODAY_FILE
    if not text.strip():
        return date.today()
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"`{place}` holds {text.strip()!r}; wanted a date like 2026-03-01.") from None


def day_called(text: str | None, folder: Path | str | None = None) -> date:
    """Return the day named on the command line; without one, today."""
    if text is None:
        return today_in(folder)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"`--today` is {text!r}; wanted a date like 2026-03-01.") from None
