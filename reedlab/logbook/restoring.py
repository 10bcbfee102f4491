"""The way back to a dated copy: what each copy holds, what it lacks, and putting one in place. Nothing is deleted."""

from __future__ import annotations

import os
import secrets
import shutil
import sqlite3
import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from ..errors import InputError, LogbookError, ReedlabError, ReedlabWarning
from ..folder.filing import to_disk
from ..rows.tables import TABLES
from ..wording import tr, trn
from ._beginning import discard
from ._damage import spoken
from ._journal import alone, aside_name, first_page, journal_of, set_apart
from .backup import copies_of
from .opening import bare
from .schema import quoted
from .store import Logbook

__all__ = ["Held", "copies", "held_now", "restore", "set_aside_words"]


@dataclass(frozen=True)
class Held:
    """What a logbook or a copy holds.

    `name` is the day a copy was made (with what it was made for, if not for a new day). `lost` says what of it is
    damaged. `lacks` counts by table the sound entries of the logbook that a copy does not have.
    """

    path: Path
    name: str = ""
    entries: int = 0
    last: str = ""
    lost: tuple[str, ...] = ()
    lacks: Mapping[str, int] = field(default_factory=dict)
    seals: frozenset[tuple[str, bytes]] = field(default=frozenset(), repr=False)

    def __str__(self) -> str:
        if self.lost and not self.entries:
            return tr("can't be read")
        some = trn("{n} entry", "{n} entries", self.entries).format(n=self.entries)
        return some + (tr(", the last written down on {last}").format(last=self.last) if self.last else "") + (
            tr("; it is damaged") if self.lost else "")

    @property
    def told_lacks(self) -> str:
        """What would be left out of the logbook as it is now, in a sentence."""
        n = sum(self.lacks.values())
        if not n:
            return tr("Nothing that can be read now would be left out.")
        by = ", ".join(tr("{n} in {table}").format(n=k, table=t) for t, k in self.lacks.items() if k)
        return trn("Left out would be {n} entry of now ({by}).", "Left out would be {n} entries of now ({by}).",
                   n).format(n=n, by=by)


def held_now(path: Path) -> Held:
    """Say what of the logbook itself can be read."""
    return _held(path, "")


def copies(path: Path, now: Held | None = None) -> list[Held]:
    """Return the copies of a logbook, the one made last first, each held against the logbook as it is now."""
    seals = (now or held_now(path)).seals
    held = [_held(p, name) for _, name, p in reversed(copies_of(path))]
    return [replace(h, lacks=Counter(t for t, _ in seals - h.seals)) for h in held]


def _held(path: Path, name: str) -> Held:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ReedlabWarning)
            with Logbook.open(path, read_only=True) as book:
                with book.entries():
                    pass  # every seal was looked at; what is damaged is left out from here on
                rows = [(t, seal, at) for t in TABLES for seal, at in
                        book._connection.execute(f"SELECT sha256, entered_at FROM {quoted(t)}")]
                lost = tuple(book.lost)
    except ReedlabError as err:
        return Held(path, name, lost=(str(err),))
    return Held(path, name, len(rows), max((at[:10] for _, _, at in rows), default=""), lost,
                seals=frozenset((t, seal) for t, seal, _ in rows))


def restore(path: Path, copy: Path, *, now: datetime | None = None) -> Path | None:
    """Put a copy in the logbook's place and return under which name the logbook was set aside, if there was one.

    The copy stays. A journal is set aside with the logbook it belongs to. There is a logbook at every moment.

    Raises
    ------
    InputError
        The copy is damaged itself.
    LogbookError
        Another program is writing just now, or the folder can't be written to. All is as it was.
    """
    held = _held(copy, "")
    if held.lost:
        raise InputError(tr("The copy {name} is damaged itself. Choose another. Nothing was changed.").format(
                             name=copy.name))
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        shutil.copyfile(copy, draft)
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        with _nobody_writing(path), alone(path.parent):
            return _exchange(draft, path, now)
    except OSError as err:
        raise LogbookError(tr("The copy could not be put in place ({strerror}). The logbook is as it was.").format(
                               strerror=err.strerror or err)) from err
    finally:
        discard(draft)


def _exchange(draft: Path, path: Path, now: datetime | None) -> Path | None:
    """Name the old file anew, then put the other over its name, then take its journal along.

    Where that is cut off between, the journal beside the copy is set aside on the next opening: a copy is marked.
    """
    aside = None
    if path.exists():
        aside = aside_name(path, now)
        try:
            os.link(path, aside)
        except OSError:  # a disk without second names
            shutil.copy2(path, aside)
    os.replace(draft, path)
    if journal_of(path).exists():
        os.rename(journal_of(path), journal_of(aside if aside is not None else aside_name(path, now)))
    to_disk(path.parent)
    return aside


@contextmanager
def _nobody_writing(path: Path) -> Iterator[None]:
    """Keep every other program from writing into the logbook, as far as it can still be opened.

    What a writer that was cut off left half done is taken back first, where SQLite still can.
    """
    if not path.exists() or not first_page(path):
        yield
        return
    set_apart(path)
    with closing(bare(path)) as held:
        try:
            held.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as err:
            if "locked" in str(err) or "busy" in str(err):
                raise spoken(err) from err
        yield
        with suppress(sqlite3.Error):
            held.rollback()


def set_aside_words(aside: Path | None) -> str:
    """Say where the logbook is that was set aside."""
    return "" if aside is None else tr("The logbook as it was is kept as `{name}`, beside it. Nothing was "
                                       "deleted.").format(name=aside.name)
