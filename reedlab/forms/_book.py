"""Where a form finds its logbook and its day. The file is open only while something is read or written."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from weakref import WeakSet

from ..clock import today_in
from ..home import find_logbook
from ..protocol import Protocol
from ..tables import Frames

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["Book", "bring_up_to_date"]

_IN_USE: WeakSet[Book] = WeakSet()


@dataclass(frozen=True, eq=False)
class Book:
    """A logbook file and a clock, shared by the forms of a page."""

    path: Path
    today: Callable[[], date]
    _listeners: list[Callable[[], None]] = field(default_factory=list, repr=False)
    _seen: list[object] = field(default_factory=list, repr=False)

    def __post_init__(self) -> None:
        self._seen.append(self._state())
        _IN_USE.add(self)

    @classmethod
    def here(cls, path: Path | str | None = None, today: Callable[[], date] | None = None) -> Book:
        """Return the logbook of the page's folder, on the computer's date unless told otherwise."""
        place = Path(path) if path is not None else find_logbook()
        return cls(place, today if today is not None else lambda: today_in(place.parent))

    @property
    def exists(self) -> bool:
        """True once something has been saved."""
        try:
            return self.path.stat().st_size > 0
        except OSError:
            return False

    def on_change(self, refresh: Callable[[], None]) -> None:
        """Have `refresh` called after each Save made through this book, so that a page's forms agree."""
        self._listeners.append(refresh)

    def _state(self) -> object:
        try:
            stat = self.path.stat()
        except OSError:
            return None, self.today()
        return stat.st_mtime_ns, stat.st_size, self.today()

    def tell_forms(self) -> None:
        """Have every form of the page read the logbook again."""
        self._seen[:] = [self._state()]
        for refresh in self._listeners:
            refresh()

    def tell_forms_if_changed(self) -> None:
        """The same, if another page wrote to the logbook or a new day has begun."""
        if self._seen != [self._state()]:
            self.tell_forms()

    def frames(self) -> Frames:
        """Return all current rows; empty frames while there is no logbook yet."""
        if not self.exists:
            return Frames.trusted()
        with self.reading() as logbook:
            return logbook.frames()

    def protocols(self) -> dict[str, Protocol]:
        """Return the plan of every trial by name, in the order they were started."""
        if not self.exists:
            return {}
        with self.reading() as logbook:
            trials = logbook.frame("trials").sort_values(["started", "entry_id"])
            return {str(name): logbook.protocol(str(name)) for name in trials["trial"]}

    def now(self) -> datetime:
        """The computer's time of day on the form's day, so that a fixed day is kept throughout."""
        return datetime.combine(self.today(), datetime.now().time()).astimezone()

    @contextmanager
    def reading(self) -> Iterator[Logbook]:
        """Open the logbook to read."""
        from ..logbook import Logbook

        with Logbook.open(self.path, read_only=True) as logbook:
            yield logbook

    @contextmanager
    def writing(self) -> Iterator[Logbook]:
        """Open the logbook to write; the first Save makes it. Afterwards the page's forms are told."""
        from ..logbook import Logbook

        with Logbook.open_or_create(self.path, now=self.now) as logbook:
            yield logbook
        self.tell_forms()


def bring_up_to_date() -> None:
    """Have the forms of this page show the logbook as it now stands; the page asks for it when shown again."""
    for book in list(_IN_USE):
        book.tell_forms_if_changed()
