"""Make the schedule of one trial, or of one of its days."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Unpack

from ..rows.tables import Frames
from ..trial.calendar import goes_on
from ..trial.practice import value
from ..trial.protocol import Protocol
from ..wording import all_of, date_month, tr
from .concerts import Kept, days_to_break_in, keep_for_concerts
from .days import PlayDay, Schedule, Unmet
from .diary import Diary, diary_of
from .evenness import minutes_of_both, too_uneven, uneven_end
from .in_service import standing_schedule
from .limits import SLOT
from .own_ways import OwnWays
from .planner import Planner
from .trials_share import Share, in_order, share_of, too_long
from .usual import Usual, Wishes, usual_from

__all__ = ["running_schedules", "schedule", "what_to_play"]

_LONGEST = 1000  # days planned ahead at most


def schedule(protocol: Protocol, frames: Frames, *, today: date, days: int | None = None,
             **wishes: Unpack[Wishes]) -> Schedule:
    """Plan the coming days of a trial from the frozen plan and the diary so far.

    Everything follows from the arguments. The habit of a reed (or of a reed's day) is always the one dealt. Days
    that nothing has upset stay as they were, whenever the schedule is made again. Other running trials of the
    logbook have their part of each day: the rating slots of all come first (see `shared`). A standing trial asks for
    nothing: its days list the reeds that serve, and it takes no part of a day from others.

    Parameters
    ----------
    protocol : Protocol
    frames : Frames
        The logbook's current rows. Days marked off or paused may lie ahead.
    today : date
        The first day planned; entries of today do not change what is planned for it, except where a reed has left
        service or has been played in a rehearsal or concert.
    days : int, optional
        So many days from today; default: to the end of the trial.
    wishes
        See `Wishes`. Where neither they nor the logbook say anything of the minutes of a day: 60, or what the plan's
        rating slots take if that is more.

    Raises
    ------
    InputError
        With everything wrong in the wishes.
    """
    if protocol.standing:
        return standing_schedule(protocol, frames, today, days)
    order = in_order(protocol, frames, today)
    most = max(max(Counter(s.day for s in p.slots).values(), default=0) for p in order)
    usual = usual_from(frames, default_min=max(value("usual_practice_min"), SLOT * most), **wishes)
    diaries = [diary_of(p, frames, today) for p in order]
    place = order.index(protocol)
    ahead = days
    if days is None:
        mine = diaries[place].calendar
        ahead = _LONGEST if mine.open_end and mine.ended is None else max(1, (mine.last - today).days + 1)
    elif len(order) > 1 and usual.concerts:  # the reeds named for a concert depend on the days before it
        ahead = max(days, (usual.concerts[-1].on - today).days + 1)
    made: list[Schedule] = []
    for k in range(place):
        share = share_of(k, diaries, made, usual, today, ahead or 1)
        made.append(_one(diaries[k], usual, share, today, ahead))
    share = share_of(place, diaries, made, usual, today, ahead or 1)
    out = _one(diaries[place], usual, share, today, days)
    if len(order) == 1:
        return out
    planned = too_long(out.days, diaries, usual.minutes_on)
    said = [u for day in planned for u in day.unmet if u not in out.unmet]
    return replace(out, days=tuple(planned), unmet=(*out.unmet, *said))


def _one(diary: Diary, usual: Usual, share: Share, today: date, days: int | None) -> Schedule:
    """Plan one trial with the share of each day that is its own."""
    protocol = diary.protocol
    usual = replace(usual, taken=share.taken)
    ways = None if protocol.same_days or not diary.dealt else OwnWays(protocol)
    last = today - timedelta(days=1) if diary.calendar.stopped(today) else diary.calendar.last
    kept = _kept_and_ready(diary, usual, ways, today, share)
    plan = Planner(diary, usual, kept, ways, today, share)
    out: list[PlayDay] = []
    on, open_end = today, diary.calendar.open_end and diary.calendar.ended is None
    whole = days is None
    while len(out) < (_LONGEST if days is None else days):
        if _over(diary, on, last, open_end):
            if not out:
                out.append(PlayDay(on, "over", None))
            break
        out.append(plan.plan(on))
        on += timedelta(days=1)
    unmet = [*kept.unmet, *(u for d in out for u in d.unmet)]
    if whole and out[-1].state != "over":
        unmet += _at_the_end(diary, plan, last, open_end, len(out) == _LONGEST)
    if whole and too_uneven(minutes_of_both(diary)):
        unmet.append(uneven_end(over=out[-1].state == "over"))
    return Schedule(protocol.trial, tuple(out), tuple(unmet), dict(kept.reeds), dict(diary.arm))


def _kept_and_ready(diary: Diary, usual: Usual, ways: OwnWays | None, today: date, share: Share) -> Kept:
    """Name the reeds for each concert, so that the days as they will be planned break those of the trial in in time.

    How often a reed will have played by a date depends on days off and on what is made up when, so the days are
    planned ahead with the reeds named; one that would not be ready is passed over, and the choice made again.
    Counting the plan's days instead would name another reed as soon as a missed day is made up.
    """
    unready: dict[date, set[str]] = {}
    while True:
        kept = keep_for_concerts(diary, usual, ways, today, share.concerts, unready)
        late = _first_late(diary, usual, ways, kept, today, share)
        if late is None:
            return kept
        unready.setdefault(late[0], set()).update(late[1])


def _first_late(diary: Diary, usual: Usual, ways: OwnWays | None, kept: Kept,
                today: date, share: Share) -> tuple[date, set[str]] | None:
    """Return the first concert for which reeds of the trial will not be broken in, and those reeds."""
    own = {on: [(r, n) for r in reeds if r in diary.protocol.reeds
                and diary.play_days(r, today) < (n := days_to_break_in(diary.protocol, on))]
           for on, reeds in kept.reeds.items()}
    plan: Planner | None = None
    day = today
    for on in sorted(d for d, reeds in own.items() if reeds):
        plan = plan or Planner(diary.branch(), usual, replace(kept, unmet=[]), ways, today, share)
        while day < on:
            plan.plan(day)
            day += timedelta(days=1)
        late = {r for r, n in own[on] if plan.diary.play_days(r, on) < n}
        if late:
            return on, late
    return None


def what_to_play(protocol: Protocol, frames: Frames, today: date, **wishes: Unpack[Wishes]) -> PlayDay:
    """Return one day's plan: the first day of `schedule` with the same wishes.

    The form, the printed sheet, the calendar and the command line all show this.
    """
    return schedule(protocol, frames, today=today, days=1, **wishes).days[0]


def running_schedules(protocols: Mapping[str, Protocol], frames: Frames, on: date) -> dict[str, Schedule]:
    """Return by name what the trials that are not over plan for a date, waiting and paused ones too.

    An old diary asks for nothing. A trial with an open end is over once its last reed is done, which its plan tells.
    """
    plans = {name: schedule(p, frames, today=on, days=1) for name, p in protocols.items() if goes_on(p, frames, on)}
    return {name: plan for name, plan in plans.items() if plan.days[0].state != "over"}


def _over(diary: Diary, on: date, last: date, open_end: bool) -> bool:
    if on < diary.protocol.start:
        return False
    if open_end:
        return not any(diary.needed(r, on) for r in diary.protocol.reeds)
    return on > last


def _at_the_end(diary: Diary, plan: Planner, last: date, open_end: bool, cut: bool) -> list[Unmet]:
    out = []
    protocol = diary.protocol
    if plan.turns is not None:
        here = [r for r in protocol.reeds if diary.needed(r, last)]
        missed = [] if plan.full else plan.turns.missed_for_good(protocol.days, here)
        if missed:  # where the hours matter, the minutes went to the other reeds and come back to these
            reeds = tuple(sorted({r for t in missed for r in t.reeds if r in here}))
            out.append(Unmet("no_room", tr("Some missed ratings cannot be made up by {spoken}, the last day: the days "
                                           "are full. It is about {listed}.").format(
                                            spoken=date_month(last), listed=all_of(reeds)), last, reeds))
        if plan.turns.cut:
            out.append(Unmet("sets_apart", tr("With so few reeds a day, the reeds of a matched set play on different "
                                              "days. More reeds a day would keep them together.")))
    aside = tuple(r for r in protocol.reeds if r in diary.aside)
    if aside:
        out.append(Unmet("set_aside", tr("Set aside, so not planned: {aside}. Take them back to go on with "
                                         "them.").format(aside=", ".join(aside)), None, aside))
    if protocol.cap_hours is not None and plan.ways is not None:
        short = tuple(r for r in protocol.reeds if diary.needed(r, last))
        if short and (cut or not open_end):
            out.append(Unmet("not_finished", tr("At this pace {short} will not reach {cap_hours:g} hours by the end. "
                                                "More minutes a day would help.").format(
                                                 short=", ".join(short), cap_hours=protocol.cap_hours), None,
                             short))
    late = tuple(r for r in protocol.reeds if not protocol.from_new and plan.today < protocol.start
                 and diary.in_service(r, protocol.start) and diary.play_days(r, protocol.start) < 3)
    if late:
        out.append(Unmet("break_in_late", tr("{late} will not be broken in by {spoken}. Start later, or play more "
                                             "minutes before.").format(
                                              late=", ".join(late),
                                              spoken=date_month(protocol.start)), protocol.start, late))
    return out
