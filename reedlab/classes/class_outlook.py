"""What a class can show that one pupil cannot, and how many pupils would settle it. Simulated, before the start.

Every pupil is dealt their own reeds from the class's plan; the class's trial is all of them side by side, shuffled
within each pupil's own sets, and judged as the combined answer is. It supposes that a habit does the same for all
pupils, and that they rate as our assumptions say; where pupils truly differ, more are needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from ..errors import InputError
from ..plan import forecast
from ..plan.imagined import box_of_new_reeds
from ..trial.protocol import Protocol
from ..wording import tr, trn
from ..worlds import World
from .class_plan import ClassPlan, deal_for

__all__ = ["SIZES", "ClassOutlook", "Odds", "class_outlook", "outlook_words", "side_by_side"]

#: Sizes of class that are tried.
SIZES: Final = (1, 2, 3, 4, 6, 8, 12, 16, 24)
_ENOUGH: Final = 0.8
_MOST_PUPILS, _MOST_REEDS = 60, 20
_START: Final = date(2000, 1, 3)
_SEED: Final = 1


@dataclass(frozen=True)
class Odds:
    """Chances with so many pupils: that the better way is named if it is better by what matters, and that sameness is.

    From `trials` simulated classes each.
    """

    pupils: int
    right: float
    same: float
    trials: int


@dataclass(frozen=True)
class ClassOutlook:
    """By rising number of pupils. `reeds` are each pupil's; `settles` is the fewest tried that find it 80 times in 100.

    None where no class tried is big enough.
    """

    reeds: int
    odds: tuple[Odds, ...]
    settles: int | None


def class_outlook(plan: ClassPlan, *, reeds: int = 4, pupils: int = 8, sizes: Sequence[int] = SIZES,
                  trials: int = 200) -> ClassOutlook:
    """Return what a class can show, by what is assumed of pupils and reeds.

    Parameters
    ----------
    plan : ClassPlan
    reeds : int
        Each pupil's.
    pupils : int
        The class asked about, tried beside `sizes`.
    sizes : sequence of int
        Tried from the smallest on, up to the first that settles it; one pupil and the class asked about always are.
    trials : int
        Simulated classes at each size and gap.

    Raises
    ------
    InputError, PlanRefused
        Sizes that no class has; a pupil with so many reeds cannot be dealt from this plan.
    """
    for what, n, most in ((tr("Pupils in the class"), pupils, _MOST_PUPILS),
                          (tr("Reeds each pupil has"), reeds, _MOST_REEDS)):
        if not 1 <= n <= most:
            raise InputError(tr("{what}: wanted 1 to {most}, not {n}.").format(what=what, most=most, n=n))
    base = World()
    one = deal_for(plan, box_of_new_reeds("1", base, _SEED, reeds), start=_START, seed=_SEED, instrument="clarinet",
                   trial="class", simulations=100).protocol
    found: list[Odds] = []
    settles: int | None = None
    for n in sorted({1, pupils, *sizes}):
        if settles is not None and n != pupils:
            continue
        whole = side_by_side(one, n)
        # the minutes are a pupil's own: side by side there are so many of them
        told = forecast(whole, world=base.but(minutes_a_day=base.minutes_a_day * n), trials=trials, seed=_SEED,
                        gaps=(whole.card.none, whole.matters))
        found.append(Odds(n, told.right, told.same, trials))
        if told.right >= _ENOUGH and settles is None:
            settles = n
    return ClassOutlook(reeds, tuple(found), settles)


def outlook_words(found: ClassOutlook) -> list[str]:
    """Return what a class can show, in sentences."""
    one, most = found.odds[0], max(found.odds, key=lambda o: o.pupils) if found.settles is None else None
    asked = [o for o in found.odds if o.pupils > 1]
    out = [tr("One pupil with {reeds} reeds: if one way is better by what matters, it is found {right}; if the "
              "ways are alike, that is found {same}.").format(
               reeds=found.reeds, right=_of_100(one.right), same=_of_100(one.same))]
    out += [tr("{pupils} pupils together: {right}, and {same}.").format(
                pupils=o.pupils, right=_of_100(o.right), same=_of_100(o.same)) for o in asked]
    if found.settles is not None:
        out.append(trn("{n} pupil would settle it: from there on a better way is found 80 times in 100 or more.",
                       "{n} pupils would settle it: from there on a better way is found 80 times in 100 or more.",
                       found.settles).format(n=found.settles))
    elif most is not None:
        out.append(tr("Even {pupils} pupils would not settle it. Ask about a bigger difference, or play "
                      "longer.").format(pupils=most.pupils))
    return [*out, tr("This is simulated, with our assumptions about reeds and players, as if the habit did the "
                     "same for all pupils. Where it does not, more are needed.")]


def _of_100(share: float) -> str:
    n = round(100 * share)
    if 1 <= n <= 99:
        return trn("{n} time in 100", "{n} times in 100", n).format(n=n)
    return tr("almost never") if n < 1 else tr("almost always")


def side_by_side(one: Protocol, pupils: int) -> Protocol:
    """Return one plan that holds so many pupils' trials of one layout, each with reeds, boxes and sets of their own."""
    def mine(k: int, reed: str) -> str:
        box, _, number = reed.rpartition("-")
        return f"p{k}{box}-{number}"

    units = tuple(
        replace(u, unit=mine(k, u.unit) if one.unit_kind == "reed" else f"p{k}.{u.unit}", block=f"p{k}.{u.block}",
                reeds=tuple(mine(k, r) for r in u.reeds), cells=tuple((mine(k, r), d) for r, d in u.cells))
        for k in range(1, pupils + 1) for u in one.units)
    slots = tuple(replace(s, reed=mine(k, s.reed)) for k in range(1, pupils + 1) for s in one.slots)
    return replace(one, units=units, dealt=one.dealt * pupils, slots=slots)
