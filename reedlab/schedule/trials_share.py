"""Several running trials on one day: the rating slots of each come first, what is left is shared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from ..rows.tables import Frames
from ..trial.calendar import going
from ..trial.protocol import Protocol
from ..wording import date_month, tr
from .days import PlayDay, Schedule, Unmet
from .diary import Diary
from .limits import SLOT, hours_matter
from .usual import Usual

__all__ = ["Share", "in_order", "share_of", "slot_minutes", "too_long"]

_KINDS = ("slot", "play", "break_in", "free")  # a concert's minutes are not those of practice


@dataclass(frozen=True)
class Share:
    """What one trial leaves to the others on each day.

    `taken` are minutes of a day that are not this trial's. `free` are the most minutes it may suggest beside what
    it asks for (a day not named: all that is left), and it may suggest `others`, reeds of no trial. `concerts`
    have their reeds already, named by another trial.
    """

    taken: Mapping[date, float] = field(default_factory=dict)
    free: Mapping[date, float] = field(default_factory=dict)
    others: bool = True
    concerts: Mapping[date, tuple[str, ...]] = field(default_factory=dict)


def in_order(protocol: Protocol, frames: Frames, today: date) -> list[Protocol]:
    """Return the trials that are not over yet, `protocol` among them, in the order they are planned.

    A standing trial asks for nothing and is not among them. First those that own their rating slots only, then those
    to which the hours matter; of each kind the one that started first.
    """
    plans = {**going(frames, today), protocol.trial: protocol}
    return sorted((p for p in plans.values() if not p.standing), key=lambda p: (hours_matter(p), p.start, p.trial))


def slot_minutes(diary: Diary, on: date) -> float:
    """Return the minutes that a trial's rating slots take on a date, by its frozen plan."""
    protocol, number = diary.protocol, diary.number(on)
    if number is None or diary.calendar.over(on):
        return 0.0
    if number > protocol.days:
        return 2 * SLOT  # it goes on until its reeds are done
    reeds = {s.reed for s in protocol.slots if s.day == number} or {
        r for u in protocol.units for r, d in u.cells if d == number}
    if not reeds and not protocol.slots and not diary.cell:  # dealt by hand: no days are named
        reeds = set(protocol.reeds[:4])
    return SLOT * sum(diary.in_service(r, on) for r in reeds)


def share_of(place: int, diaries: Sequence[Diary], made: Sequence[Schedule], usual: Usual, first: date,
             days: int) -> Share:
    """Return what is left for the trial at a place of the order.

    Parameters
    ----------
    place : int
    diaries : sequence of Diary
        Of all trials, in order.
    made : sequence of Schedule
        Of the trials before it.
    usual : Usual
    first, days
        The dates planned.
    """
    if len(diaries) == 1:
        return Share()
    taken: dict[date, float] = {}
    free: dict[date, float] = {}
    full = hours_matter(diaries[place].protocol)
    for on in (first + timedelta(days=i) for i in range(days)):
        minutes = usual.minutes_on(on)
        if minutes <= 0:
            continue
        used = sum(x.minutes for s in made if (day := s.day(on)) for x in day.lines if x.kind in _KINDS)
        own = min(slot_minutes(diaries[place], on), minutes)
        after = [d for d in diaries[place + 1:] if slot_minutes(d, on) > 0]
        left = minutes - used - sum(slot_minutes(d, on) for d in after)
        each = max(0.0, left - own) / (len(after) + 1)
        most = max(own, own + each if full else left)
        taken[on] = minutes - most
        free[on] = 0.0 if not full and any(hours_matter(d.protocol) for d in after) else each
    named: dict[date, tuple[str, ...]] = {}
    for s in reversed(made):
        named.update({on: reeds for on, reeds in s.concerts.items() if reeds})
    return Share(taken, free, place == len(diaries) - 1, named)


def too_long(days: Iterable[PlayDay], diaries: Sequence[Diary], minutes_on: Callable[[date], float]) -> list[PlayDay]:
    """Return the days with a word on those whose rating slots, of all trials together, do not fit."""
    out = []
    for day in days:
        each = [m for m in (slot_minutes(d, day.on) for d in diaries) if m > 0]
        minutes = minutes_on(day.on)
        if day.state == "on" and len(each) > 1 and sum(each) > minutes + 1e-9:
            told = Unmet(
                "trials_too_long", tr("The ratings of your {n} trials take {each:g} minutes on {spoken}, and "
                                      "your day has {minutes:g}. Play a little longer if you can, or leave a "
                                      "rating out.").format(n=len(each), each=sum(each), spoken=date_month(day.on),
                                                            minutes=minutes), day.on)
            day = replace(day, unmet=(*day.unmet, told))
        out.append(day)
    return out
