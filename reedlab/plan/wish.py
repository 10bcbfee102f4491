"""What the player asks for, with every gap filled by a default and every clash refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from ..analysis.units.adjust import allowed_adjustments
from ..errors import InputError, PlanRefused
from ..questions import CATALOGUE, Question, check_habits
from ..trial.outcomes import OUTCOMES
from ..trial.practice import value
from ..trial.protocol import Habit
from ..wording import tr
from ..worlds import World
from .refuse import design_not_allowed, outcome_not_allowed, unknown_question
from .usable import Usable

__all__ = ["LONGEST_EFFECT", "Wish", "adjustments", "level_for", "settle_design", "settle_mask", "settle_question",
           "slots_a_day", "wish_for"]


_REEDS_A_DAY, _PAIRS_A_DAY = 4, 2
#: Days after which a way must be gone for reeds to have first one way, then the other: our assumption.
LONGEST_EFFECT: Final = 30


@dataclass(frozen=True, kw_only=True)
class Wish:
    """A plan asked for. `days` and `cap_hours` are None where the planner is to choose.

    `fixed` are the plan's further fields, which no layout changes.
    """

    question: Question
    usable: Usable
    design: str
    outcome: str
    matters: float
    level: float
    days: int | None
    a_day: int
    minutes_a_day: float
    cap_hours: float | None
    adjust: tuple[str, ...]
    seed: int
    simulations: int
    world: World
    fixed: Mapping[str, Any]
    reeds_in_trial: int | None = None
    boxes: pd.DataFrame | None = None
    effect_days: int = 0

    @property
    def lives(self) -> bool:
        """True where lives are compared."""
        return OUTCOMES[self.outcome].lives


def wish_for(question: Question, usable: Usable, *, fixed: Mapping[str, Any], seed: int, design: str | None = None,
             outcome: str | None = None, matters: float | None = None, days: int | None = None,
             reeds_a_day: int | None = None, minutes_a_day: float = 60, cap_hours: float | None = None,
             adjust: Sequence[str] | None = None, simulations: int = 400, world: World | None = None,
             reeds_in_trial: int | None = None, boxes: pd.DataFrame | None = None, masked: str = "none",
             effect_days: int | None = None) -> Wish:
    """Return the wish with every gap filled; arguments are those of `draw_up`. Refuses what clashes."""
    design, outcome = settle_design(question, design, outcome)
    settle_mask(question, masked)
    pairs = OUTCOMES[outcome].pairs
    a_day = slots_a_day(reeds_a_day, minutes_a_day, usual=_PAIRS_A_DAY if pairs else _REEDS_A_DAY)
    kind = "reed" if design == "reed_by_reed" else "pair" if pairs else (
        "sitting" if a_day == 1 or question.key == "cut_or_strength" else "diagonal")
    size = question.matters[outcome] if matters is None else matters
    least = OUTCOMES[outcome].none
    if not size > least:
        raise InputError(tr("`matters` is {size!r}; the smallest difference that matters must be more than "
                            "{least:g}.").format(size=size, least=least))
    return Wish(
        question=question, usable=usable, design=design, outcome=outcome, matters=size,
        level=level_for(question.same_days, outcome), days=days, a_day=a_day, minutes_a_day=minutes_a_day,
        cap_hours=cap_hours, seed=seed,
        adjust=adjustments(question, design, outcome, kind, adjust, by_break_in=usable.by_break_in),
        simulations=simulations, world=World() if world is None else world, reeds_in_trial=reeds_in_trial,
        boxes=boxes, fixed=fixed, effect_days=settle_effect(question, outcome, effect_days))


def settle_question(question: str | Question, habits: Sequence[Habit] | None, *, confirmed: bool) -> Question:
    """Return the question with the player's own words for the two ways, all checked.

    Habits with the question's own keys replace those of the same key; with other keys they replace the
    question's ways in the order given.
    """
    if isinstance(question, str):
        if question not in CATALOGUE:
            raise unknown_question(question)
        question = CATALOGUE[question]
    if habits is not None:
        if len(habits) != 2:
            raise InputError(tr("`habits` holds {n}; give the two ways to compare.").format(n=len(habits)))
        one, two = habits
        if one.key == two.key or one.name.strip().lower() == two.name.strip().lower():
            raise PlanRefused(tr("The two ways are the same, so there is nothing to compare."),
                              tr("Give two ways that differ in one thing, each with its own short name."), "same_habit")
        if {one.key, two.key} == {h.key for h in question.habits}:
            one, two = sorted((one, two), key=lambda h: h.key)
        question = question.with_habits(one, two)
    check_habits(question.habits, confirmed=confirmed)
    return question


def settle_design(question: Question, design: str | None, outcome: str | None) -> tuple[str, str]:
    """Return design and outcome, each the default where None."""
    if design is None:
        fits = [d for d in question.designs if outcome is None or outcome in question.outcomes_for(d)]
        design = fits[0] if fits else question.design
    if design not in question.designs:
        raise design_not_allowed(question, design)
    if outcome is None:
        outcome = question.outcome_for(design)
    elif outcome not in question.outcomes_for(design):
        raise outcome_not_allowed(question, design, outcome)
    return design, outcome


def settle_effect(question: Question, outcome: str, days: int | None) -> int:
    """Return for how many days a way goes on after it ends, the question's unless said otherwise; 0 where none asks."""
    if not OUTCOMES[outcome].crossover:
        return 0
    found = question.wears_off if days is None else days
    if isinstance(found, bool) or not isinstance(found, int) or not 1 <= found <= LONGEST_EFFECT:
        raise InputError(tr("Days for which a way goes on after you stop: {days!r}, wanted a whole number from 1 to "
                            "{most}. If it is gone by the next day, ask it day by day; if it stays longer, let each "
                            "reed keep to one way.").format(days=found, most=LONGEST_EFFECT))
    return found


def settle_mask(question: Question, masked: str) -> None:
    """Refuse a mask that is no mask."""
    if masked not in ("none", "helper"):
        raise InputError(tr("`masked` is {masked!r}, wanted 'none' or 'helper'.").format(masked=masked))
    if masked == "helper" and question.mask is None:
        raise PlanRefused(tr("A helper cannot hide this from you. {no_mask}").format(no_mask=question.no_mask),
                          tr("Plan it open, and write down what you expect before the start."), "cannot_mask")


def slots_a_day(asked: int | None, minutes_a_day: float, *, usual: int = _REEDS_A_DAY) -> int:
    """Return how many reeds are rated a day: the usual number unless said otherwise, if time allows."""
    if not 5 <= minutes_a_day <= 720:
        raise InputError(tr("Minutes of play a day: {minutes_a_day:g}, wanted 5 to 720.").format(
                             minutes_a_day=minutes_a_day))
    most = int(minutes_a_day // value("slot_min"))
    if most < 1:
        raise InputError(tr("Minutes of play a day: {minutes_a_day:g}, but one rating takes about {value:.0f} minutes. "
                            "Plan at least that much.").format(minutes_a_day=minutes_a_day, value=value("slot_min")))
    if asked is None:
        return min(most, usual)
    if not 1 <= asked <= most:
        raise InputError(tr("Reeds rated a day: {asked}; with {minutes_a_day:g} minutes a day and about {value:.0f} "
                            "minutes for each rating, wanted 1 to {most}.").format(
                             asked=asked, minutes_a_day=minutes_a_day, value=value("slot_min"), most=most))
    return int(asked)


def adjustments(question: Question, design: str, outcome: str, unit_kind: str,
                asked: Sequence[str] | None, *, by_break_in: bool = False) -> tuple[str, ...]:
    """Return what the analysis will even out: the question's default, or what was asked if it is fair.

    Where every reed has its ratings from the break-in, they stand for the first play.
    """
    fair = allowed_adjustments(design, outcome, unit_kind=unit_kind, same_days=question.same_days,
                               overrides=question.overrides, question=question.key)
    known = question.adjustments
    if by_break_in and not question.from_new:
        known = tuple("break_in" if a == "first_play" else a for a in known)
    allowed = tuple(a for a in fair if a in known)
    if asked is None:
        usual = ("break_in" if a == "first_play" and a not in known else a for a in question.adjust_for(outcome))
        return tuple(a for a in usual if a in allowed)
    unfair = [a for a in asked if a not in allowed]
    if unfair:
        raise PlanRefused(
            tr("Evening out {names} is not fair here: the way you test may change it, or the plan leaves no room "
               "for it.").format(names=", ".join(unfair)),
            tr("Allowed here: {ok}.").format(ok=", ".join(allowed) or "nothing"), "adjust_not_allowed")
    return tuple(dict.fromkeys(asked))


def level_for(same_days: bool, outcome: str) -> float:
    """Return the level of a plan's range: 0.95, and 0.97 where fading is compared over different days.

    There a slow drift of taste or mood falls on the two ways unequally, and shuffling cannot part it from them: at
    0.95 a winner was named where there was none in 6 to 7 of 100 simulated trials with strong drift, at 0.97 in
    about 4 (tests/benchmarks/calibration.py).
    """
    return 0.97 if not same_days and OUTCOMES[outcome].per_hour else 0.95
