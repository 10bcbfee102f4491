"""Advice before the start: the best plan within the player's means, two others, and what cannot be learnt."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from typing import Any

import pandas as pd

from ..errors import PlanRefused
from ..questions import CATALOGUE, Question
from ..trial.outcomes import OUTCOMES
from ..trial.outlook import ENOUGH, Advice, LifeNeeds, Option, Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World
from .candidates import Desk, Way, check_limits
from .life_needs import life_needs
from .look_ahead import LOOK_TRIALS
from .wish import settle_question

__all__ = ["advise"]

_GOOD = 0.8  # a chance of a useful answer that more time need not be spent on: our assumption
_AS_GOOD = 0.05  # the plan asked for stays first unless another is better by more than this
_LONGEST = 182  # days: what "more weeks" may come to
_MORE_REEDS = (10, 30)  # boxes of ten to be got first
_NEARBY = ("wetting", "position")  # habits of the day, which any reeds at hand can answer


def advise(
    question: str | Question, reeds: pd.DataFrame, *, minutes_a_day: float = 60, days_limit: int = 14,
    start: date, seed: int, instrument: str, design: str | None = None, outcome: str | None = None,
    matters: float | None = None, world: World | None = None, trials: int = LOOK_TRIALS, life: bool = True,
    asked: Outlook | None = None, step: Callable[[int], None] | None = None,
    level_of: Callable[[Protocol], float] | None = None, **more: Any,
) -> Advice:
    """Say which plan can best answer a question with these reeds, this much playing and these days.

    Every way to ask the question is drawn up within the limits and played through. The plans are ranked by
    the chance of a useful answer (`Outlook.useful`): a right "better", or a right "no difference that
    matters".

    Parameters
    ----------
    question : str or Question
    reeds : DataFrame
        The logbook's table of reeds, those at hand.
    minutes_a_day : float
        Playing a day; stands for the world's own.
    days_limit : int
        Days the player would give to it.
    start, seed, instrument, design, outcome, matters
        As for `draw_up`. `design` and `outcome` are what was asked for; all others are weighed too.
    world : World, optional
        The player and the reeds (`own_world.world_for`).
    trials : int
        Simulated trials of each plan at each true gap.
    life : bool
        Work out what lives would need, where the question can be asked of them.
    asked : Outlook, optional
        The forecast of the plan as asked for, where it has been made: it is then not made again.
    step : callable, optional
        Told how many trials were played.
    level_of : callable, optional
        Gives the level that a plan of this question will be judged at (`verdicts.repeats`); its own if not given.
    more
        Further wishes handed to `draw_up`: habits, boxes, left_out, played, confirmed, reeds_a_day.

    Raises
    ------
    InputError
        A limit is out of range.
    PlanRefused
        The question itself is refused: unknown, or a way that can make ill.
    """
    check_limits(minutes_a_day, days_limit, trials)
    asked_for = settle_question(question, more.pop("habits", None), confirmed=bool(more.get("confirmed")))
    own = world is not None and world != World()
    world = (World() if world is None else world).but(minutes_a_day=minutes_a_day)
    if outcome is not None:
        more["outcome"] = outcome
    desk = Desk(asked_for, reeds, minutes_a_day, world, seed, start, instrument, matters, trials, more, step, level_of)
    ways = [Way(d, o) for d in asked_for.designs for o in asked_for.outcomes_for(d)]
    first = _first(asked_for, ways, design, outcome)

    within = {way: _known(asked) if way == first and asked is not None else _within(desk, way, days_limit, first)
              for way in ways}
    feasible = {way: option for way, option in within.items() if option is not None}
    mine = feasible.get(first)
    best = max(feasible.values(), key=lambda o: o.useful, default=None)
    if mine is not None and best is not None and mine.useful >= best.useful - _AS_GOOD:
        best = mine
    chosen = first if best is None else next(w for w, o in feasible.items() if o is best)
    others = _others(desk, feasible, first if best is mine else chosen, days_limit)
    nearby = None
    if best is None or best.useful < ENOUGH:
        nearby = _nearby(desk, days_limit)
    refused = desk.refusals.get(first) if mine is None else None
    return Advice(
        ask=asked_for.ask, asked=mine, best=best, others=others, nearby=nearby,
        life=_life(asked_for, desk, matters, outcome) if life else None, minutes_a_day=minutes_a_day,
        days_limit=days_limit, reeds_at_hand=_usable(reeds), refused=None if refused is None else str(refused),
        own_numbers=own)


def _first(question: Question, ways: list[Way], design: str | None, outcome: str | None) -> Way:
    fits = [w for w in ways if design in (None, w.design) and outcome in (None, w.outcome)]
    if not fits:
        raise PlanRefused(tr("`{outcome}` does not fit this question. {why}").format(
                              outcome=outcome or design, why=question.why),
                          tr("Choose one of: {outcomes}.").format(
                              outcomes=", ".join(question.outcomes)), "outcome_not_for_design")
    return fits[0]


def _known(found: Outlook) -> Option:
    return Option(kind="as_asked", outlook=found, days=found.protocol.days, reeds=len(found.protocol.reeds))


def _usable(reeds: pd.DataFrame) -> int:
    return int((~reeds["set_aside"].astype(bool)).sum()) if "set_aside" in reeds else len(reeds)


def _kind(way: Way, first: Way) -> str:
    if way == first:
        return "as_asked"
    return "other_outcome" if way.design == first.design or (way.lives and not first.lives) else "other_design"


def _within(desk: Desk, way: Way, limit: int, first: Way) -> Option | None:
    """Return the plan within the limit: the usual length if that is good enough, else all the days there are."""
    usual = min(limit, desk.question.days[way.outcome])
    option = desk.option(_kind(way, first), way, usual)
    if usual < limit and (option is None or option.useful < _GOOD):
        option = desk.option(_kind(way, first), way, limit) or option
    return option


def _others(desk: Desk, feasible: dict[Way, Option], way: Way, limit: int) -> tuple[Option, ...]:
    """Return the best two of other kinds: another way within the limit, more weeks, more reeds."""
    mine = feasible.get(way)
    least = 0.0 if mine is None else mine.useful
    found: list[Option] = []
    rest = [o for w, o in feasible.items() if w != way]
    if rest:
        found.append(max(rest, key=lambda o: o.useful))
    for option in (_more_weeks(desk, way, limit), _more_reeds(desk, way, limit)):
        if option is not None and (mine is None or option.useful > least + _AS_GOOD or least < _AS_GOOD):
            found.append(option)
    return tuple(sorted(found, key=lambda o: -o.useful)[:2])


def _more_weeks(desk: Desk, way: Way, limit: int) -> Option | None:
    """Return the shortest longer plan that is good enough, else the longest tried."""
    lengths = {min(_LONGEST, max(14, limit) * k) for k in ((2, 4, 8) if not way.lives else (8,))}
    return _first_good(desk, "more_weeks", way, [(d, 0) for d in sorted(lengths) if d > limit])


def _more_reeds(desk: Desk, way: Way, limit: int) -> Option | None:
    """Return the plan with the fewest more reeds that is good enough, else the largest tried.

    Reed by reed, more reeds need more days, so that each is still rated often enough.
    """
    have = _usable(desk.reeds)
    if way.design == "day_by_day":  # four a day are enough: more reeds would only take turns
        return desk.option("more_reeds", way, limit, 4 - have) if have < 4 else None
    usual = max(limit, min(desk.question.days[way.outcome], 3 * limit))
    return _first_good(desk, "more_reeds", way, [
        (min(_LONGEST, math.ceil(usual * (have + more) / max(have, 10))), more) for more in _MORE_REEDS])


def _first_good(desk: Desk, kind: str, way: Way, plans: list[tuple[int, int]]) -> Option | None:
    """Play the first of the plans (days, more reeds) that the planner's first guess finds good, else the last."""
    drafts = [(draft.chance, plan) for plan in plans if (draft := desk.draft(way, *plan)) is not None]
    if not drafts:
        return None
    days, more = next((plan for chance, plan in drafts if chance >= _GOOD), drafts[-1][1])
    return desk.option(kind, way, days, more)


def _nearby(desk: Desk, limit: int) -> Option | None:
    """Return a question on a habit of the day that these reeds can answer within the limit."""
    for key in _NEARBY:
        if key == desk.question.key:
            continue
        other = Desk(CATALOGUE[key], desk.reeds, desk.minutes_a_day, desk.world, desk.seed, desk.start,
                     desk.instrument, None, desk.trials,
                     {k: v for k, v in desk.more.items() if k in ("boxes", "left_out")}, desk.step, desk.level_of)
        way = Way("day_by_day", "day_rating")
        option = _within(other, way, limit, way)
        if option is not None and option.useful >= ENOUGH:
            return Option(kind="other_question", outlook=option.outlook, days=option.days, reeds=option.reeds)
    return None


def _life(question: Question, desk: Desk, matters: float | None, outcome: str | None) -> LifeNeeds | None:
    if "life_hours" not in question.outcomes:
        return None
    ratio = matters if matters is not None and outcome is not None and OUTCOMES[outcome].lives else None
    return life_needs(desk.world, ratio=question.matters["life_hours"] if ratio is None else ratio,
                      minutes_a_day=desk.minutes_a_day)  # always from one seed: one player is told one number
