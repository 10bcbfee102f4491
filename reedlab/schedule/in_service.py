"""A day of a standing trial: nothing is owed, the reeds in service are there to choose from, each with its way."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from ..rows.tables import Frames
from ..trial.protocol import Protocol
from .days import Line, PlayDay, Schedule
from .diary import Diary, diary_of

__all__ = ["in_service", "standing_schedule"]

_WEEK = 7  # days ahead, unless asked for


def standing_schedule(protocol: Protocol, frames: Frames, today: date, days: int | None) -> Schedule:
    """Return the coming days; each lists the reeds that serve as far as is known today."""
    diary = diary_of(protocol, frames, today)
    dates = [today + timedelta(days=i) for i in range(_WEEK if days is None else days)]
    return Schedule(protocol.trial, tuple(_day(diary, on, today) for on in dates), (), {}, dict(diary.arm))


def in_service(diary: Diary, on: date) -> Iterator[str]:
    """Yield the reeds of a standing trial that serve on a date: dealt by then, not gone, done or set aside."""
    since = diary.protocol.served_since
    for reed in diary.protocol.reeds:
        if since[reed] <= on and (diary.needed(reed, on) or (diary.gone.get(reed) == on and reed in diary.today_done)):
            yield reed


def _day(diary: Diary, on: date, today: date) -> PlayDay:
    number = diary.number(on)
    if diary.calendar.stopped(on):
        return PlayDay(on, "over", None)
    if on in diary.calendar.paused or number is None:
        return PlayDay(on, "paused" if on in diary.calendar.paused else "waiting", None)
    done = {*diary.today_practice, *diary.today_minutes} if on == today else set()
    lines = tuple(Line(None, r, 0.0, diary.dealt[r], "play", done=r in done) for r in in_service(diary, on))
    return PlayDay(on, "on", number, lines)
