"""A logbook in which a trial of one box runs, for tests that play it day by day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import numpy as np

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.screens import Today, today
from reedlab.trial.protocol import Protocol
from tests.plan._reeds import reeds

__all__ = ["Kept", "keeping", "play_the_rest", "preference"]


def preference(arm: str, gap: float, rng: np.random.Generator, *, second: float = 0.0, noise: float = 0.5) -> float:
    """What is said of a pair that began with this way: B truly `gap` better, going second `second` better."""
    said = np.round(2 * ((gap if arm == "B" else -gap) - second + rng.normal(0, noise))) / 2
    return float(np.clip(said, -5, 5))


def play_the_rest(book: Logbook, plan: Protocol, mine: str) -> None:
    """Write down every pair but that of this reed on the first day; the second way is a point and a half better."""
    rng = np.random.default_rng(2)
    book.add_many([Sitting(date=plan.start + timedelta(days=day - 1), reed=reed, play_min=10,
                           preference=preference(arm, 1.5, rng))
                   for u, arm in zip(plan.units, plan.arms, strict=True) for reed, day in u.cells
                   if (reed, day) != (mine, 1)])


class Kept:
    """A logbook with a running trial of the first `n` reeds, its clock in hand."""

    def __init__(self, folder: Path, plan: Protocol, n: int) -> None:
        self.folder, self.plan, self.plans = folder, plan, {plan.trial: plan}
        self.now = self._evening(plan.start - timedelta(days=1))
        self.book = Logbook.create(folder / "reeds.logbook", now=lambda: self.now)
        self.book.add(Box(box="1", instrument="clarinet"))
        self.book.add_many([Reed(reed=r.reed, box="1", first_play=float(r.first_play)) for r in reeds(n).itertuples()])
        self.book.start_trial(plan)

    @staticmethod
    def _evening(on: date) -> datetime:
        return datetime.combine(on, time(18), tzinfo=UTC)

    def turn_to(self, number: int) -> date:
        """Make it this day of the trial."""
        on = self.plan.start + timedelta(days=number - 1)
        self.now = self._evening(on)
        return on

    def shown(self, number: int) -> Today:
        """What Today shows on this day of the trial."""
        return today(self.book.frames(), self.plans, self.turn_to(number))

    def play_pairs(self, gap: float, *, upto: int = 99, noise: float = 0.5) -> None:
        """Write down every pair: the second way truly `gap` better, going second 0.5 better."""
        rng = np.random.default_rng(3)
        for u, arm in zip(self.plan.units, self.plan.arms, strict=True):
            ((reed, day),) = u.cells
            if day <= upto:
                key = None if self.plan.masked == "helper" else self.plan.habits["AB".index(arm)].key
                self.book.add(Sitting(date=self.turn_to(day), reed=reed, play_min=10, habit=key,
                                      preference=preference(arm, gap, rng, second=0.5, noise=noise)))


def keeping(tmp_path: Path, drawn: Callable[..., Protocol], n: int) -> Iterator[Callable[..., Kept]]:
    """Yield what makes such logbooks, each in a folder of its own; they are closed at the end."""
    made: list[Kept] = []

    def make(**more: object) -> Kept:
        folder = tmp_path / str(len(made))
        folder.mkdir()
        made.append(Kept(folder, drawn(**more), n))
        return made[-1]

    yield make
    for one in made:
        one.book.close()
