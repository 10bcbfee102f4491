"""Plan a trial reed by reed: choose the matched sets, deal, lay out the slots."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd

from ..errors import InputError, PlanRefused
from ..trial.crossover import Halves
from ..trial.dealing import deal
from ..trial.outcomes import OUTCOMES
from ..trial.practice import value
from ..trial.protocol import Habit, Protocol, Slot, Unit
from ..wording import tr, trn
from .box_against_box import cuts_of_boxes, one_from_each
from .draft import Draft
from .layouts import SetLayout, candidate_layouts
from .own_hours import days_needed, limit_slots, plays_to_cap, side_by_side_slots, turn_widths
from .refuse import one_reed, too_few_reeds, too_short
from .slots import days_of_a_round, even_slots, halves_slots
from .stand_in import StandIn, stand_in
from .tried import FIRST_LOOK, Laid, draft_of, plan_of, tried
from .wish import Wish

__all__ = ["lay_out_reeds", "shown_reeds"]

_LONGEST = 182  # days a life trial is planned for unless the player says otherwise
_ROUNDS_A_HALF = 2  # ratings of each reed in each half of a crossover: one is needed, and days are missed
_ROUNDS = 5  # ratings of each reed wanted; three are needed
_TO_CHOOSE = 200  # simulated trials of each layout: they only pick one
_ABOUT_AS_GOOD = 0.05  # a layout that survives losing a set may cost this much chance


@dataclass(frozen=True)
class _Time:
    """What one layout gets: days, rated sittings and playing hours of a reed."""

    days: int
    sittings: float
    hours: float


def lay_out_reeds(wish: Wish) -> Draft:
    """Choose the layout, deal and lay out the slots.

    Layouts whose smallest p is at most 1 - level are compared by their forecast chance of a right answer. One that
    stays fair after losing any set is preferred unless that costs more than 5 in 100. The chosen one is forecast
    afresh, so that its chance is not flattered by having been the best. All of it is done on the plan's stand-in, so
    that the choice hangs on no seed.
    """
    if len(wish.usable.table) < 2:
        raise one_reed()
    if wish.question.key == "cut_or_strength":
        return _many_boxes(wish)
    fair, plans = _possible(wish)
    shown = _chosen(stand_in(wish))
    chosen = list(plans)[shown.index]
    found = tried(shown.wish, shown.laid, wish.simulations)
    chances = {**dict(zip(plans, shown.chances, strict=True)), chosen: found.right}
    return draft_of(wish, plans[chosen], found, _table(fair, chances, chosen),
                    tuple(_remarks(wish, chosen, plans[chosen].days, found.worn_out if wish.lives else None)),
                    plan_of(shown.wish, shown.laid))


def shown_reeds(stand: StandIn) -> Protocol:
    """Return the plan that a stand-in makes: what is played through for every plan of its shape."""
    if stand.wish.question.key == "cut_or_strength":
        return lay_out_reeds(stand.wish).protocol
    shown = _chosen(stand)
    return plan_of(shown.wish, shown.laid)


@dataclass(frozen=True)
class _Chosen:
    """The layout that was chosen for a stand-in, by its place among those possible, and what each was found to do."""

    wish: Wish
    index: int
    laid: Laid
    chances: tuple[float, ...]


@lru_cache(maxsize=512)
def _chosen(stand: StandIn) -> _Chosen:
    wish = stand.wish
    _, plans = _possible(wish)
    chances = {x: tried(wish, laid, _TO_CHOOSE, FIRST_LOOK).right for x, laid in plans.items()} if (
        len(plans) > 1) else dict.fromkeys(plans, 0.0)
    best = max(chances.values())
    sturdy = [x for x in plans if x.least_p_after_set <= 1 - wish.level + 1e-12 and chances[x] >= best - _ABOUT_AS_GOOD]
    chosen = max(sturdy or plans, key=chances.__getitem__)
    return _Chosen(wish, list(plans).index(chosen), plans[chosen], tuple(chances.values()))


def _possible(wish: Wish) -> tuple[list[SetLayout], dict[SetLayout, Laid]]:
    """Return the layouts that can reach a p, and of these the plans that also have the days; refuses where none has."""
    by_box = wish.usable.by_box()
    layouts = candidate_layouts(by_box, smallest=4 if wish.lives else 2)
    alpha = 1 - wish.level + 1e-12
    fair = [x for x in layouts if x.least_p <= alpha]
    if not fair:
        least = min((x.least_p for x in layouts), default=None)
        raise too_few_reeds(len(wish.usable.table), [(b, len(r)) for b, r in by_box.items()], least, wish.lives,
                            "day_by_day" in wish.question.designs)
    times = {x: _time(wish, x) for x in fair}
    few = _ROUNDS_A_HALF if wish.effect_days else value("fewest_rated")
    enough = [x for x in fair if times[x].sittings >= few]
    if not enough:
        _refuse_short(wish, fair)
    plans: dict[SetLayout, Laid] = {}
    refused: list[PlanRefused] = []
    for x in enough:
        try:
            plans[x] = _laid(wish, x, times[x])
        except PlanRefused as no:
            refused.append(no)
    if not plans:
        raise refused[0]
    return fair, plans


def _laid(wish: Wish, x: SetLayout, time: _Time) -> Laid:
    counts: dict[Hashable, int] = dict(zip(x.labels, x.n_b, strict=True))
    is_b = tuple(bool(b) for b in deal(x.blocks, counts, seed=wish.seed))
    cap, overrides, days = wish.cap_hours, wish.question.overrides, time.days
    if wish.effect_days:
        slots = halves_slots(x.sets, Halves(days, wish.effect_days), wish.a_day,
                             np.random.default_rng([wish.seed, 2]))
    elif wish.question.same_days:
        slots = even_slots(x.sets, days, wish.a_day, np.random.default_rng([wish.seed, 2]))
    else:
        cap = _cap(wish)
        slots, overrides = _own_slots(wish, x, is_b, cap)
        days = max(max(s.day for s in slots), days)
    return _made(wish.question.habits, x, is_b, slots, days=days, spare=x.spare, cap_hours=cap, overrides=overrides)


def _made(habits: tuple[Habit, Habit], x: SetLayout, is_b: tuple[bool, ...], slots: tuple[Slot, ...], *, days: int,
          **more: Any) -> Laid:
    return Laid(
        habits=habits, units=tuple(Unit(r, b, (r,)) for r, b in zip(x.reeds, x.blocks, strict=True)), is_b=is_b,
        slots=slots, days=days, least_p=x.least_p, least_p_after_loss=x.least_p_after_set, **more)


def _time(wish: Wish, x: SetLayout) -> _Time:
    n = len(x.reeds)
    if not wish.question.same_days:
        cap = _cap(wish)
        return _Time(days_needed(n, cap, wish.minutes_a_day), plays_to_cap(cap, wish.minutes_a_day / 2), cap)
    round_days = days_of_a_round([len(s) for s in x.sets], wish.a_day)
    days = wish.days
    if wish.effect_days:
        days = max(wish.question.days[wish.outcome], _crossover_days(wish, x)) if days is None else days
        counted = max(0, Halves(days, wish.effect_days).counted)
        return _Time(days, counted // round_days, 2 * counted * wish.minutes_a_day / 60 / n)
    if days is None:
        days = max(wish.question.days[wish.outcome], _ROUNDS * round_days)
        if wish.lives:  # long enough that a median reed wears out, within reason
            days = min(_LONGEST, max(28, math.ceil(n * wish.world.life_median_h * 60 / wish.minutes_a_day)))
    hours = days * wish.minutes_a_day / 60 / n
    if wish.lives and wish.cap_hours is not None:
        hours = min(hours, wish.cap_hours)
    return _Time(days, days // round_days, hours)


def _crossover_days(wish: Wish, x: SetLayout) -> int:
    """Return the fewest days in which every reed is rated often enough in both halves."""
    return 2 * (wish.effect_days + _ROUNDS_A_HALF * days_of_a_round([len(s) for s in x.sets], wish.a_day))


def _cap(wish: Wish) -> float:
    cap = OUTCOMES[wish.outcome].cap_hours if wish.cap_hours is None else wish.cap_hours
    if cap is None:
        raise InputError(tr("The most hours of a reed are missing: say after how many playing hours a reed is done "
                            "where {title} counts.").format(title=OUTCOMES[wish.outcome].title))
    return cap


def _refuse_short(wish: Wish, fair: list[SetLayout]) -> None:
    days = wish.days or 0
    few = int(value("fewest_rated"))
    if wish.effect_days:
        raise too_short(days, min(_crossover_days(wish, x) for x in fair),
                        tr("each half begins with {n} days that are not rated, and needs {few} ratings of each reed "
                           "after that.").format(n=wish.effect_days, few=_ROUNDS_A_HALF))
    if not wish.question.same_days:
        raise PlanRefused(tr("A cap of {cap:g} hours is too low: each reed needs at least {few} ratings.").format(
                              cap=_cap(wish), few=few),
                          tr("Give each reed at least {least:g} hours, or leave the cap to the plan.").format(
                              least=math.ceil(2 * few * wish.minutes_a_day / 2 / 60) / 2), "too_short")
    need = min(few * days_of_a_round([len(s) for s in x.sets], wish.a_day) for x in fair)
    more = " " + tr("Or set reeds aside: {days} reeds fit in {days2} days.").format(
                     days=days * wish.a_day // few, days2=days) if (
        days * wish.a_day // few >= 8) else ""
    raise too_short(days, need, tr("each reed needs at least {few} ratings.").format(few=few), more)


def _own_slots(wish: Wish, x: SetLayout, is_b: tuple[bool, ...], cap: float,
               ) -> tuple[tuple[Slot, ...], tuple[tuple[str, str, float], ...]]:
    """Lay out slots where the habit sets the hours; refuses a length in which the cap cannot be reached."""
    keys = [h.key for h in wish.question.habits]
    rng = np.random.default_rng([wish.seed, 2])
    side = dict(zip(x.reeds, is_b, strict=True))
    order = [str(r) for i in rng.permutation(len(x.sets)) for r in rng.permutation(list(x.sets[i]))]
    reeds = {key: [r for r in order if side[r] == bool(i)] for i, key in enumerate(keys)}
    overrides = wish.question.overrides
    limited = [h for h, name, v in overrides if name == "daily_limit_min" and v < 720]
    if limited:
        limit = min(value("daily_limit_min"), wish.minutes_a_day / 2)
        overrides = tuple((h, n, limit if n == "daily_limit_min" and h == limited[0] else v)
                          for h, n, v in overrides)
        free = next(k for k in keys if k != limited[0])
        slots = limit_slots(reeds[limited[0]], reeds[free], limit_min=limit, cap_hours=cap,
                            minutes_a_day=wish.minutes_a_day, rng=rng)
    else:
        widths = turn_widths(keys, overrides)
        slots = side_by_side_slots(reeds, widths, [h for h, name, v in overrides if name == "rest_days" and v > 0],
                                   cap_hours=cap, minutes_a_day=wish.minutes_a_day, rng=rng)
    need = max(s.day for s in slots)
    if wish.days is not None and wish.days < need:
        fits = wish.days * wish.minutes_a_day / 60 / len(x.reeds)
        raise too_short(wish.days, need, tr("each of {n} reeds is to be played for {cap:g} hours.").format(
                                             n=len(x.reeds), cap=cap),
                        " " + tr("Or lower the cap to {floor:g} hours a reed, or set reeds aside.").format(
                                  floor=math.floor(2 * fits) / 2))
    return slots, overrides


def _table(fair: list[SetLayout], chances: dict[SetLayout, float], chosen: SetLayout) -> pd.DataFrame:
    rows = [{
        "layout": x.words, "arrangements": x.arrangements, "least_p": x.least_p, "after_loss": x.least_p_after_set,
        "chance": chances.get(x, math.nan), "chosen": x is chosen} for x in fair]
    return pd.DataFrame(rows).sort_values("chance", ascending=False, kind="stable", ignore_index=True)


def _remarks(wish: Wish, x: SetLayout, days: int, worn: float | None) -> list[str]:
    out, hours = [], _time(wish, x).hours
    if x.spare:
        out.append(tr("Left as a spare: {spare}.").format(spare=", ".join(x.spare)))
    if x.least_p_after_set > 1 - wish.level and len(x.sets) > 1:
        out.append(tr("If you lose a whole matched set, the trial can no longer name a winner. Mind your reeds."))
    elif x.least_p_after_reed > 1 - wish.level:
        out.append(tr("If you lose one reed, the trial can no longer name a winner. Mind your reeds."))
    if wish.usable.unrated:
        out.append(tr("No first play rating: {unrated}. These reeds were matched by chance. Rate the first play of "
                      "each reed before you start, and plan again for a sharper trial.").format(
                       unrated=", ".join(wish.usable.unrated)))
    if wish.effect_days:
        halves = Halves(days, wish.effect_days)
        out.append(tr("On day {day} every reed changes to its other way. Keep each reed in its way on every day, also "
                      "on those on which it is not played.").format(day=halves.first + 1))
        out.append(trn("On the first day of each half nothing is rated: what the way before did wears off.",
                       "On the first {n} days of each half nothing is rated: what the way before did wears off.",
                       wish.effect_days).format(n=wish.effect_days))
        out.append(tr("What stays for good of a way can't be told apart here. If you doubt that it is gone after that, "
                      "let each reed keep to one way."))
    if not wish.question.from_new:
        out.append(tr("Break the reeds in first. Day 1 of the trial comes after that."))
        if "break_in" in wish.adjust:
            out.append(tr("Each reed is weighed against its last three ratings before the start. They tell more of it "
                          "than its first play."))
        elif "first_play" in wish.adjust:
            out.append(tr("Rate each reed on three days while you break it in, and plan after that: a trial that knows "
                          "its reeds sees more."))
    if wish.days is None and wish.question.same_days and days > wish.question.days[wish.outcome]:
        out.append(tr("Your {n} reeds need {days} days, so that each is rated often enough.").format(
                       n=len(x.reeds), days=days))
    if not wish.question.same_days:
        out.append(tr("Each reed is played until it is worn out or has {hours:g} hours. That is about {days} days at "
                      "{minutes_a_day:g} minutes a day.").format(
                       hours=hours, days=days, minutes_a_day=wish.minutes_a_day))
    if worn is not None:
        out.append(tr("About {worn} of {n} reeds will be worn out by the end ({hours:.0f} hours of play each; our "
                      "guess).").format(worn=round(worn), n=len(x.reeds), hours=hours))
        if worn < 6:  # below it even the clearest split of lives is hard to tell from chance: our assumption
            out.append(tr("That is too few to learn which lasts longer. A rating is easier to answer, or plan for more "
                          "days."))
    return out


def _many_boxes(wish: Wish) -> Draft:
    """Two cuts with at least four boxes each: one reed drawn from every box; a hint at most."""
    by_box = wish.usable.by_box()
    kinds = cuts_of_boxes(by_box, wish.boxes)
    reeds, is_b, habits = one_from_each(by_box, kinds, np.random.default_rng([wish.seed, 2]))
    layout = SetLayout(tr("one reed from each of {n} boxes").format(n=len(reeds)), ("all",), (reeds,), (sum(is_b),), ())
    time = _time(wish, layout)
    if time.sittings < value("fewest_rated"):
        _refuse_short(wish, [layout])
    slots = even_slots(layout.sets, time.days, wish.a_day, np.random.default_rng([wish.seed, 3]))
    spare = tuple(r for r in wish.usable.reeds if r not in reeds)
    laid = _made(habits, layout, is_b, slots, days=time.days, spare=spare, how_dealt="not")
    found = tried(wish, laid, wish.simulations)
    return draft_of(wish, laid, found, _table([layout], {layout: found.right}, layout), (
        tr("The cut was not dealt by chance: it came with the box. The answer can only be a hint."),
        tr("One reed was drawn by chance from every box. It stands for its box.")), plan_of(wish, laid))
