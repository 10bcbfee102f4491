"""What has been played so far, by reed and day: the state that the coming days start from."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
import pandas as pd

from ..analysis.units.first_plays import first_plays
from ..analysis.units.life_values import rule_index
from ..rows.tables import Frames
from ..trial.calendar import TrialCalendar, calendar_of, going
from ..trial.protocol import Protocol

__all__ = ["Diary", "diary_of"]


@dataclass
class Diary:
    """What happened up to yesterday; `play` adds what is planned, day by day.

    `played[reed][date]` are minutes of every reed; `total` and `arm` minutes within the trial, by reed and by
    the habit dealt; `rated` the dates of practice ratings; `gone` the day a reed left service, `worn` the day it met
    the rule of wear; `tried` the day and minutes of its first play.
    """

    protocol: Protocol
    calendar: TrialCalendar
    dates_off: frozenset[date]
    gone: dict[str, date]
    worn: dict[str, date]
    aside: frozenset[str]
    others: tuple[str, ...]
    played: dict[str, dict[date, float]] = field(default_factory=lambda: defaultdict(dict))
    total: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    arm: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    rated: dict[str, list[date]] = field(default_factory=lambda: defaultdict(list))
    scores: dict[str, list[tuple[date, float]]] = field(default_factory=lambda: defaultdict(list))
    first_play: dict[str, float] = field(default_factory=dict)
    tried: dict[str, tuple[date, float]] = field(default_factory=dict)
    today_minutes: dict[str, float] = field(default_factory=dict)
    today_practice: dict[str, float] = field(default_factory=dict)
    today_done: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        units = list(zip(self.protocol.units, self.protocol.dealt, strict=True))
        self.dealt = {reed: key for unit, key in units if not unit.cells for reed in unit.reeds}
        self.cell = {cell: key for unit, key in units for cell in unit.cells}
        self.since = self.protocol.served_since
        self.slots_on = Counter(s.day for s in self.protocol.slots)

    def habit_of(self, reed: str, number: int | None) -> str | None:
        """Return the key of the habit dealt to a reed on a trial day; it is never anything else."""
        if reed in self.dealt:
            turned = None if self.protocol.halves is None else self.protocol.habit_for(reed, number or 1)
            return self.dealt[reed] if turned is None else turned.key
        return None if number is None else self.cell.get((reed, number))

    def number(self, on: date) -> int | None:
        """Return the trial day of a date; None before the start and on a paused day."""
        return self.calendar.number(on)

    def in_service(self, reed: str, on: date) -> bool:
        """Say whether a reed can be planned on a date: not gone, and not a reed of the trial set aside."""
        if reed in self.aside and (reed in self.dealt or reed in self.protocol.reeds):
            return False
        return reed not in self.gone or self.gone[reed] > on

    def done(self, reed: str) -> bool:
        """Say whether the trial needs no more of a reed: worn out by the rule, or at the cap."""
        cap = self.protocol.cap_hours
        return reed in self.worn or (cap is not None and self.total[reed] >= 60 * cap - 1e-6)

    def counts(self, reed: str, on: date) -> bool:
        """Say whether minutes of a reed on a date belong to the trial."""
        if self.protocol.standing:
            return reed in self.since and on >= self.since[reed]
        return on >= self.protocol.start or (self.protocol.from_new and reed in self.dealt)

    def finished(self, reed: str) -> date | None:
        """Return the day on which a reed left service or was done, the first of them; None while it goes on."""
        if reed in self.aside:
            return date.min
        ends = [d for d in (self.gone.get(reed), self.worn.get(reed)) if d is not None]
        if self.protocol.cap_hours is not None:
            total = 0.0
            for d, m in sorted(self.played[reed].items()):
                total += m if self.counts(reed, d) else 0.0
                if total >= 60 * self.protocol.cap_hours - 1e-6:
                    ends.append(d)
                    break
        return min(ends, default=None)

    def branch(self) -> Diary:
        """Return a copy to plan ahead in, which leaves this one as it is."""
        out = copy(self)
        out.played = defaultdict(dict, {r: dict(days) for r, days in self.played.items()})
        out.total = defaultdict(float, self.total)
        out.arm = defaultdict(float, self.arm)
        out.rated = defaultdict(list, {r: list(days) for r, days in self.rated.items()})
        return out

    def needed(self, reed: str, on: date) -> bool:
        """In service and not done."""
        return self.in_service(reed, on) and not self.done(reed)

    def play_days(self, reed: str, before: date) -> int:
        """Return on how many days before a date a reed was played; its first play alone makes no day."""
        day, minutes = self.tried.get(reed, (None, 0.0))
        return sum(d < before and (d != day or m > minutes + 1e-6) for d, m in self.played[reed].items())

    def rested(self, reed: str, on: date, days: int) -> bool:
        """Say whether a reed has had so many days of rest before a date."""
        return not any(on - timedelta(days=i) in self.played[reed] for i in range(1, days + 1))

    def play(self, reed: str, on: date, minutes: float, habit: str | None, *, rated: bool = False) -> None:
        """Write down what is planned, as if it had been played."""
        if minutes > 0:
            self.played[reed][on] = self.played[reed].get(on, 0.0) + minutes
        if self.counts(reed, on):
            self.total[reed] += minutes
            if habit is not None:
                self.arm[habit] += minutes
        if rated:
            self.rated[reed].append(on)

    def play_beyond(self, on: date, number: int | None) -> None:
        """Add what is in the logbook for today already and was not planned: rehearsals, longer play."""
        planned = {r: self.played[r].get(on, 0.0) for r in {*self.today_minutes, *self.today_practice}}
        for reed, was in planned.items():
            more = self.today_minutes.get(reed, 0.0) + max(0.0, self.today_practice.get(reed, 0.0) - was)
            self.play(reed, on, more, self.habit_of(reed, number))

    @property
    def stand(self) -> dict[str, float]:
        """Minutes of each habit within the trial so far."""
        return {h.key: self.arm[h.key] for h in self.protocol.habits}


def diary_of(protocol: Protocol, frames: Frames, today: date) -> Diary:
    """Read the logbook's frames up to yesterday; entries of today are kept apart.

    Sittings marked "not sure which reed" are left out. A reed is worn out by the plan's rule of ratings, where the
    question is about lives.
    """
    left = frames.retirements
    diary = Diary(
        protocol=protocol,
        calendar=calendar_of(protocol, frames),
        dates_off=frozenset(frames.days.loc[frames.days["day_off"].to_numpy(), "date"].dt.date),
        gone=dict(zip(left["reed"], left["date"].dt.date, strict=True)), worn={},
        aside=frozenset(frames.reeds.loc[frames.reeds["set_aside"].to_numpy(), "reed"]),
        others=tuple(_others(protocol, frames, today)),
        first_play={r: float(v) for r, v in zip(frames.reeds["reed"], frames.reeds["first_play"], strict=True)
                    if pd.notna(v)})
    ratings: dict[str, list[tuple[date, float]]] = defaultdict(list)
    rows = frames.sittings
    own = rows[protocol.rating].to_numpy(dtype=float)
    for reed, when, minutes, overall, rating, where, unsure, first in sorted(
            zip(rows["reed"], rows["date"].dt.date, rows["play_min"], rows["overall"], own, rows["where"],
                rows["unsure_reed"], first_plays(frames), strict=True), key=lambda r: r[1]):
        if unsure or when > today:
            continue
        if first:
            diary.tried[reed] = (when, float(minutes))
        practice = where in (None, "practice")
        if when == today:
            if practice:
                diary.today_practice[reed] = diary.today_practice.get(reed, 0.0) + minutes
                if not np.isnan(rating) or reed not in protocol.reeds:
                    diary.today_done.add(reed)
            else:
                diary.today_minutes[reed] = diary.today_minutes.get(reed, 0.0) + minutes
            continue
        diary.play(reed, when, float(minutes), diary.habit_of(reed, diary.number(when)),
                   rated=practice and not np.isnan(rating))
        if not np.isnan(overall):
            diary.scores[reed].append((when, float(overall)))
        if when >= protocol.start or protocol.from_new:
            ratings[reed].append((when, float(overall)))
    if protocol.card.lives:
        diary.worn = dict(_worn(protocol, ratings))
    return diary


def _worn(protocol: Protocol, ratings: Mapping[str, Sequence[tuple[date, float]]]) -> Iterator[tuple[str, date]]:
    if not protocol.ends_by_ratings:
        return
    for reed in protocol.reeds:
        if ratings[reed]:
            at = int(rule_index(np.array([y for _, y in ratings[reed]]), protocol.life_mark, protocol.in_a_row))
            if at >= 0:
                yield reed, ratings[reed][at][0]


def _others(protocol: Protocol, frames: Frames, today: date) -> Iterator[str]:
    """Yield the reeds of this instrument that no running trial needs."""
    taken = set(protocol.reeds).union(*(plan.reeds for plan in going(frames, today).values()))
    instrument = dict(zip(frames.boxes["box"], frames.boxes["instrument"], strict=True))
    for reed, box in zip(frames.reeds["reed"], frames.reeds["box"], strict=True):
        if reed not in taken and instrument.get(box, protocol.instrument) == protocol.instrument:
            yield reed
