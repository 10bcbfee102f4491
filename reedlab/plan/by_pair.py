"""Plan a trial back to back: both ways on one reed within minutes, the way that goes first dealt pair by pair.

Two reeds side by side are the same with the two reeds as the ways. A reed has good days and bad ones, which two pairs
of one day share: so the pairs of a day are a set, one that begins with either reed, and a day's luck is one day's.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..errors import PlanRefused
from ..trial.dealing import deal, even_counts, layout_of
from ..trial.practice import value
from ..trial.protocol import Habit, Protocol, Unit
from ..wording import tr, trn
from .draft import Draft
from .refuse import one_reed, too_short
from .squares import day_slots
from .stand_in import StandIn, stand_in
from .tried import Laid, draft_of, plan_of, tried
from .wish import Wish

__all__ = ["TWO_REEDS", "better_layouts", "lay_out_pairs", "pair_units", "reeds_as_ways", "shown_pairs"]

#: The question whose two ways are two reeds.
TWO_REEDS = "two_reeds"

_REEDS = 4
_SET = 8  # pairs of a set: half begin with each way, so that a habit of favouring the first go falls on both alike
_ONE_SET = 16  # fewer pairs stay in one set: in smaller ones too few ways to deal are left when some are missed


def reeds_as_ways(reeds: Sequence[str]) -> tuple[Habit, Habit]:
    """Return the two ways of a trial of two reeds side by side: the reeds themselves, by code."""
    one, two = (Habit(r, tr("reed {reed}").format(reed=r), tr("Play reed {reed}.").format(reed=r))
                for r in sorted(reeds))
    return one, two


def pair_units(reeds: Sequence[str], days: int, a_day: int, rng: np.random.Generator, *,
               together: bool = False) -> tuple[Unit, ...]:
    """Lay out the pairs of a trial; nothing is dealt yet.

    Each day takes the reeds that have served least, ties by chance. Pairs are put in sets of eight in the
    order they are played, what is left over joins the last set; fewer than sixteen are one set. With `together` each
    pair is of both reeds, its cell says under which of them it is written down, and two pairs of a day are a set.

    Returns
    -------
    tuple of Unit
        One reed on one day each; `together`, two reeds.
    """
    served = dict.fromkeys(reeds, 0)
    cells = []
    for day in range(1, days + 1):
        chance = dict(zip(reeds, rng.random(len(reeds)), strict=True))
        for reed in sorted(reeds, key=lambda r: (served[r], chance[r]))[:a_day]:
            served[reed] += 1
            cells.append((reed, day))
    sets = _sets(len(cells), days if together and a_day > 1 else None)
    return tuple(Unit(f"{i + 1:03d}", f"{s + 1:02d}", tuple(reeds) if together else (reed,), ((reed, day),))
                 for i, (s, (reed, day)) in enumerate(zip(sets, cells, strict=True)))


def _sets(pairs: int, days: int | None) -> list[int]:
    """Return the set of each pair, in the order they are played; `days` where those of a day are one."""
    if days is not None:
        return [i * days // pairs for i in range(pairs)]
    sets = 1 if pairs < _ONE_SET else pairs // _SET
    return [min(i // _SET, sets - 1) for i in range(pairs)]


def lay_out_pairs(wish: Wish, *, compared: bool = True) -> Draft:
    """Choose the reeds, lay out the pairs, deal; `compared` with other numbers of pairs a day.

    The reeds are the best of the first play: four unless said otherwise, two where they are the ways.
    """
    laid, reeds = _laid(wish)
    stand = stand_in(wish)
    shown = _laid(stand.wish)[0]
    found = tried(stand.wish, shown, wish.simulations)
    chance = found.right
    layouts = _compare(stand, chance, compared)
    remarks = [tr("Reeds of this trial: {reeds}.").format(reeds=", ".join(sorted(reeds)))]
    if _together(wish):
        remarks += [tr("The answer is about these two reeds, on these days. It says nothing of other reeds."),
                    tr("Each pair is written down under one of the two, so that both get their minutes.")]
    else:
        remarks.append(tr("Change nothing but the way between the two goes, and play the same few bars on both. It "
                          "helps most if someone else sets it up, so that you do not know which is which."))
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


def _together(wish: Wish) -> bool:
    return wish.question.key == TWO_REEDS


def _laid(wish: Wish, a_day: int | None = None) -> tuple[Laid, tuple[str, ...]]:
    """Lay out and deal; refuses what is too little."""
    days, both = wish.days or wish.question.days[wish.outcome], _together(wish)
    order = wish.usable.best_first()
    if len(order) < 2:
        raise PlanRefused(tr("Two reeds are compared with each other, and you gave one."),
                          tr("Choose the two reeds to try side by side."), "not_two_reeds") if both else one_reed()
    reeds = order[:max(_REEDS, wish.a_day) if wish.reeds_in_trial is None else max(2, wish.reeds_in_trial)]
    reeds = order[:2] if both else reeds
    n = min(wish.a_day if a_day is None else a_day, len(reeds))
    units = pair_units(sorted(reeds), days, n, np.random.default_rng([wish.seed, 2]), together=both)
    whole, less = _least_p(len(units), n, both), _least_p(len(units) - (n if both else 1), n, both)
    if whole > 1 - wish.level + 1e-12:
        need = next(d for d in range(days, 1000) if _least_p(d * n, n, both) <= 1 - wish.level + 1e-12)
        raise too_short(days, need, tr("too few pairs for chance to be ruled out."),
                        " " + tr("Or play more pairs a day.") if n < len(reeds) else "")
    is_b = deal([u.block for u in units], seed=wish.seed)
    slots = day_slots(units, np.random.default_rng([wish.seed, 3]))
    return Laid(
        habits=reeds_as_ways(reeds) if both else wish.question.habits, units=units,
        is_b=tuple(bool(b) for b in is_b), slots=slots, days=days,
        least_p=whole, least_p_after_loss=less, spare=() if both else tuple(order[len(reeds):])), reeds


def _least_p(pairs: int, a_day: int, together: bool) -> float:
    if pairs < 2:
        return 1.0
    blocks = _sets(pairs, pairs // a_day if together and a_day > 1 else None)
    return layout_of(blocks, even_counts(blocks)).least_p


def _compare(stand: StandIn, chance: float, others: bool) -> pd.DataFrame:
    """Return the table of pairs a day that time and reeds allow; `chance` is that of the number asked for."""
    wish = stand.wish
    both = _together(wish)
    most = 2 if both else len(wish.usable.table)
    mine = min(wish.a_day, most)
    most = min(most, int(wish.minutes_a_day // value("slot_min")), 4)
    half = max(100, wish.simulations // 2)
    rows = []
    for n in sorted({*range(1, most + 1), mine} if others else {mine}):
        pairs = n * (wish.days or wish.question.days[wish.outcome])
        if _least_p(pairs, n, both) > 1 - wish.level + 1e-12:
            continue
        own = chance if n == mine else tried(wish, _laid(wish, n)[0], half).right
        p, less = _least_p(pairs, n, both), _least_p(pairs - (n if both else 1), n, both)
        rows.append({"layout": trn("{n} pair a day", "{n} pairs a day", n).format(n=n), "arrangements": round(2 / p),
                     "least_p": p, "after_loss": less, "chance": own, "chosen": n == mine})
    return pd.DataFrame(rows)
