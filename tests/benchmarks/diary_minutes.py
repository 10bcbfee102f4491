"""Could the minutes of the two ways have been evened out? Worked out from the rules, without the scheduler.

For every day of a diary: the least and the most by which *any* schedule that keeps the limits could have set the
second way ahead on that day (`reach`), and what happened beside it (`upset`): rehearsals and concerts on reeds of the
trial, minutes that turned out otherwise. Lost days and forgotten reeds get no minutes from any schedule.

`fair`: a schedule that knows each morning what has happened so far and no more, and always plans towards even
minutes. It is started afresh on every evening of the diary, from the minutes as they really were; its best end
counts. A diary is *feasible* if that is within a tenth. What falls on the last days and is more than they can hold
cannot be evened out by such a schedule.

`knowing`: a schedule that knew the whole diary beforehand. No player has one, so it is reported and not asked for.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from reedlab.rows.tables import Frames
from reedlab.schedule import PlayDay
from reedlab.trial.protocol import Protocol

from .diary_rules import LIMIT, RAMP, Past, Wishes, own

SLOT = 10.0


@dataclass(frozen=True)
class Happened:
    """What one day could have brought and what it brought, in minutes of the second way beyond the first."""

    low: float
    high: float
    upset: float
    gap: float


@dataclass
class Tally:
    """The days of one diary on which both ways had reeds to play."""

    days: list[Happened] = field(default_factory=list)
    minutes: list[float] = field(default_factory=lambda: [0.0, 0.0])

    def fair(self) -> float:
        """Return the best end of a schedule without foresight, as a share of the minutes of the way with more."""
        ends = []
        for start in range(len(self.days)):
            g = self.days[start - 1].gap if start else 0.0
            for d in self.days[start:]:
                g += min(max(-g, d.low), d.high) + d.upset
            ends.append(abs(g))
        return min(ends, default=0.0) / max(*self.minutes, 1.0)

    def knowing(self) -> float:
        """Return the best end of a schedule that knew all beforehand."""
        upset = sum(d.upset for d in self.days)
        low, high = sum(d.low for d in self.days) + upset, sum(d.high for d in self.days) + upset
        return max(0.0, low, -high) / max(*self.minutes, 1.0)

    def add(self, protocol: Protocol, wishes: Wishes, before: Frames, day: PlayDay, rows: Sequence[dict]) -> None:
        """Write down a day: its plan, the logbook that morning, and what was entered."""
        planned = {x.reed: 0.0 for x in day.lines}
        for x in day.lines:
            planned[x.reed] += x.minutes if x.kind != "concert" else 0.0
        upset = 0.0
        did: dict[str, float] = {}
        for r in rows:
            sign = _sign(protocol, r["reed"], day.number)
            if sign:
                self.minutes[sign > 0] += r["play_min"]
            if r["where"] != "practice":
                upset += sign * r["play_min"]
            else:
                did[r["reed"]] = did.get(r["reed"], 0.0) + r["play_min"]
        owed = {x.reed for x in day.lines if x.kind in ("slot", "play")}
        free = {x.reed for x in day.lines if x.kind == "free"}
        forgot = (owed | (free & set(protocol.reeds))) - set(did)
        skipped = any(did.get(x.reed, 0.0) <= planned[x.reed] - x.minutes for x in day.lines if x.kind == "free")
        low = high = 0.0
        if did and day.number is not None:
            low, high = reach(protocol, wishes, before, day, forgot, free=not skipped)
            upset += sum(_sign(protocol, r, day.number) * _other(m, planned.get(r, 0.0), day, r)
                         for r, m in did.items())
        self.days.append(Happened(low, high, upset, self.minutes[1] - self.minutes[0]))


def _other(did: float, planned: float, day: PlayDay, reed: str) -> float:
    """Return by how much a line's minutes turned out otherwise (a line of free play left out is not meant)."""
    free = sum(x.minutes for x in day.lines if x.reed == reed and x.kind == "free")
    return did - planned if abs(did - planned) <= abs(did - planned + free) else did - planned + free


def _sign(protocol: Protocol, reed: str, number: int | None) -> int:
    habit = protocol.habit_for(reed, number or 0)
    return 0 if habit is None else (1 if habit.key == protocol.habits[1].key else -1)


def reach(protocol: Protocol, wishes: Wishes, before: Frames, day: PlayDay, forgot: Collection[str], *,
          free: bool) -> tuple[float, float]:
    """Return the least and most minutes by which a schedule could set the second way ahead on a day."""
    past = Past(protocol, before, day.on)
    away = {x.reed for x in day.lines if x.kind in ("rest", "concert")}
    minutes = wishes.usual_min.get(day.on.weekday(), 0.0) - sum(x.minutes for x in day.lines if x.kind == "break_in")
    most = {r: _most(protocol, wishes, past, day, r) for r in protocol.reeds if r not in away}
    can = {r: 0.0 if r in forgot else m for r, m in most.items() if m >= SLOT}
    if not free:
        minutes = min(minutes, SLOT * sum(x.kind in ("slot", "play") for x in day.lines))
    out = []
    for side in (-1, 1):
        best = 0.0
        if not protocol.same_days and protocol.design == "reed_by_reed":
            best = min(minutes, sum(m for r, m in can.items() if _sign(protocol, r, day.number) == side))
        else:
            ahead = lambda reeds: _ahead(protocol, day, reeds, can, forgot, minutes, side)  # noqa: B023, E731
            owed = frozenset(x.reed for x in day.lines if x.kind in ("slot", "play"))
            best = max(map(ahead, [owed, *_choices(protocol, wishes, past, day, set(can), minutes, ahead)]))
        out.append(side * best)
    return min(out), max(out)


def _most(protocol: Protocol, wishes: Wishes, past: Past, day: PlayDay, reed: str) -> float:
    """Return a reed's most minutes on a day: 0 where it is gone, done or must rest."""
    on, mine = day.on, past.minutes[reed]
    habit = protocol.habit_for(reed, day.number or 0)
    if habit is None or past.gone.get(reed, date.max) <= on or reed in past.done:
        return 0.0
    rest = own(protocol, habit.key, "rest_days")
    if protocol.design == "reed_by_reed" and any(
            on - timedelta(days=i) in mine for i in range(1, int(wishes.rest_days if rest is None else rest) + 1)):
        return 0.0
    limit = own(protocol, habit.key, "daily_limit_min") or LIMIT
    if protocol.from_new and own(protocol, habit.key, "break_in_ramp_min") is None and len(mine) < len(RAMP):
        limit = min(limit, RAMP[len(mine)])
    if protocol.cap_hours is not None:
        limit = min(limit, 60 * protocol.cap_hours - sum(m for d, m in mine.items() if d >= protocol.start))
    return max(0.0, limit)


def _choices(protocol: Protocol, wishes: Wishes, past: Past, day: PlayDay, can: Collection[str], minutes: float,
             ahead: Callable[[frozenset[str]], float]) -> Iterator[frozenset[str]]:
    """Yield what a schedule may put on a day: whole parts of matched sets, as the question allows.

    Where the hours count, any part may play on any day. Else the day's own parts come first, and those of earlier
    days that were missed may be made up. Only the few parts that bring most are tried together.
    """
    if protocol.design == "day_by_day":  # the plan says which reeds; a cell cannot be moved
        return
    room = min(wishes.reeds_at_most or 99, int(minutes // SLOT))
    block = {r: u.block for u in protocol.units for r in u.reeds}
    parts: dict[tuple[int, str], set[str]] = {}
    for s in protocol.slots:
        if past.gone.get(s.reed, date.max) > day.on and s.reed not in past.done:
            parts.setdefault((s.day, block[s.reed]), set()).add(s.reed)
    whole = {k: frozenset(v) for k, v in parts.items() if v <= set(can)}
    hours = protocol.outcome in ("wear_rate", "life_hours", "good_hours")
    mine = {v for (d, _), v in whole.items() if d == day.number}
    pool = set(whole.values()) if hours else _missed(protocol, past, whole, day) - mine
    pool = sorted(pool, key=ahead, reverse=True)[:8]
    for n in (1, 2, 3):
        for some in itertools.combinations([*(mine - set(pool)), *pool], n):
            reeds = frozenset().union(*some)
            if len(reeds) == sum(map(len, some)) <= room and (hours or not _leaves_out(mine, some, room)):
                yield reeds


def _leaves_out(mine: Collection[frozenset[str]], some: Sequence[frozenset[str]], room: int) -> bool:
    """Say whether a choice leaves out a part that the plan has on this day although it would fit."""
    size = sum(map(len, some))
    return any(m not in some and size + len(m) <= room for m in mine) or (
        any(s not in mine for s in some) and any(m not in some for m in mine))


def _missed(protocol: Protocol, past: Past, whole: Mapping[tuple[int, str], frozenset[str]],
            day: PlayDay) -> set[frozenset[str]]:
    """Return the parts of which no reed was played on their own trial day, now past."""
    days = [d for d in (protocol.start + timedelta(days=i) for i in range((day.on - protocol.start).days))
            if d not in past.paused]
    return {v for (d, _), v in whole.items() if d <= len(days) and not any(days[d - 1] in past.minutes[r] for r in v)}


def _ahead(protocol: Protocol, day: PlayDay, reeds: Collection[str], can: dict[str, float],
           forgot: Collection[str], minutes: float, side: int) -> float:
    """Return the most by which one side gets ahead with these reeds: ten minutes each, the rest to its own."""
    base = sum(SLOT * _sign(protocol, r, day.number) * side for r in reeds if r not in forgot)
    more = sum(max(0.0, can.get(r, 0.0) - SLOT) for r in reeds if _sign(protocol, r, day.number) == side)
    return base + min(max(0.0, minutes - SLOT * len(reeds)), more)
