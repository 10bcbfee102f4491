"""Not playing today, or until a date: what moves along, what cannot be made up, and the rows to write.

A holiday, an illness and a day off are one thing to a player. A day on which nothing of a trial was played yet is
skipped by all trials: it takes no number, and the rest moves along (`pause` in the table of days). So is a day gone by
if nothing of any trial was played since: the deal belongs to the n-th day of playing, and no rating was given that
could have moved it. A day before that, and one with an entry of a trial, keeps its number, for entries count from it;
then a rating that belongs to that day is lost, and any other is made up later.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import pandas as pd

from ..errors import InputError
from ..rows.records import Day
from ..rows.tables import Frames, typed
from ..rows.values import as_it_stands, read_row
from ..schedule import coming_concerts
from ..trial.calendar import TrialCalendar, calendar_of
from ..trial.protocol import Protocol
from ..wording import all_of, spoken_date, spoken_day, tr, trn
from .saving import Store

__all__ = ["LONGEST", "Away", "DayOff", "away", "away_now", "back_again", "day_off", "days_behind",
           "spell_words"]

#: Days away that may be written down at once.
LONGEST = 400


#: Days gone by move a trial along until it ends later by this share of its planned days, all pauses counted.
_MOST_MOVED = 0.5


@dataclass(frozen=True)
class Away:
    """`rows` to put into the logbook; `moved` says how far each trial moves, `lost` what cannot be made up.

    `emptied` are the entries of days to come of which nothing is left to say: they are to be withdrawn.
    """

    rows: tuple[Day, ...]
    moved: tuple[str, ...]
    lost: tuple[str, ...]
    emptied: tuple[int, ...] = ()

    def write(self, logbook: Store) -> None:
        """Write it into a logbook."""
        for number in self.emptied:
            logbook.withdraw("days", number)
        for row in self.rows:
            logbook.put(row)


def away(frames: Frames, plans: Mapping[str, Protocol], first: date, last: date, today: date) -> Away:
    """Return what not playing from one date to another means.

    Parameters
    ----------
    frames : Frames
        All rows that matter since the earlier of `first` and `today`.
    plans : mapping
        The plans in `frames`, by name; those that are over do not count.
    first, last, today : date

    Raises
    ------
    InputError
        The dates are the wrong way round, or too far apart.
    """
    if last < first or (last - first).days >= LONGEST:
        raise InputError(tr("The last day away must come after the first, within a year or so."))
    going = {n: p for n, p in plans.items() if p.how_dealt != "not" and not calendar_of(p, frames).over(first)}
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    busy = _days_played(frames, going)
    behind = set(days_behind(frames, plans, today))
    skipped = [d for d in days if (d >= today or d in behind) and d not in busy
               and any(calendar_of(p, frames).number(d) is not None for p in going.values())]
    paused = {*skipped, *frames.days.loc[frames.days["pause"], "date"].dt.date}
    rows = [_row(frames, d, day_off=True, pause=d in paused) for d in days]
    after = _with(frames, rows)
    moved = [_moved(name, calendar_of(p, frames), calendar_of(p, after)) for name, p in going.items()]
    lost = [text for name, p in going.items() for text in _lost(name, p, after, [d for d in days if d not in skipped])]
    concerts = [c.on for c in coming_concerts(frames, first) if c.on <= last]
    stays = [tr("The concert on {spoken_date} stays in the plan.").format(
                 spoken_date=spoken_date(on)) for on in concerts]
    return Away(tuple(rows), tuple(x for x in moved if x), (*lost, *stays))


@dataclass(frozen=True)
class DayOff:
    """Not playing on one day: whether that is written down already, and what saying so, or the contrary, would mean."""

    on: date
    stands: bool
    meant: Away


def day_off(frames: Frames, plans: Mapping[str, Protocol], on: date, today: date) -> DayOff:
    """Return what not playing on a day means, or, where that is written down already, playing after all."""
    stands = any(first <= on <= last for first, last in away_now(frames, min(on, today)))
    return DayOff(on, stands, back_again(frames, plans, on, on, on) if stands else away(frames, plans, on, on, today))


def days_behind(frames: Frames, plans: Mapping[str, Protocol], today: date) -> tuple[date, ...]:
    """Return the days just gone by that the trials can still be moved along by, if nothing was played on them.

    They came after the last entry of any trial, and ratings that belong to them would be lost. There are none once a
    trial is over, for its answer is open then, nor beyond what a plan may move along (half of its days).
    """
    started = {n: (p, calendar_of(p, frames)) for n, p in plans.items() if p.how_dealt != "not" and p.start < today}
    going = {n: p for n, (p, c) in started.items() if not c.over(today)}
    by_day = [(p, started[n][1]) for n, p in going.items() if any(u.cells for u in p.units)]
    if not by_day:
        return ()
    played = _days_played(frames, going)
    open_ = [c.last_counted for _, c in started.values() if c.over(today)]  # what ended stays as it was read
    on = max([min(p.start for p, _ in by_day), *(d + timedelta(days=1) for d in (*played, *open_))])
    room = min(int(_MOST_MOVED * p.days) - ((c.last - p.start).days + 1 - p.days) for p, c in by_day)
    out: list[date] = []
    while on < today and len(out) < room:
        if any(c.number(on) is not None for _, c in by_day):
            out.append(on)
        on += timedelta(days=1)
    return tuple(out)


def spell_words(days: Sequence[date]) -> str:
    """Return days in a row in words: "Wednesday 11 March to Thursday 12 March"."""
    if len(days) == 1:
        return spoken_day(days[0])
    return tr("{first} to {last}").format(first=spoken_day(days[0]), last=spoken_day(days[-1]))


def away_now(frames: Frames, today: date) -> list[tuple[date, date]]:
    """Return the spells of not playing from today on, (first, last) each."""
    rows = frames.days
    on = sorted({d for d in rows.loc[rows["day_off"] | rows["pause"], "date"].dt.date if d >= today})
    out: list[tuple[date, date]] = []
    for d in on:
        if out and out[-1][1] == d - timedelta(days=1):
            out[-1] = (out[-1][0], d)
        else:
            out.append((d, d))
    return out


def back_again(frames: Frames, plans: Mapping[str, Protocol], first: date, last: date, today: date) -> Away:
    """Return what playing after all on days to come means; days gone by stay as they are.

    So do days before an entry of a trial, whatever `today` is: what was played since would get another number.
    """
    when = frames.days["date"].dt.date
    mine = frames.days[(when >= max(first, today, *_days_played(frames, plans))) & (when <= last)]
    rows = [_row(frames, d, day_off=False, pause=False) for d in mine["date"].dt.date]
    after = _with(frames, rows)
    moved = [_moved(name, calendar_of(p, frames), calendar_of(p, after)) for name, p in plans.items()]
    bare = {row.date for row in rows if row.date > today and not any(v for k, v in vars(row).items() if k != "date")}
    emptied = [] if not bare else [int(n) for n in mine.loc[mine["date"].dt.date.isin(bare), "entry_id"]]
    return Away(tuple(r for r in rows if r.date not in bare), tuple(x for x in moved if x), (), tuple(emptied))


def _row(frames: Frames, on: date, **said: bool) -> Day:
    """Return the row of a day with what is known of it and what is said now."""
    return Day(**read_row("days", {**as_it_stands("days", frames.days, date=on), "date": on, **said})[0])


def _with(frames: Frames, rows: Sequence[Day]) -> Frames:
    """Return the frames as they will be."""
    new = {row.date for row in rows}
    kept = frames.days[~frames.days["date"].dt.date.isin(new)]
    made = typed("days", [vars(row) for row in rows])
    return replace(frames, days=pd.concat([kept[made.columns], made], ignore_index=True) if len(kept) else made)


def _days_played(frames: Frames, plans: Mapping[str, Protocol]) -> set[date]:
    """Return the days on which a reed of a trial was played in its time."""
    rows = frames.sittings
    return {d for p in plans.values()
            for d in rows.loc[rows["reed"].isin(p.reeds) & (rows["date"].dt.date >= p.start), "date"].dt.date}


def _moved(name: str, before: TrialCalendar, after: TrialCalendar) -> str:
    if before.open_end:
        more = len(after.paused) - len(before.paused)
        return tr("{name} goes on where it stands, {days} later.").format(
                   name=name, days=_days(more)) if more > 0 else ""
    if before.last == after.last:
        return ""
    later = (after.last - before.last).days
    return (tr("{name} moves along by {days}: its last day is then {spoken_date}.").format(
                name=name, days=_days(later), spoken_date=spoken_date(after.last)) if later > 0 else
            tr("{name} moves back by {days}: its last day is then {spoken_date}.").format(
                name=name, days=_days(-later), spoken_date=spoken_date(after.last)))


def _days(n: int) -> str:
    return trn("{n} day", "{n} days", n).format(n=n)


def _lost(name: str, plan: Protocol, after: Frames, days: Sequence[date]) -> list[str]:
    """Say which ratings fall on days that keep their number: lost where they belong to their day."""
    calendar = calendar_of(plan, after)
    rows = after.sittings
    rated = set(zip(rows.loc[rows[plan.rating].notna(), "reed"], rows.loc[rows[plan.rating].notna(), "date"].dt.date,
                    strict=True))
    gone = dict(zip(after.retirements["reed"], after.retirements["date"].dt.date, strict=True))
    out = []
    for d in days:
        number = calendar.number(d)
        if number is None or calendar.over(d):
            continue
        own = sorted({r for u in plan.units for r, day in u.cells if day == number and (r, d) not in rated
                      and gone.get(r, date.max) > d})
        if own:
            out.append(trn("{name}: the rating of {reeds} on {day} cannot be made up, for it belongs to that day.",
                           "{name}: the ratings of {reeds} on {day} cannot be made up, for they belong to that day.",
                           len(own)).format(name=name, reeds=all_of(own), day=spoken_date(d)))
        elif not any(u.cells for u in plan.units) and any(s.day == number and (s.reed, d) not in rated
                                                          for s in plan.slots):
            out.append(tr("{name}: what is missed on {spoken_date} is made up on the days after.").format(
                           name=name, spoken_date=spoken_date(d)))
    return out
