"""One question asked in one way for so long, weighed for one player: what such a plan can settle and what it asks for.

Plans of one shape have one answer, whatever the question is called, so each is weighed once. What a player nobody knows
yet would get with one box or two is known beforehand (`known`).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from typing import Final

import pandas as pd

from ..analysis.verdicts.repeats import level_of_next
from ..errors import PlanRefused
from ..questions import Question
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Protocol
from ..worlds import World
from .by_day import shown_days
from .by_reed import shown_reeds
from .candidates import Way, highest_cap
from .known import KnownKey, Weighed, known
from .look_ahead import LOOK_TRIALS, outlook
from .marks import Marks
from .means import Means
from .stand_in import shaping, stand_in
from .usable import Usable
from .wish import level_for, wish_for

__all__ = ["Asked", "changes_a_day", "draw_shown", "known_kind", "weighed"]

_PLAIN: Final = {
    "trial": "weighed", "start": date(2001, 3, 1), "rating": "overall", "setup": None, "expected": None,
    "expected_gap": None, "masked": "none", **Marks().fields()}


@dataclass(frozen=True, eq=False)
class Asked:
    """What is to be weighed. Two of one shape are equal, whatever the question and the reeds are called."""

    means: Means
    usable: Usable
    question: Question
    way: Way
    days: int
    trials: int = LOOK_TRIALS

    @cached_property
    def shape(self) -> tuple[Hashable, ...]:
        """All that the answer hangs on."""
        q, o = self.question, self.way.outcome
        return (self.known_key, q.same_days, q.from_new, q.matters[o], q.adjust_for(o), self.usable.by_break_in,
                self._order, shaping(q), self.means.world.but(minutes_a_day=self.means.minutes_a_day), self.level,
                self.trials)

    @cached_property
    def known_key(self) -> KnownKey:
        """How it is found among the plans known beforehand: the kind of question, the way, the days, boxes, minutes."""
        return KnownKey(known_kind(self.question, self.way.outcome), self.way.design, self.way.outcome, self.days,
                        self._sizes, self.means.minutes_a_day)

    @cached_property
    def _sizes(self) -> tuple[int, ...]:
        counts = self.usable.table["box"].value_counts(sort=False).sort_index()
        return tuple(int(n) for n in counts)

    @cached_property
    def _order(self) -> tuple[str, ...]:
        """The box of every reed, best first: of several boxes the best reeds may be taken."""
        if len(self._sizes) < 2 and self.question.key != "cut_or_strength":
            return ()
        box = dict(zip(self.usable.reeds, self.usable.table["box"], strict=True))
        return tuple(box[r] for r in self.usable.best_first())

    @cached_property
    def level(self) -> float:
        """What such a plan will be judged at: its own level, or a stricter one if the question was asked before."""
        q = self.question
        ways = [h.key for h in q.habits]
        if q.key == "cut_or_strength" and self.way.design == "day_by_day":
            ways = [f"box-{b}" for b in sorted(set(self.usable.table["box"]))]
        if q.key == "two_reeds":
            ways = sorted(self.usable.best_first()[:2])
        return level_of_next(q.key, ways, level_for(q.same_days, self.way.outcome), self.means.frames)

    @property
    def standard(self) -> bool:
        """Whether it may be known beforehand: a first trial of a player nobody knows yet."""
        return (not self.usable.by_break_in and self.means.world == World() and self.trials == LOOK_TRIALS
                and self.level == level_for(self.question.same_days, self.way.outcome))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Asked) and self.shape == other.shape

    def __hash__(self) -> int:
        return hash(self.shape)


def known_kind(question: Question, outcome: str) -> str:
    """Return the kind of question that plans known beforehand are kept by: all of one kind have one answer."""
    if question.key == "cut_or_strength":
        return "boxes"
    if question.key == "two_reeds":
        return "reeds"
    if not question.same_days:
        return "+".join(sorted({what for _, what, _ in shaping(question)}))
    if OUTCOMES[outcome].crossover:
        return f"gone in {question.wears_off}"
    return "new" if question.from_new else "plain"


@lru_cache(maxsize=4096)
def weighed(asked: Asked) -> Weighed | PlanRefused:
    """Return what the plan can settle and what it asks for, or why it is refused."""
    found = known().plans.get(asked.known_key) if asked.standard else None
    if found is not None:
        return found
    try:
        shown, offered = draw_shown(asked)
    except PlanRefused as no:
        return no
    seen = outlook(dataclasses.replace(shown, level=asked.level),
                   world=asked.means.world.but(minutes_a_day=asked.means.minutes_a_day), gaps=(), trials=asked.trials)
    return Weighed(shown.days, offered, len(shown.reeds), changes_a_day(shown), shown.cap_hours, seen.right, seen.same)


def changes_a_day(plan: Protocol) -> float:
    """Return the changes from one reed to the next on a day of play, in the mean."""
    return len(plan.slots) / max(1, len({s.day for s in plan.slots})) - 1


def draw_shown(asked: Asked) -> tuple[Protocol, int]:
    """Return the plan that is played through, and how many reeds it was offered, the best ones; PlanRefused if none."""
    means, q = asked.means, asked.question

    def draw(table: pd.DataFrame, cap: float | None) -> tuple[Protocol, int]:
        wish = wish_for(
            q, dataclasses.replace(asked.usable, table=table), design=asked.way.design, outcome=asked.way.outcome,
            days=asked.days, minutes_a_day=means.minutes_a_day, cap_hours=cap, seed=0, world=means.world,
            boxes=means.boxes, fixed={**_PLAIN, "instrument": means.instrument})
        stand = stand_in(wish)
        return (shown_days if wish.design == "day_by_day" else shown_reeds)(stand), len(table)

    table = asked.usable.table
    return draw(table, None) if q.same_days else highest_cap(table, asked.days, means.minutes_a_day, draw)
