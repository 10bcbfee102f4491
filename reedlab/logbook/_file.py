"""The file under a logbook: opening and closing it, one transaction at a time, the day's copy."""

from __future__ import annotations

import sqlite3
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar, cast

from ..errors import LogbookError, ReedlabWarning
from ..folder.clock import today_in
from ..rows.tables import TABLES
from ..wording import tr
from . import schema
from ._beginning import discard, draft_of, put_in_place
from ._damage import WAY_BACK, AlreadyThere, Damaged, spoken
from ._looked import saved, standing
from ._salvage import salvage
from .backup import NoCopy, back_up
from .opening import connect, connect_old, identity, patiently

__all__ = ["LogbookFile", "soundly"]


def _clock_of(path: Path) -> Callable[[], datetime]:
    """Return the computer's clock, set to the day that holds in the logbook's folder (the demo has its own)."""
    return lambda: datetime.combine(today_in(path.parent), datetime.now().time()).astimezone()


_Read = TypeVar("_Read", bound=Callable[..., Any])


def soundly(read: _Read) -> _Read:
    """Have a reading method go on with what is sound, where a file that was opened to read proves damaged."""

    @wraps(read)
    def run(book: LogbookFile, *args: Any, **more: Any) -> Any:
        try:
            return read(book, *args, **more)
        except Damaged:
            if not book._read_only or book.lost:
                raise
            book._salvage()
            return read(book, *args, **more)

    return cast(_Read, run)


class LogbookFile:
    """An open logbook file. What stands in it is the business of `store.Logbook`."""

    def __init__(self, connection: sqlite3.Connection, path: Path, *, read_only: bool,
                 now: Callable[[], datetime] | None) -> None:
        self._connection = connection
        self._path = path
        self._read_only = read_only
        self._now = now or _clock_of(path)
        self._open = True
        self._identity = identity(path)
        self._ready = False
        self._copied_on: date | None = None
        self._old_version: int | None = None  # that of a file still to be brought up to date
        #: what a player should be told although all went well
        self.warned: list[str] = []
        #: what of a damaged logbook is lost, a sentence each; the rest is read
        self.lost: list[str] = []

    @classmethod
    def create(cls, path: str | Path, *, now: Callable[[], datetime] | None = None) -> Self:
        """Make a new logbook at `path`. Raises LogbookError if there is a file already."""
        with cls.drafted(path, now=now):
            pass
        return cls.open(path, now=now)

    @classmethod
    @contextmanager
    def drafted(cls, path: str | Path, *, now: Callable[[], datetime] | None = None) -> Iterator[Self]:
        """Make a new logbook that is there only when all within has gone well, and then as a whole.

        Raises AlreadyThere if there is a logbook already, or came to be meanwhile; that one is left as it is.
        """
        path = Path(path)
        draft = draft_of(path)
        try:
            book = cls(connect(draft), draft, read_only=False, now=now or _clock_of(path))
            book._copied_on = date.max  # what nobody was told of needs no copy
            with book:
                yield book
            put_in_place(draft, path)
        finally:
            discard(draft)

    @classmethod
    def open_or_create(cls, path: str | Path, *, now: Callable[[], datetime] | None = None) -> Self:
        """Open a logbook to write, or make it if there is none; two programs may do so at once."""
        path = Path(path)
        if path.exists():
            return cls.open(path, now=now)
        try:
            return cls.create(path, now=now)
        except AlreadyThere:
            return cls.open(path, now=now)

    @classmethod
    def open(cls, path: str | Path, read_only: bool = False, *,
             now: Callable[[], datetime] | None = None) -> Self:
        """Open a logbook.

        Parameters
        ----------
        path : str or Path
        read_only : bool
            True: nothing is written, not even to bring an older logbook up to date.
        now : callable, optional
            The clock; by default the computer's, on the day `reedlab.folder.clock.today_in` gives for the folder.

        Raises
        ------
        LogbookError
            If the file is missing, no logbook, damaged, of a newer reedlab or in use. It stays as it is.
        """
        path = Path(path)
        for _ in range(9):
            before = identity(path) if path.exists() else None
            book = cls._opened(path, read_only=read_only, now=now)
            if book._identity == before:
                break
            book.close()  # another file was put in its place while it was opened, or it was begun anew
        else:
            raise LogbookError(tr("{path} is being replaced all the time. Nothing was opened.").format(path=path))
        if not read_only:
            try:
                book._bring_up_to_date()
            except BaseException:
                book.close()
                raise
        return book

    @classmethod
    def _opened(cls, path: Path, *, read_only: bool, now: Callable[[], datetime] | None) -> Self:
        try:
            connection, old_version = connect_old(path, read_only=read_only)
            book = cls(connection, path, read_only=read_only, now=now)
            book._old_version = old_version
            return book
        except Damaged as err:
            if not read_only:
                raise
            book = cls(sqlite3.connect(":memory:"), path, read_only=True, now=now)
            try:
                book._salvage()
            except (sqlite3.Error, UnicodeDecodeError, Damaged):
                book.close()
                raise err from None
            return book

    def _salvage(self) -> None:
        """Go on with what is sound in a damaged file, and say what is lost."""
        self._connection.close()
        self._connection, self.lost = salvage(self._path)
        self._warn("\n".join([tr("The logbook is damaged. What is sound in it is read; this is lost:"),
                              *(f"  {x}" for x in self.lost), WAY_BACK]))

    def _warn(self, text: str) -> None:
        self.warned.append(text)
        warnings.warn(text, ReedlabWarning, stacklevel=2)

    def close(self) -> None:
        """Close the file. Closing twice does no harm."""
        self._open = False
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, err: BaseException | None,
                 tb: TracebackType | None) -> None:
        self.close()

    @property
    def path(self) -> Path:
        """The logbook file."""
        return self._path

    @property
    def today(self) -> date:
        """The player's own date, by the logbook's clock."""
        return self._now().date()

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction; whatever fails takes all of it back. Within another one it is part of that."""
        if self._read_only:
            raise LogbookError(tr("This logbook was opened for reading only. Nothing was saved."))
        self._be_open()
        if self._connection.in_transaction:
            yield
            return
        try:
            patiently(self._connection, "BEGIN IMMEDIATE")
            try:
                self._be_in_place()
                self._ready = False
                before = standing(self._path)
                yield
                patiently(self._connection, "COMMIT")
                saved(self._path, before)
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except (sqlite3.Error, UnicodeDecodeError) as err:
            raise spoken(err) from err

    @contextmanager
    def _reading(self) -> Iterator[None]:
        self._be_open()
        if self._connection.in_transaction:
            yield
            return
        try:
            self._connection.execute("BEGIN")
            try:
                patiently(self._connection, "SELECT 1 FROM sqlite_master")
                yield
            finally:
                self._connection.execute("COMMIT")
        except (sqlite3.Error, UnicodeDecodeError) as err:
            raise spoken(err) from err

    def _make_ready(self) -> None:
        """Do what comes before the first entry of a transaction: the day's copy, and page 1 into the journal.

        By its page 1 a journal is known again (`_journal`). A logbook without entries needs no copy. An entry is
        saved without its copy too, where the disk has no room for that: with a warning.
        """
        if self._ready:
            return
        self._ready = True
        if self._copied_on not in (self.today, date.max):
            self._back_up()
        self._connection.execute(f"PRAGMA user_version = {schema.VERSION}")

    def _back_up(self) -> None:
        if any(self._connection.execute(f"SELECT 1 FROM {schema.quoted(t)} LIMIT 1").fetchone() for t in TABLES):
            try:
                back_up(self._path, self.today)
            except NoCopy as err:
                self._warn(str(err))
            self._copied_on = self.today

    def _bring_up_to_date(self) -> None:
        with suppress(OSError):
            if self._path.stat().st_mode & 0o077:
                self._path.chmod(0o600)
        if self._old_version is None:
            return
        try:
            if self._old_version < schema.VERSION:
                back_up(self._path, self.today, f"-version-{self._old_version}")
            with self._connection:
                patiently(self._connection, "BEGIN IMMEDIATE")
                self._connection.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")  # page 1 first
                schema.migrate(self._connection)
        except (sqlite3.Error, UnicodeDecodeError) as err:
            raise spoken(err) from err

    def _be_in_place(self) -> None:
        """Refuse to write into a file that another has taken the place of."""
        try:
            same = identity(self._path) == self._identity
        except OSError:
            same = False
        if not same:
            raise LogbookError(tr("Another file was put in the place of {name} a moment ago. Nothing was saved. Look "
                                  "at what the logbook holds now, and save again.").format(name=self._path.name))

    def _be_open(self) -> None:
        if not self._open:
            raise LogbookError(tr("This logbook is closed. Open it again first."))
