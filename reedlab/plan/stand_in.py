"""The plan that is played through in the place of one: of the same shape, with names, day and shuffle of its own.

What a plan can show hangs on its shape: how many reeds in which sets, for how long, judged by what. It does not hang on
the codes of the reeds, the first day or the seed of the deal. So the shape is played through, always from the same
shuffle, and one plan has one chance wherever it is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import pandas as pd

from ..questions import Question
from ..trial.protocol import Habit
from ..wording import tr
from .usable import Usable
from .wish import Wish

__all__ = ["StandIn", "shaping", "stand_in"]

_START: Final = date(2001, 3, 1)
_WAYS: Final = (Habit("a", tr("the one way")), Habit("b", tr("the other way")))
#: What a way may change of who plays when, and for how long: the rest of its steps is no matter of the plan's shape.
_OF_SHAPE: Final = ("rotation_size", "rest_days", "daily_limit_min", "break_in_ramp_min")
_KEPT: Final = ("rating", "worn_out_rule", "worn_out_below", "good_below", "in_a_row")


@dataclass(frozen=True, eq=False)
class StandIn:
    """A wish of invented reeds. Two of the same shape are equal, whatever they were made from."""

    wish: Wish
    shape: tuple[Any, ...]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, StandIn) and self.shape == other.shape

    def __hash__(self) -> int:
        return hash(self.shape)


def stand_in(wish: Wish) -> StandIn:
    """Return the wish of the same shape that is played through in its place.

    Reed by reed the boxes are kept in size, the largest first. Day by day every reed is compared with itself, so that
    the box it is from is left out, as it is of two reeds; where two boxes are compared they are kept. Where a way came
    with the box, the very reeds and boxes are kept.
    """
    q = wish.question
    of_boxes, two_reeds = q.key == "cut_or_strength", q.key == "two_reeds"
    sizes: tuple[Any, ...] = tuple(len(r) for r in wish.usable.by_box().values())
    if of_boxes and wish.design == "reed_by_reed":
        usable, boxes = wish.usable, wish.boxes
        sizes = wish.usable.reeds  # kept as they are: only a plan of the very same reeds is equal
    else:
        if not of_boxes:
            sizes = (sum(sizes),) if wish.design == "day_by_day" else tuple(sorted(sizes, reverse=True))
        if two_reeds:
            sizes = (2,)
        usable, boxes = _reeds(sizes), None
    plain = q if of_boxes or two_reeds else replace(q, key="own", habits=_WAYS, overrides=shaping(q))
    fixed = {"trial": "stand-in", "instrument": "clarinet", "start": _START, **{k: wish.fixed[k] for k in _KEPT}}
    made = replace(wish, question=replace(plain, ask="?"), usable=usable, boxes=boxes, seed=0, fixed=fixed,
                   world=wish.world.but(minutes_a_day=wish.minutes_a_day))
    return StandIn(made, (
        of_boxes, two_reeds, q.same_days, q.from_new, plain.overrides, q.days[wish.outcome], sizes, wish.design,
        wish.outcome, wish.matters, wish.level, wish.days, wish.a_day, wish.minutes_a_day, wish.cap_hours, wish.adjust,
        wish.reeds_in_trial, wish.effect_days, made.world, *(wish.fixed[k] for k in _KEPT)))


def shaping(question: Question) -> tuple[tuple[str, str, float], ...]:
    """Return what a question's two ways, called a and b, change of who plays when and for how long."""
    name = {h.key: way.key for h, way in zip(question.habits, _WAYS, strict=True)}
    return tuple((name[h], what, x) for h, what, x in question.overrides if what in _OF_SHAPE)


def _reeds(sizes: tuple[int, ...]) -> Usable:
    rows = [{"reed": f"{b}-{n:02d}", "box": str(b), "first_play": 10 - n / 100}
            for b, size in enumerate(sizes, start=1) for n in range(1, size + 1)]
    return Usable(pd.DataFrame(rows, columns=["reed", "box", "first_play"]), (), (), (), ())
