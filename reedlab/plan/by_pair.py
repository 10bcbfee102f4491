"""Plan a trial back to back: both ways on one reed within minutes, the way that goes first dealt pair by pair."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..trial.dealing import deal, even_counts, layout_of
from ..trial.practice import value
from ..trial.protocol import Protocol, Unit
from ..wording import tr, trn
from .draft import Draft
from .refuse import one_reed, too_short
from .squares import day_slots
from .stand_in import StandIn, stand_in
from .tried import Laid, draft_of, plan_of, tried
from .wish import Wish

__all__ = ["better_layouts", "lay_out_pairs", "pair_units", "shown_pairs"]

_REEDS = 4
_SET = 8  # pairs of a set: half begin with each way, so that a habit of favouring the first go falls on both alike
_ONE_SET = 16  # fewer pairs stay in one set: in smaller ones too few ways to deal are left when some are missed


def pair_units(reeds: Sequence[str], days: int, a_day: int, rng: np.random.Generator) -> tuple[Unit, ...]:
    """Lay out the pairs of a trial; nothing is dealt yet.

    Each day takes the reeds that have served least, ties by chance. Pairs are put in sets of eight in the
    order they are played, what is left over joins the last set; fewer than sixteen are one set.

    Returns
    -------
    tuple of Unit
        One reed on one day each.
    """
    served = dict.fromkeys(reeds, 0)
    cells = []
    for day in range(1, days + 1):
        chance = dict(zip(reeds, rng.random(len(reeds)), strict=True))
        for reed in sorted(reeds, key=lambda r: (served[r], chance[r]))[:a_day]:
            served[reed] += 1
            cells.append((reed, day))
    sets = 1 if len(cells) < _ONE_SET else len(cells) // _SET
    return tuple(Unit(f"{i + 1:03d}", f"{min(i // _SET, sets - 1) + 1:02d}", (reed,), ((reed, day),))
                 for i, (reed, day) in enumerate(cells))


def lay_out_pairs(wish: Wish, *, compared: bool = True) -> Draft:
    """Choose the reeds, lay out the pairs, deal; `compared` with other numbers of pairs a day.

    The reeds are the best of the first play, four unless said otherwise.
    """
    laid, reeds = _laid(wish)
    stand = stand_in(wish)
    shown = _laid(stand.wish)[0]
    found = tried(stand.wish, shown, wish.simulations)
    chance = float(found.right[0])
    layouts = _compare(stand, chance, compared)
    remarks = [tr("Reeds of this trial: {reeds}.").format(reeds=", ".join(sorted(reeds))),
               tr("Change nothing but the way between the two goes, and play the same few bars on both. It helps "
                  "most if someone else sets it up, so that you do not know which is which.")]
    remarks += better_layouts(wish, layouts, chance)
    return draft_of(wish, laid, found, layouts, tuple(remarks), plan_of(stand.wish, shown))


def better_layouts(wish: Wish, layouts: pd.DataFrame, chance: float) -> list[str]:
    """Return what is said last of a plan whose reeds serve both ways: a layout that would show more; reeds unrated."""
    out = []
    more = layouts[(layouts["chance"] > chance + 0.1) & ~layouts["chosen"]]
    if len(more) and chance < 0.8:
        top = more.sort_values("chance").iloc[-1]
        out.append(tr("With {layout} the chance of a clear answer would rise to about {chance} in 100.").format(
                       layout=top["layout"], chance=round(100 * top["chance"])))
    if wish.usable.unrated:
        out.append(tr("Some reeds have no first play rating. Rated reeds were taken first."))
    return out


def shown_pairs(stand: StandIn) -> Protocol:
    """Return the plan that a stand-in makes: what is played through for every plan of its shape."""
    return plan_of(stand.wish, _laid(stand.wish)[0])


def _laid(wish: Wish, a_day: int | None = None) -> tuple[Laid, tuple[str, ...]]:
    """Lay out and deal; refuses what is too little."""
    days = wish.days or wish.question.days[wish.outcome]
    order = wish.usable.best_first()
    if len(order) < 2:
        raise one_reed()
    reeds = order[:max(_REEDS, wish.a_day) if wish.reeds_in_trial is None else max(2, wish.reeds_in_trial)]
    n = min(wish.a_day if a_day is None else a_day, len(reeds))
    units = pair_units(sorted(reeds), days, n, np.random.default_rng([wish.seed, 2]))
    whole, less = _least_p(len(units)), _least_p(len(units) - 1)
    if whole > 1 - wish.level + 1e-12:
        need = next(d for d in range(days, 1000) if _least_p(d * n) <= 1 - wish.level + 1e-12)
        raise too_short(days, need, tr("too few pairs for chance to be ruled out."),
                        " " + tr("Or play more pairs a day.") if n < len(reeds) else "")
    is_b = deal([u.block for u in units], seed=wish.seed)
    slots = day_slots(units, np.random.default_rng([wish.seed, 3]))
    return Laid(
        habits=wish.question.habits, units=units, is_b=tuple(bool(b) for b in is_b), slots=slots, days=days,
        least_p=whole, least_p_after_loss=less, least_p_after_reed=less, spare=tuple(order[len(reeds):]),
        hours=len(slots) * value("slot_min") / 60 / len(reeds)), reeds


def _least_p(pairs: int) -> float:
    if pairs < 2:
        return 1.0
    sets = 1 if pairs < _ONE_SET else pairs // _SET
    blocks = [min(i // _SET, sets - 1) for i in range(pairs)]
    return layout_of(blocks, even_counts(blocks)).least_p


def _compare(stand: StandIn, chance: float, others: bool) -> pd.DataFrame:
    """Return the table of pairs a day that time and reeds allow; `chance` is that of the number asked for."""
    wish = stand.wish
    mine = min(wish.a_day, len(wish.usable.table))
    most = min(len(wish.usable.table), int(wish.minutes_a_day // value("slot_min")), 4)
    half = max(100, wish.simulations // 2)
    rows = []
    for n in sorted({*range(1, most + 1), mine} if others else {mine}):
        pairs = n * (wish.days or wish.question.days[wish.outcome])
        if _least_p(pairs) > 1 - wish.level + 1e-12:
            continue
        own = chance if n == mine else float(tried(wish, _laid(wish, n)[0], half).right[0])
        p, less = _least_p(pairs), _least_p(pairs - 1)
        rows.append({"layout": trn("{n} pair a day", "{n} pairs a day", n).format(n=n), "units": pairs,
                     "arrangements": round(2 / p), "least_p": p, "after_loss": less, "after_reed": less, "chance": own,
                     "chosen": n == mine})
    return pd.DataFrame(rows)
