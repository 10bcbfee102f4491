"""The plan of one week of a trial."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import pandas as pd

from ..errors import InputError
from ..rows.tables import Frames
from ..schedule import Line, PlayDay, Wishes, schedule
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..wording import tr

__all__ = ["NO_WAY", "Week", "Wishes", "to_play", "week_of", "weeks_begun"]

#: What is done with a reed that is played beside what was dealt, by kind of line.
NO_WAY: Final = {"break_in": tr("break in"), "concert": tr("concert")}
_WEEK: Final = timedelta(days=7)


@dataclass(frozen=True)
class Week:
    """Seven dates of a trial, counted from its first day, with what is planned on them.

    `number` counts from 1; 0 stands for the last days before the start. `weeks` is how many there are, None where
    the trial runs until every reed is done.
    """

    number: int
    weeks: int | None
    days: tuple[PlayDay, ...]


def week_of(protocol: Protocol, frames: Frames, *, today: date, number: int | None = None,
            wishes: Wishes | None = None) -> Week:
    """Return one week of a trial.

    Days from `today` on are planned from the diary as it stands; earlier ones as they were planned when their week
    began.

    Parameters
    ----------
    protocol : Protocol
    frames : Frames
        The logbook: reeds that left service drop out, paused days shift the rest.
    today : date
    number : int, optional
        Which week, from 1 (0: up to seven days before the start); by default the one `today` falls in, else the
        first or the last.
    wishes : Wishes, optional

    Raises
    ------
    InputError
        If the trial has no such week.
    """
    start = protocol.start
    calendar = calendar_of(protocol, frames)
    last = calendar.last
    weeks = None if calendar.open_end else (last - start).days // 7 + 1
    if number is None:
        number = max((today - start) // _WEEK + 1, 1)
        number = number if weeks is None else min(number, weeks)
    if number < 0 or (weeks is not None and number > weeks) or (number == 0 and today >= start):
        least = 0 if today < start else 1
        known = tr("weeks from {least} on").format(least=least) if weeks is None else tr(
                                   "weeks {least} to {weeks}").format(least=least, weeks=weeks)
        raise InputError(tr("The trial '{trial}' has {known}; week {number} was asked for.").format(
                             trial=protocol.trial, known=known, number=number))
    if number == 0:
        first, end = max(today, start - _WEEK), start - timedelta(days=1)
    else:
        first = start + (number - 1) * _WEEK
        end = first + timedelta(days=6)
        end = end if weeks is None else min(end, last)
    days = _days(protocol, frames, today, first, end, wishes or {})
    if not days:
        raise InputError(tr("Nothing is left to plan in week {number} of the trial '{trial}'.").format(
                             number=number, trial=protocol.trial))
    return Week(number, weeks, days)


def weeks_begun(protocol: Protocol, frames: Frames, today: date) -> int:
    """Return how many weeks of a trial have begun by today, or had before the day on which it was ended."""
    calendar = calendar_of(protocol, frames)
    ends = [today, *([] if calendar.open_end else [calendar.last]),
            *([] if calendar.ended is None else [calendar.ended - timedelta(days=1)])]
    return max((min(ends) - protocol.start).days // 7 + 1, 0)


def _days(protocol: Protocol, frames: Frames, today: date, first: date, end: date,
          wishes: Wishes) -> tuple[PlayDay, ...]:
    out: list[PlayDay] = []
    if first < today:
        gone = min(end, today - timedelta(days=1))
        past = schedule(protocol, _before(frames, first), today=first, days=(gone - first).days + 1, **wishes)
        out += past.days
    if end >= today:
        ahead = schedule(protocol, frames, today=today, days=(end - today).days + 1, **wishes)
        out += [d for d in ahead.days if first <= d.on]
    return tuple(d for d in out if d.on <= end and d.state != "over")


def _before(frames: Frames, day: date) -> Frames:
    """Return what the logbook said of reeds before a day; pauses and days off stay."""
    def cut(frame: pd.DataFrame) -> pd.DataFrame:
        return frame[frame["date"].dt.date < day]

    return replace(frames, sittings=cut(frames.sittings), retirements=cut(frames.retirements))


def to_play(day: PlayDay) -> list[Line]:
    """Return a day's lines that are to be played, in their order."""
    lines = [x for x in day.lines if x.kind in ("slot", "play", "break_in", "concert")]
    return sorted(lines, key=lambda x: (x.order is None, x.order or 0, x.reed))
