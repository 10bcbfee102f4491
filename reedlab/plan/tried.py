"""A layout made into the very plan it would be, and what the forecast says of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd

from ..trial.outcomes import OUTCOMES
from ..trial.outlook import Outlook
from ..trial.protocol import Habit, Protocol, Slot, Unit
from .draft import Draft
from .forecast import forecast
from .wish import Wish

__all__ = ["FIRST_LOOK", "Laid", "draft_of", "plan_of", "tried"]

FIRST_LOOK = 2  # seed of the runs that choose a layout; what is told of it comes from others, those of every forecast
_SAMPLES = 2_000  # arrangements drawn where there are too many to count: enough to compare layouts


@dataclass(frozen=True, kw_only=True)
class Laid:
    """One layout with its units dealt and its slots laid out. `is_b[i]` says whether `units[i]` gets the second way."""

    habits: tuple[Habit, Habit]
    units: tuple[Unit, ...]
    is_b: tuple[bool, ...]
    slots: tuple[Slot, ...]
    days: int
    least_p: float
    least_p_after_loss: float
    spare: tuple[str, ...] = ()
    cap_hours: float | None = None
    how_dealt: str = "seed"
    overrides: tuple[tuple[str, str, float], ...] = ()


def plan_of(wish: Wish, laid: Laid) -> Protocol:
    """Return the plan that a layout makes of a wish."""
    keys = [h.key for h in laid.habits]
    asked = wish.question
    fixed = {**wish.fixed, "rating": "preference"} if OUTCOMES[wish.outcome].pairs else wish.fixed
    return Protocol(
        question=asked.key, ask=asked.ask_for(wish.outcome), habits=laid.habits, design=wish.design,
        outcome=wish.outcome, matters=float(wish.matters), days=laid.days, units=laid.units,
        dealt=tuple(keys[int(b)] for b in laid.is_b), slots=laid.slots, level=wish.level, seed=wish.seed,
        how_dealt=laid.how_dealt, adjust=wish.adjust, same_days=asked.same_days, from_new=asked.from_new,
        cap_hours=laid.cap_hours, overrides=laid.overrides, effect_days=wish.effect_days, **fixed)


def tried(wish: Wish, laid: Laid, trials: int, seed: int = 1) -> Outlook:
    """Return the forecast of a layout if the ways truly differ by what matters.

    Where the way came with the box it is played as if it had been dealt: more than a hint it can never give.
    """
    plan = replace(plan_of(wish, laid), how_dealt="seed")
    world = wish.world.but(minutes_a_day=wish.minutes_a_day)
    return forecast(plan, world=world, gaps=(plan.matters,), trials=trials, seed=seed, samples=_SAMPLES)


def draft_of(wish: Wish, laid: Laid, found: Outlook, layouts: pd.DataFrame, remarks: tuple[str, ...],
             shown: Protocol) -> Draft:
    """Return the draft of the layout that was chosen; `shown` is the plan that is played through in its place."""
    return Draft(
        protocol=plan_of(wish, laid), shown=shown, least_p=laid.least_p, least_p_after_loss=laid.least_p_after_loss,
        forecast=found, layouts=layouts, spare=laid.spare, remarks=remarks)
