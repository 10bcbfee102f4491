"""Plan a trial day by day: squares, pairs of days, or two boxes."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from ..trial.dealing import deal
from ..trial.practice import value
from .boxes import box_habits, box_units
from .chance import Chance, chance_boxes, chance_days
from .refuse import one_reed, too_short
from .squares import day_slots, day_units
from .wish import Laid, Wish

__all__ = ["lay_out_days"]

_REEDS = 4
_FEWEST_BLOCKS = 6  # 2 / 2^6 = 0.031; five can only reach 0.0625


def lay_out_days(wish: Wish) -> Laid:
    """Choose the reeds, lay out squares or pairs of days, deal.

    The reeds are the best of the first play, four unless said otherwise: they are the ones that will be
    played anyway, and the choice does not know the habits.
    """
    days = wish.days or wish.question.days[wish.outcome]
    if wish.question.key == "cut_or_strength":
        return _two_boxes(wish, days)
    table = wish.usable.table.sort_values("first_play", ascending=False, kind="stable", na_position="last")
    if len(table) < 2:
        raise one_reed()
    wanted = max(_REEDS, wish.a_day) if wish.reeds_in_trial is None else max(2, wish.reeds_in_trial)
    reeds = sorted(table["reed"].iloc[:wanted])
    a_day = min(wish.a_day, len(reeds))
    each = max(1, a_day // 2)
    fewest = _fewest_blocks(wish.level)
    blocks = each * (days // 2)
    if blocks < fewest:
        raise too_short(days, 2 * math.ceil(fewest / each), "too few pairs of days for chance to be ruled out.",
                        " Or rate more reeds a day." if each < len(reeds) // 2 else "")
    units = day_units(reeds, days, a_day, np.random.default_rng([wish.seed, 2]))
    is_b = deal([u.block for u in units], 1, seed=wish.seed)
    slots = day_slots(units, np.random.default_rng([wish.seed, 3]))
    layouts, forecast = _compare(wish, days, len(table), a_day)
    remarks = [f"Reeds of this trial: {', '.join(reeds)}."]
    if days % 2:
        remarks.append(f"Days are used two by two, so day {days} is free.")
    if a_day > 1 and a_day % 2:
        remarks.append(f"Reeds are used two by two, so {a_day - 1} are rated a day.")
    more = layouts[(layouts["chance"] > forecast.right + 0.1) & ~layouts["chosen"]]
    if len(more) and forecast.right < 0.8:
        top = more.sort_values("chance").iloc[-1]
        remarks.append(f"With {top['layout']} the chance of a clear answer would rise to about "
                       f"{round(100 * top['chance'])} in 100.")
    if wish.usable.unrated:
        remarks.append("Some reeds have no first play rating. Rated reeds were taken first.")
    return Laid(
        habits=wish.question.habits, units=units, is_b=tuple(bool(b) for b in is_b), slots=slots, days=days,
        forecast=forecast, layouts=layouts, least_p=_pairs_p(blocks), least_p_after_loss=_pairs_p(blocks - 1),
        least_p_after_reed=_pairs_p(blocks - 1), spare=tuple(r for r in table["reed"] if r not in reeds),
        hours=len(slots) * value("slot_min") / 60 / len(reeds), overrides=wish.question.overrides,
        remarks=tuple(remarks))


def _pairs_p(blocks: int) -> float:
    return min(1.0, 2 / 2 ** max(blocks, 0))


def _fewest_blocks(level: float) -> int:
    return next(b for b in range(1, 64) if _pairs_p(b) <= 1 - level + 1e-12)


def _row(words: str, blocks: int, chance: Chance, chosen: bool) -> dict[str, object]:
    return {"layout": words, "units": 2 * blocks, "arrangements": 2**blocks, "least_p": _pairs_p(blocks),
            "after_loss": _pairs_p(blocks - 1), "after_reed": _pairs_p(blocks - 1), "chance": chance.right,
            "chosen": chosen}


def _compare(wish: Wish, days: int, usable: int, a_day: int) -> tuple[pd.DataFrame, Chance]:
    """Return the table of reeds a day that time and reeds allow, and the forecast of the one asked for."""
    most = min(usable, int(wish.minutes_a_day // value("slot_min")), 6)
    rows: list[dict[str, object]] = []
    forecast: Chance | None = None
    for n in sorted({1, *range(2, most + 1, 2), a_day}):
        blocks = max(1, n // 2) * (days // 2)
        if blocks < 1:
            continue
        mine = n == a_day
        chance = chance_days(
            blocks, n > 1, gap=wish.matters,
            world=wish.world, level=wish.level,
            trials=wish.simulations if mine else max(100, wish.simulations // 2),
            rng=np.random.default_rng([wish.seed, 21]))
        words = "1 reed a day" if n == 1 else f"{n} reeds a day"
        rows.append(_row(words, blocks, chance, mine))
        if mine:
            forecast = chance
    if forecast is None:  # cannot be: `a_day` is one of the rows
        raise AssertionError("the plan asked for was not simulated")
    return pd.DataFrame(rows), forecast


def _two_boxes(wish: Wish, days: int) -> Laid:
    by_box = wish.usable.by_box()
    habits = box_habits(by_box)
    most = min(len(r) for r in by_box.values())
    pairs = max(1, min(wish.a_day // 2, most))
    blocks = days * pairs
    fewest = _fewest_blocks(wish.level)
    if blocks < fewest:
        raise too_short(days, math.ceil(fewest / pairs), "too few draws for chance to be ruled out.")
    units, is_b, slots = box_units(by_box, days, pairs, seed=wish.seed, rng=np.random.default_rng([wish.seed, 2]))
    chance = chance_boxes(days, pairs, gap=wish.matters, world=wish.world, level=wish.level,
                          trials=wish.simulations, rng=np.random.default_rng([wish.seed, 21]))
    words = "one reed of each box a day" if pairs == 1 else f"{pairs} reeds of each box a day"
    return Laid(
        habits=habits, units=units, is_b=is_b, slots=slots, days=days, forecast=chance,
        layouts=pd.DataFrame([_row(words, blocks, chance, True)]), least_p=_pairs_p(blocks),
        least_p_after_loss=_pairs_p(blocks - 1), least_p_after_reed=_pairs_p(blocks - 1),
        hours=len(slots) * value("slot_min") / 60 / len(wish.usable.table),
        remarks=("The answer is about these two boxes. It says nothing of other boxes of the same cut.",
                 "Each day one reed is drawn by chance from each box. Draws may repeat from day to day.",
                 "Break in all the reeds of both boxes the same way first."))
