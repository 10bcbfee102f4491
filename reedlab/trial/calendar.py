"""The calendar of a trial: its numbered days, its pauses, its last day, and when it holds its reeds.

Every other part asks here. Trial days are numbered from 1. A paused day has no number and moves the rest along; a
day off keeps its number, and its ratings are missing. On the day a trial is ended by hand its entries still count,
and its reeds are free again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Final

from .opened_boxes import plans_of
from .protocol import Protocol

if TYPE_CHECKING:
    from ..rows.tables import Frames

__all__ = ["TrialCalendar", "calendar_of", "calendar_with", "going", "paused_days", "runs_until_done"]

_DAY: Final = timedelta(days=1)
_LONGEST: Final = 3660  # days; a plan by hand may claim any length


def runs_until_done(protocol: Protocol) -> bool:
    """Say whether the trial has no last day: it stands, or it runs until every reed is worn out or reaches its cap."""
    own_hours = protocol.card.lives and not protocol.same_days and protocol.cap_hours is not None
    return bool(protocol.standing) or own_hours


@dataclass(frozen=True)
class TrialCalendar:
    """The days of one trial.

    Attributes
    ----------
    start : date
    days : int
        Planned trial days.
    open_end : bool
        It runs until all its reeds are done, whatever `days` says (`runs_until_done`).
    paused : frozenset of date
    ended : date or None
        The day it was ended by hand.
    """

    start: date
    days: int
    open_end: bool = False
    paused: frozenset[date] = frozenset()
    ended: date | None = None

    def number(self, on: date) -> int | None:
        """Return the trial day of a date; None before the start and on a paused day. It counts on past the last."""
        if on < self.start or on in self.paused:
            return None
        return (on - self.start).days + 1 - sum(self.start <= d < on for d in self.paused)

    def dates(self, until: date | None = None) -> tuple[date, ...]:
        """Return the dates of trial days 1 to `days`; with an open end, of all up to `until`."""
        out: list[date] = []
        day = self.start
        while len(out) < self.days or (self.open_end and until is not None and day <= until):
            if day not in self.paused:
                out.append(day)
            day += _DAY
        return tuple(out)

    @cached_property
    def last(self) -> date:
        """The last planned day, moved along by the pauses."""
        last = self.start + _DAY * (min(self.days, _LONGEST) - 1)
        for off in sorted(d for d in self.paused if d >= self.start):
            if off > last:
                break
            last += _DAY
        return last

    def passed(self, on: date) -> bool:
        """Say whether the last planned day is behind; never so with an open end."""
        return not self.open_end and self.last < on

    def stopped(self, on: date) -> bool:
        """Say whether it was ended by hand, on this date or before."""
        return self.ended is not None and self.ended <= on

    def over(self, on: date) -> bool:
        """Say whether it asks for nothing any more: stopped or passed."""
        return self.stopped(on) or self.passed(on)

    def holds(self, on: date) -> bool:
        """Say whether its reeds are its own on a date."""
        return on >= self.start and not self.over(on)

    @property
    def last_held(self) -> date:
        """The last planned day on which its reeds are its own; before the start if it was ended then."""
        return self.last if self.ended is None else min(self.last, self.ended - _DAY)

    @property
    def last_counted(self) -> date:
        """The last planned day whose entries are its own."""
        return self.last if self.ended is None else min(self.last, self.ended)


def calendar_with(protocol: Protocol, paused: Iterable[date] = (), ended: date | None = None) -> TrialCalendar:
    """Return the calendar of a plan with the days paused and the day it was ended by hand, if it was."""
    return TrialCalendar(protocol.start, protocol.days, runs_until_done(protocol), frozenset(paused), ended)


def calendar_of(protocol: Protocol, frames: Frames) -> TrialCalendar:
    """Return the calendar of a plan as the logbook has it."""
    rows = frames.trials
    ended = [on.date() for name, on, known in zip(rows["trial"], rows["ended"], rows["ended"].notna(), strict=True)
             if known and name == protocol.trial]
    return calendar_with(protocol, paused_days(frames), ended[-1] if ended else None)


def paused_days(frames: Frames) -> frozenset[date]:
    """Return the days that count for no trial: holidays and illness written down as a pause."""
    paused = frames.days["date"].to_numpy()[frames.days["pause"].to_numpy()]
    return frozenset(paused.astype("datetime64[D]").tolist())


def goes_on(plan: Protocol, frames: Frames, on: date) -> bool:
    """Say whether a plan asks for anything on a date or later; an old diary, which planned no day, never does."""
    return (plan.how_dealt != "not" or bool(plan.slots)) and not calendar_of(plan, frames).over(on)


def going(frames: Frames, on: date) -> Mapping[str, Protocol]:
    """Return by name the trials that have a plan and are not over on a date, waiting and paused ones too.

    An old diary asks for nothing and is not among them. A trial with an open end stays until it is ended by hand.
    """
    return {name: plan for name, plan in plans_of(frames).items() if goes_on(plan, frames, on)}
