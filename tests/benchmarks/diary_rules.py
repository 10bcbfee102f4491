"""The rules a schedule must keep, written down a second time: a slow reader that shares no code with it.

`broken_rules` reads a schedule line by line against the frozen plan, the diary and the player's wishes. A rule may
be broken only where the schedule itself says so, by date and reed.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from reedlab.rows.tables import Frames
from reedlab.schedule import PlayDay, Schedule
from reedlab.trial.protocol import Protocol

RAMP = (10, 25, 45)  # common practice, as are the 60 minutes a day
LIMIT = 60
Said = set[tuple[str, date | None, str]]
PRACTICE = ("slot", "play", "break_in", "free")


@dataclass(frozen=True)
class Wishes:
    """What the player asked of the schedule."""

    usual_min: Mapping[int, float]
    days_off: tuple[date, ...]
    concerts: tuple[date, ...]
    reeds_at_most: int | None
    rest_days: int

    def asked(self) -> dict[str, object]:
        """The wishes as keywords of `schedule`."""
        return dict(vars(self))


def own(protocol: Protocol, habit: str | None, name: str) -> float | None:
    return next((v for h, n, v in protocol.overrides if h == habit and n == name), None)


def reeds_done(protocol: Protocol, frames: Frames, today: date) -> dict[str, date]:
    """Reeds that met the rule of the plan before a date, and when: two ratings running below the mark (lives only)."""
    mark = {"life_hours": protocol.worn_out_below, "good_hours": protocol.good_below}.get(protocol.outcome)
    s = frames.sittings
    run: dict[str, int] = defaultdict(int)
    out: dict[str, date] = {}
    if mark is None:
        return out
    for reed, when, y in sorted(zip(s["reed"], s["date"].dt.date, s["overall"], strict=True), key=lambda r: r[1]):
        if when < today and y == y and (when >= protocol.start or protocol.from_new):
            run[reed] = run[reed] + 1 if y < mark else 0
            if run[reed] >= protocol.in_a_row and reed in protocol.reeds:
                out.setdefault(reed, when)
    return out


class Past:
    """Minutes of each reed by date, from the logbook."""

    def __init__(self, protocol: Protocol, frames: Frames, today: date) -> None:
        self.minutes: dict[str, dict[date, float]] = defaultdict(dict)
        self.today: dict[str, float] = defaultdict(float)
        s = frames.sittings
        for reed, when, m, where in zip(s["reed"], s["date"].dt.date, s["play_min"], s["where"], strict=True):
            if when < today:
                self.minutes[reed][when] = self.minutes[reed].get(when, 0) + m
            elif where == "rehearsal":
                self.today[reed] += m
        r = frames.retirements
        self.gone = dict(zip(r["reed"], r["date"].dt.date, strict=True))
        self.done = reeds_done(protocol, frames, today)
        d = frames.days
        self.paused = set(d.loc[d["pause"], "date"].dt.date)
        self.off = set(d.loc[d["day_off"], "date"].dt.date)


def broken_rules(protocol: Protocol, frames: Frames, today: date, wishes: Wishes, plan: Schedule) -> Iterator[str]:
    """Yield a sentence for every rule that a schedule breaks without saying so."""
    past = Past(protocol, frames, today)
    said = {(u.code, u.day, r) for u in plan.unmet for r in u.reeds}
    minutes = past.minutes
    starts = [protocol.start + timedelta(days=i) for i in range((today - protocol.start).days)]
    number = sum(d not in past.paused for d in starts)
    for day, later in itertools.pairwise([*plan.days, None]):
        assert day is not None
        on = day.on
        if later is not None and (later.on - on).days != 1:
            yield f"{on}: the next day planned is {later.on}"
        if day.state == "over":
            if day.lines:
                yield f"{on}: lines after the end"
            continue
        running = on >= protocol.start and on not in past.paused
        number += running
        if day.number != (number if running else None):
            yield f"{on}: called day {day.number}, wanted {number if running else None}"
        yield from _one_day(protocol, past, wishes, day, said, today)
        for x in day.lines:
            minutes[x.reed][on] = minutes[x.reed].get(on, 0) + x.minutes
        if on == today:
            for reed, m in past.today.items():
                minutes[reed][on] = minutes[reed].get(on, 0) + m
    if protocol.design == "reed_by_reed" and protocol.same_days:
        yield from _sets_together(protocol, past, plan)
    yield from _uneven_said(protocol, past, plan)
    for on in wishes.concerts:
        if plan.days[0].on <= on <= plan.days[-1].on and plan.days[0].state != "over":
            named = plan.concerts.get(on, ())
            for r in named:
                if r not in protocol.reeds and sum(d < on and m > 0 for d, m in minutes[r].items()) < 3:
                    yield f"{on}: {r} is not broken in for the concert"
            if len(named) < 2 and not any(u.code == "concert_short" and u.day == on for u in plan.unmet):
                yield f"{on}: {len(named)} reeds for the concert, and nothing said"


def _one_day(protocol: Protocol, past: Past, wishes: Wishes, day: PlayDay, said: Said,
             today: date) -> Iterator[str]:
    on = day.on
    practice = [x for x in day.lines if x.kind in PRACTICE]
    off = on in past.off or on in wishes.days_off or wishes.usual_min.get(on.weekday(), 0) <= 0
    if (off or on in past.paused) and practice:
        yield f"{on}: practice on a day off or a pause"
    if sum(x.minutes for x in practice) > wishes.usual_min.get(on.weekday(), 0) + 1e-6:
        yield f"{on}: {sum(x.minutes for x in practice)} minutes, more than usual"
    reeds = {x.reed for x in practice}
    if wishes.reeds_at_most is not None and len(reeds) > wishes.reeds_at_most:
        yield f"{on}: {len(reeds)} reeds"
    owed = [x for x in day.lines if x.kind in ("slot", "play")]
    if [x.order for x in owed] != list(range(1, len(owed) + 1)) or len({x.reed for x in owed}) != len(owed):
        yield f"{on}: order {[(x.order, x.reed) for x in owed]}"
    total: dict[str, float] = defaultdict(float)
    for x in day.lines:
        total[x.reed] += x.minutes
        if x.minutes % 5 and x.kind in PRACTICE:
            yield f"{on}: {x.reed} for {x.minutes} minutes"
        if x.reed in past.gone and past.gone[x.reed] <= on and not x.done:
            yield f"{on}: {x.reed} has left service"
        dealt = protocol.habit_for(x.reed, day.number or 0)
        if x.kind in ("slot", "play", "free") and x.reed in protocol.reeds and (
                dealt is None or x.habit != dealt.key):
            yield f"{on}: {x.reed} with {x.habit}, dealt {dealt}"
        if x.kind == "slot" and x.minutes != 10:
            yield f"{on}: a rating slot of {x.minutes} minutes"
    for reed, m in total.items():
        yield from _one_reed(protocol, past, wishes, day, reed, m, said, today)
    if protocol.design == "day_by_day" and day.number is not None:
        cells = {r for u in protocol.units for r, d in u.cells if d == day.number}
        if {x.reed for x in owed} - cells:
            yield f"{on}: not of this day {sorted({x.reed for x in owed} - cells)}"
        for r in sorted(cells - {x.reed for x in owed}):
            told = any((c, on, r) in said for c in ("day_off_cell", "rating_lost", "limit_reached"))
            if not (r in past.gone and past.gone[r] <= on) and not told:
                yield f"{on}: the rating of {r} is lost and nothing said"
    for reed in {x.reed for x in day.lines if x.kind in ("rest", "concert")}:
        if total[reed] > 0 and any(x.reed == reed and x.kind in PRACTICE for x in day.lines) and (
                "concert_no_rest", on, reed) not in said:
            yield f"{on}: {reed} should rest for a concert"


def _one_reed(protocol: Protocol, past: Past, wishes: Wishes, day: PlayDay, reed: str, m: float, said: Said,
              today: date) -> Iterator[str]:
    on, mine = day.on, past.minutes[reed]
    habit = protocol.habit_for(reed, day.number or 0)
    key = habit.key if habit is not None else None
    by_reed = protocol.design == "reed_by_reed" and reed in protocol.reeds
    begun = on >= protocol.start  # before it, break-in is the same for all
    limit = (own(protocol, key, "daily_limit_min") if begun else None) or LIMIT
    nth = sum(d < on for d in mine)
    starts_new = protocol.from_new and by_reed and own(protocol, key, "break_in_ramp_min") is None
    if nth < 3 and (starts_new or any(x.kind == "break_in" and x.reed == reed for x in day.lines)):
        limit = min(limit, RAMP[nth])
    before = past.today[reed] if on == today else 0.0
    over = any(u[0] == "concert_over" and u[1] == on for u in said)
    if m > 0 and m + before > limit + 1e-6 and not over:
        yield f"{on}: {reed} has {m + before} minutes, limit {limit}"
    if protocol.cap_hours is not None and by_reed and any(
            x.reed == reed and x.kind == "play" for x in day.lines):
        hours = (sum(v for d, v in mine.items() if d >= protocol.start) + m) / 60
        if hours > protocol.cap_hours + 5 / 60 + 1e-9:
            yield f"{on}: {reed} at {hours:.2f} hours, cap {protocol.cap_hours}"
    rest = own(protocol, key, "rest_days") if begun else None
    rest = wishes.rest_days if rest is None else int(rest)
    played = any(x.reed == reed and x.kind in PRACTICE and x.minutes > 0 for x in day.lines)
    if played and any(mine.get(on - timedelta(days=i), 0) > 0 for i in range(1, int(rest) + 1)) and (
            "no_rest", on, reed) not in said:
        yield f"{on}: {reed} plays without its {rest} days of rest"


def _uneven_said(protocol: Protocol, past: Past, plan: Schedule) -> Iterator[str]:
    """The minutes of the two ways, past and planned, are a tenth apart at the end if and only if it is said."""
    got = dict.fromkeys((h.key for h in protocol.habits), 0.0)
    total: dict[str, float] = defaultdict(float)
    played = {d for days in past.minutes.values() for d in days}
    number, on = 0, protocol.start
    if protocol.from_new:  # the reeds start new: whatever is played on them counts, before the first day too
        on = min(played, default=on)
    while on <= max(played, default=protocol.start):
        if protocol.design == "reed_by_reed":
            going = [r for r in protocol.reeds if not _gone_or_done(protocol, past, r, on, total)]
            if len({protocol.habit_for(r, 1) for r in going}) < 2:
                break
        number += on not in past.paused and on >= protocol.start
        for r in protocol.reeds:
            m = past.minutes[r].get(on, 0.0)
            habit = protocol.habit_for(r, number)
            total[r] += m
            if habit is not None:
                got[habit.key] += m
        on += timedelta(days=1)
    low, high = sorted(got.values())
    said = any(u.code == "minutes_uneven" for u in plan.unmet)
    if (high - low > 0.10 * high + 1e-6) != said:
        yield f"minutes {low:g} and {high:g} at the end, said: {said}"


def _gone_or_done(protocol: Protocol, past: Past, reed: str, on: date, total: Mapping[str, float]) -> bool:
    return (past.gone.get(reed, on) < on or past.done.get(reed, on) < on
            or (protocol.cap_hours is not None and total[reed] >= 60 * protocol.cap_hours - 1e-6))


def _sets_together(protocol: Protocol, past: Past, plan: Schedule) -> Iterator[str]:
    """The part of a set that the plan puts on one day is planned on one day, whichever that is."""
    if any(u.code == "sets_apart" for u in plan.unmet):
        return
    block = {r: u.block for u in protocol.units for r in u.reeds}
    groups: dict[str, set[frozenset[str]]] = defaultdict(set)
    done = past.done
    by_day: dict[tuple[int, str], set[str]] = defaultdict(set)
    for s in protocol.slots:
        by_day[s.day, block[s.reed]].add(s.reed)
    for (_, b), reeds in by_day.items():
        groups[b].add(frozenset(reeds))
    for day in plan.days:
        here = {x.reed for x in day.lines if x.kind in ("slot", "play")}
        for b, parts in groups.items():
            mine = {r for r in here if block[r] == b}
            gone = {r for r, d in past.gone.items() if d <= day.on}
            alive = set(protocol.reeds) - set(done) - gone
            if mine and not _covered(mine, parts, alive):
                yield f"{day.on}: of set {b} only {sorted(mine)}"


def _covered(mine: set[str], parts: set[frozenset[str]], alive: set[str]) -> bool:
    """Say whether what is played is made of whole parts (those of them still here)."""
    whole = [p & alive for p in parts if p & alive and (p & alive) <= mine]
    return set().union(*whole) == mine if whole else False
