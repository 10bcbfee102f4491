"""The file under a logbook: opening and closing it, one transaction at a time, the day's copy."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from ..clock import today_in
from ..errors import LogbookError
from ..tables import TABLES
from . import schema
from .backup import back_up
from .opening import connect_new, connect_old, spoken

__all__ = ["LogbookFile"]


def _clock_of(path: Path) -> Callable[[], datetime]:
    """Return the computer's clock, set to the day that holds in the logbook's folder (the demo has its own)."""
    return lambda: datetime.combine(today_in(path.parent), datetime.now().time()).astimezone()


class LogbookFile:
    """An open logbook file. What stands in it is the business of `store.Logbook`."""

    def __init__(self, connection: sqlite3.Connection, path: Path, *, read_only: bool,
                 now: Callable[[], datetime] | None) -> None:
        self._connection = connection
        self._path = path
        self._read_only = read_only
        self._now = now or _clock_of(path)
        self._open = True
        self._copied_on: date | None = None

    @classmethod
    def create(cls, path: str | Path, *, now: Callable[[], datetime] | None = None) -> Self:
        """Make a new logbook at `path`. Raises LogbookError if there is a file already."""
        return cls(connect_new(Path(path)), Path(path), read_only=False, now=now)

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
            The clock; by default the computer's, on the day `reedlab.clock.today_in` gives for the folder.

        Raises
        ------
        LogbookError
            If the file is missing, no logbook, damaged, of a newer reedlab or in use. It stays as it is.
        """
        book = cls(connect_old(Path(path), read_only=read_only), Path(path), read_only=read_only, now=now)
        if not read_only:
            try:
                book._bring_up_to_date()
            except BaseException:
                book.close()
                raise
        return book

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
            raise LogbookError("This logbook was opened for reading only. Nothing was saved.")
        self._be_open()
        if self._connection.in_transaction:
            yield
            return
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as err:
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
                yield
            finally:
                self._connection.execute("COMMIT")
        except sqlite3.Error as err:
            raise spoken(err) from err

    def _back_up(self) -> None:
        """Make the day's copy before the first entry of a day; a logbook without entries needs none."""
        if self._copied_on == self.today:
            return
        if any(self._connection.execute(f"SELECT 1 FROM {schema.quoted(t)} LIMIT 1").fetchone() for t in TABLES):
            back_up(self._path, self.today)
            self._copied_on = self.today

    def _bring_up_to_date(self) -> None:
        version = self._connection.execute("PRAGMA user_version").fetchone()[0]
        if version >= schema.VERSION:
            return
        try:
            back_up(self._path, self.today, f"-version-{version}")
            self._connection.execute("BEGIN IMMEDIATE")
            schema.migrate(self._connection)
            self._connection.execute("COMMIT")
        except sqlite3.Error as err:
            raise spoken(err) from err

    def _be_open(self) -> None:
        if not self._open:
            raise LogbookError("This logbook is closed. Open it again first.")
