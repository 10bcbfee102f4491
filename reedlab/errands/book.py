"""Where a form finds its logbook and its day. The file is open only while something is read or written."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from weakref import WeakSet

from ..errors import ReedlabError, ReedlabWarning
from ..folder.clock import today_in
from ..folder.resources import find_logbook
from ..rows.tables import Frames
from ..screens.due import TrialDay, running
from ..trial.protocol import Protocol

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["LISTED", "Book", "bring_up_to_date"]

_IN_USE: WeakSet[Book] = WeakSet()
#: Entries that a page lists to be changed: what was written of their days is always at hand.
LISTED: Final = 60


@dataclass(frozen=True, eq=False)
class Book:
    """A logbook file and a clock, shared by the forms of a page."""

    path: Path
    today: Callable[[], date]
    _listeners: list[Callable[[], None]] = field(default_factory=list, repr=False)
    _seen: list[object] = field(default_factory=list, repr=False)
    _kept: dict[str, Any] = field(default_factory=dict, repr=False)
    #: for each Save that was tried, whether it is in the logbook
    saves: list[bool] = field(default_factory=list, repr=False)
    #: what a player should know about the last Save although it went well
    warned: list[str] = field(default_factory=list, repr=False)
    #: what was lost of the logbook when it was last read
    lost: list[str] = field(default_factory=list, repr=False)

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
        from ..logbook._journal import first_page

        try:
            stat = self.path.stat()
            changes = first_page(self.path)[24:28]  # SQLite counts the changes of a file there
            return changes, stat.st_ino, stat.st_mtime_ns, stat.st_size, self.today()
        except (OSError, ReedlabError):  # each form says so itself when it is shown
            return None

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
        """Return all current rows; empty frames while there is no logbook yet. Read once, as long as nobody writes."""
        return self._whole()[0]

    def _whole(self) -> tuple[Frames, dict[str, Protocol]]:
        if not self.exists:
            return Frames.trusted(), {}
        state = self._state()
        if state is None or self._kept.get("whole_state", self) != state:
            with self.reading() as logbook:
                frames = logbook.frames()
                self._kept.update(whole_state=state, whole=(frames, logbook.protocols(frames)))
        whole: tuple[Frames, dict[str, Protocol]] = self._kept["whole"]
        return whole

    def frames_now(self, *days: date | None) -> Frames:
        """Return the rows that matter for today, for the days of the entries listed last, and for some more days.

        Read once for all forms of a page, as long as nobody writes.
        """
        if not self.exists:
            return Frames.trusted()
        state = self._state()
        wanted = min([self.today(), *(d for d in days if d is not None)])
        if self._kept.get("state", self) != state or wanted < self._kept["since"]:
            with self.reading() as logbook:
                since = min(wanted, logbook.day_of_last(LISTED) or wanted)
                frames = logbook.frames_since(since)
                self._kept.update(state=state, since=since, frames=frames, plans=logbook.protocols(frames), days={})
        kept: Frames = self._kept["frames"]
        return kept

    def plans_now(self) -> dict[str, Protocol]:
        """Return the plans of the trials in `frames_now`, in the order they were started."""
        self.frames_now()
        return dict(self._kept.get("plans", {}))

    def trial_days(self, on: date) -> list[TrialDay]:
        """Return every trial that is not over on a date, as it stands then; reckoned once for all forms of a page."""
        frames = self.frames_now(on)
        days: dict[date, list[TrialDay]] = self._kept.get("days", {})
        if on not in days:
            days[on] = running(self.plans_now(), frames, on)
        return days[on]

    def the_case(self) -> tuple[Frames, dict[str, Protocol], int]:
        """Return the rows that the reed case shows today, their plans, and how many reeds have ever left service."""
        if not self.exists:
            return Frames.trusted(), {}, 0
        with self.reading() as logbook:
            frames = logbook.frames_of_the_case(self.today())
            return frames, logbook.protocols(frames), logbook.reeds_gone()

    def protocols(self) -> dict[str, Protocol]:
        """Return the plan of every trial by name, in the order they were started."""
        return dict(self._whole()[1])

    def now(self) -> datetime:
        """The computer's time of day on the form's day, so that a fixed day is kept throughout."""
        return datetime.combine(self.today(), datetime.now().time()).astimezone()

    @contextmanager
    def reading(self) -> Iterator[Logbook]:
        """Open the logbook to read. What is lost of a damaged one stands in `lost` afterwards."""
        from ..logbook import Logbook

        with _said_on_the_page(), Logbook.open(self.path, read_only=True) as logbook:
            yield logbook
            self.lost[:] = logbook.warned

    @contextmanager
    def writing(self) -> Iterator[Logbook]:
        """Open the logbook to write, all of it or nothing; the first Save makes it. Then the page's forms are told."""
        from ..logbook import Logbook

        try:
            with _said_on_the_page(), Logbook.open_or_create(self.path, now=self.now) as logbook:
                with logbook.together():
                    yield logbook
                self.warned[:] = logbook.warned
        except BaseException:
            self.saves.append(False)
            raise
        self.saves.append(True)
        self.tell_forms()


@contextmanager
def _said_on_the_page() -> Iterator[None]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ReedlabWarning)
        yield


def bring_up_to_date() -> None:
    """Have the forms of this page show the logbook as it now stands; the page asks for it when shown again."""
    for book in list(_IN_USE):
        book.tell_forms_if_changed()
