"""Plan a trial day by day: squares, pairs of days, or two boxes; back to back is `by_pair`."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..trial.dealing import deal, least_p
from ..trial.outcomes import OUTCOMES
from ..trial.practice import value
from ..trial.protocol import Protocol
from ..wording import tr
from .box_against_box import box_habits, box_units
from .by_pair import better_layouts, lay_out_pairs, shown_pairs
from .draft import Draft
from .refuse import one_reed, too_short
from .squares import day_slots, day_units
from .stand_in import StandIn, stand_in
from .tried import Laid, draft_of, plan_of, tried
from .wish import Wish

__all__ = ["lay_out_days", "shown_days"]

_REEDS = 4


def lay_out_days(wish: Wish, *, compared: bool = True) -> Draft:
    """Choose the reeds, lay out squares or pairs of days, deal; `compared` with other numbers of reeds a day.

    The reeds are the best of the first play, four unless said otherwise: they are the ones that will be
    played anyway, and the choice does not know the habits.
    """
    if OUTCOMES[wish.outcome].pairs:
        return lay_out_pairs(wish, compared=compared)
    if wish.question.key == "cut_or_strength":
        return _two_boxes(wish)
    mine, reeds, a_day = _plain(wish)
    stand = stand_in(wish)
    shown = _plain(stand.wish)[0]
    found = tried(stand.wish, shown, wish.simulations)
    chance = found.right
    layouts = _compare(stand, len(reeds), mine.days, a_day, chance, compared)
    remarks = [tr("Reeds of this trial: {reeds}.").format(reeds=", ".join(sorted(reeds)))]
    if mine.days % 2:
        remarks.append(tr("Days are used two by two, so day {days} is free.").format(days=mine.days))
    if a_day > 1 and a_day % 2:
        remarks.append(tr("Reeds are used two by two, so {a_day} are rated a day.").format(a_day=a_day - 1))
    remarks += better_layouts(wish, layouts, chance)
    return draft_of(wish, mine, found, layouts, tuple(remarks), plan_of(stand.wish, shown))


def shown_days(stand: StandIn) -> Protocol:
    """Return the plan that a stand-in makes: what is played through for every plan of its shape."""
    if OUTCOMES[stand.wish.outcome].pairs:
        return shown_pairs(stand)
    boxes = stand.wish.question.key == "cut_or_strength"
    return plan_of(stand.wish, _boxes_laid(stand.wish)[0] if boxes else _plain(stand.wish)[0])


def _plain(wish: Wish) -> tuple[Laid, tuple[str, ...], int]:
    """Return the layout asked for, its reeds and how many are rated a day; refuses what is too little."""
    days = wish.days or wish.question.days[wish.outcome]
    order = wish.usable.best_first()
    if len(order) < 2:
        raise one_reed()
    wanted = max(_REEDS, wish.a_day) if wish.reeds_in_trial is None else max(2, wish.reeds_in_trial)
    reeds = order[:wanted]
    a_day = min(wish.a_day, len(reeds))
    each = max(1, a_day // 2)
    fewest = _fewest_blocks(wish.level)
    if each * (days // 2) < fewest:
        raise too_short(days, 2 * math.ceil(fewest / each), tr("too few pairs of days for chance to be ruled out."),
                        " " + tr("Or rate more reeds a day.") if each < len(reeds) // 2 else "")
    return _laid(wish, order, len(reeds), days, a_day), reeds, a_day


def _laid(wish: Wish, order: Sequence[str], n: int, days: int, a_day: int) -> Laid:
    """Lay out and deal a trial of the first `n` reeds, so many of them rated a day."""
    units = day_units(sorted(order[:n]), days, a_day, np.random.default_rng([wish.seed, 2]))
    is_b = deal([u.block for u in units], 1, seed=wish.seed)
    slots = day_slots(units, np.random.default_rng([wish.seed, 3]))
    blocks = len(units) // 2
    return Laid(
        habits=wish.question.habits, units=units, is_b=tuple(bool(b) for b in is_b), slots=slots, days=days,
        least_p=_pairs_p(blocks), least_p_after_loss=_pairs_p(blocks - 1), spare=tuple(order[n:]),
        overrides=wish.question.overrides)


def _pairs_p(blocks: int) -> float:
    return least_p(2 ** max(blocks, 0))


def _fewest_blocks(level: float) -> int:
    return next(b for b in range(1, 64) if _pairs_p(b) <= 1 - level + 1e-12)


def _row(words: str, blocks: int, chance: float, chosen: bool) -> dict[str, object]:
    return {"layout": words, "arrangements": 2**blocks, "least_p": _pairs_p(blocks),
            "after_loss": _pairs_p(blocks - 1), "chance": chance, "chosen": chosen}


def _compare(stand: StandIn, reeds: int, days: int, a_day: int, chance: float, others: bool) -> pd.DataFrame:
    """Return the table of reeds a day that time and reeds allow; `chance` is that of the number asked for."""
    wish, order = stand.wish, stand.wish.usable.reeds
    most = min(len(order), int(wish.minutes_a_day // value("slot_min")), 6)
    half = max(100, wish.simulations // 2)
    rows = []
    for n in sorted({1, *range(2, most + 1, 2), a_day} if others else {a_day}):
        own = chance if n == a_day else tried(wish, _laid(wish, order, max(reeds, n), days, n), half).right
        words = tr("1 reed a day") if n == 1 else tr("{n} reeds a day").format(n=n)
        rows.append(_row(words, max(1, n // 2) * (days // 2), own, n == a_day))
    return pd.DataFrame(rows)


def _boxes_laid(wish: Wish) -> tuple[Laid, int]:
    """Return the layout of two boxes, and how many reeds of each are rated a day."""
    days = wish.days or wish.question.days[wish.outcome]
    by_box = wish.usable.by_box()
    habits = box_habits(by_box)
    most = min(len(r) for r in by_box.values())
    pairs = max(1, min(wish.a_day // 2, most))
    blocks = days * pairs
    fewest = _fewest_blocks(wish.level)
    if blocks < fewest:
        raise too_short(days, math.ceil(fewest / pairs), tr("too few draws for chance to be ruled out."))
    units, is_b, slots = box_units(by_box, days, pairs, seed=wish.seed, rng=np.random.default_rng([wish.seed, 2]))
    return Laid(
        habits=habits, units=units, is_b=is_b, slots=slots, days=days, least_p=_pairs_p(blocks),
        least_p_after_loss=_pairs_p(blocks - 1)), pairs


def _two_boxes(wish: Wish) -> Draft:
    laid, pairs = _boxes_laid(wish)
    stand = stand_in(wish)
    shown = _boxes_laid(stand.wish)[0]
    found = tried(stand.wish, shown, wish.simulations)
    words = tr("one reed of each box a day") if pairs == 1 else tr("{pairs} reeds of each box a "
                                                                   "day").format(pairs=pairs)
    blocks = len(laid.units) // 2
    return draft_of(wish, laid, found, pd.DataFrame([_row(words, blocks, found.right, True)]), (
        tr("The answer is about these two boxes. It says nothing of other boxes of the same cut."),
        tr("Each day one reed is drawn by chance from each box. Draws may repeat from day to day."),
        tr("Break in all the reeds of both boxes the same way first.")), plan_of(stand.wish, shown))
