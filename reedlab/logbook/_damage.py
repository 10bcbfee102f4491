"""Damage in words for the player, and which error of SQLite means it."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Final

from ..errors import LogbookError
from ..wording import tr, trn

__all__ = ["BUSY", "WAY_BACK", "AlreadyThere", "Damaged", "EntryDamaged", "is_damage", "spoken"]

#: Where every word on damage ends.
WAY_BACK: Final = tr("Go back to an earlier copy: on the Start page under \"Earlier copies\", or with `reedlab "
                     "restore`. Nothing is deleted by that.")
BUSY: Final = tr("Another program has this logbook open and is writing to it. Nothing was saved and nothing is lost. "
                 "Close the other program, or wait a moment, and try again.")


class AlreadyThere(LogbookError):
    """A logbook was to be made where a file is already."""


class Damaged(LogbookError):
    """The file no longer holds what was written into it."""

    def __init__(self, what: str = tr("The logbook is damaged")) -> None:
        super().__init__(tr("{what}. Nothing was saved. {way_back}").format(what=what, way_back=WAY_BACK))


class EntryDamaged(Damaged):
    """Entries no longer say what was entered: their seals do not fit. `entries`: table and number of each."""

    def __init__(self, entries: Sequence[tuple[str, int]]) -> None:
        self.entries = tuple(entries)
        some = ", ".join(tr("entry {n} of {table}").format(n=n, table=table) for table, n in self.entries[:5])
        more = " " + tr("and {n} more").format(n=len(self.entries) - 5) if len(self.entries) > 5 else ""
        super().__init__(trn("The logbook is damaged: {entries} no longer says what was written down",
                             "The logbook is damaged: {entries} no longer say what was written down",
                             len(self.entries)).format(entries=some + more))


def is_damage(err: BaseException) -> bool:
    """Say whether an error means that the file no longer holds what was written into it."""
    if isinstance(err, (Damaged, UnicodeDecodeError)):  # SQLite's own messages repeat what stands in the file
        return True
    told = ("malformed", "not a database", "decode to UTF-8", "no such table", "no such column", "no such view",
            "unsupported file format", "too big", "corrupt")
    return isinstance(err, sqlite3.DatabaseError) and any(t in str(err) for t in told)


def spoken(err: sqlite3.Error | UnicodeDecodeError) -> LogbookError:
    """Return a database error in words for the player."""
    text = str(err)
    if "locked" in text or "busy" in text:
        return LogbookError(BUSY)
    if is_damage(err):
        return Damaged()
    if "readonly" in text or "read-only" in text or "unable to open" in text:
        return LogbookError(tr("This logbook, or its folder, may only be read here. Nothing was saved."))
    if "full" in text:
        return LogbookError(tr("The disk is full. Nothing was saved. Make some room and try again."))
    if isinstance(err, sqlite3.IntegrityError):
        return LogbookError(tr("The logbook did not take this entry: it goes against one that stands there already. "
                               "Nothing was saved."))
    return LogbookError(tr("The disk could not be read or written just now. Nothing was saved. Try again; if it stays "
                           "so: {way_back}").format(way_back=WAY_BACK))
