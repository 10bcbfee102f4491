"""What the answer can and cannot say."""

from __future__ import annotations

import math

from ....wording import tr, trn
from ... import numbers
from ...case import Case
from ..lives import too_few_ends
from ..of_reeds import of_reeds
from ._tools import Facts, writes

__all__: list[str] = []


@writes("could_never_tell")
def _(f: Facts, c: Case) -> str:
    if f["why"] == "no_worn_out":
        return tr("No reed came to the end that counts, so nothing could be told.")
    if f["why"] == "early" or c.early:
        return tr("Read this early, the trial could not have told, whatever the result.")
    if f["why"] == "too_few_worn_out":
        return tr("Too few reeds came to their end. With so few, even the clearest result would come up by shuffling "
                  "alone {chance}.").format(chance=numbers.chance(float(f["least_p"])))
    if c.remark("too_few_blocks") is not None:
        return tr("This trial could never have told, whatever the ratings.")
    if c.lost_too_much and float(f["least_p"]) >= 1:
        return tr("Too much was lost for this trial to tell: nothing is left to compare.")
    if c.lost_too_much:
        return tr("Too much was lost for this trial to tell. With what is left, even the clearest result would come up "
                  "by shuffling alone {chance}.").format(chance=numbers.chance(float(f["least_p"])))
    return tr("This trial could never have told. Even the clearest result would come up by shuffling alone "
              "{chance}.").format(chance=numbers.chance(float(f["least_p"])))


@writes("wide_range")
def _(f: Facts, c: Case) -> str:
    if c.main is not None and (too_few_ends(c.main) or math.isnan(c.main.estimate)):
        return tr("Nothing is known of the gap here. Don't read this as no difference.")
    return tr("The range is wide: a gap that matters is possible both ways. Don't read this as no difference.")


_HELD = {
    "ceiling": tr("ratings sit at an end of the scale, where a gap can hide"),
    "all_alike": tr("the ratings are all alike"),
    "as_done": tr("the reading by what you really did does not agree"),
    "early": tr("the trial was read early"),
}


@writes("same_held_back")
def _(f: Facts, c: Case) -> str:
    if f["why"] == "stays":
        return trn("What a way does that is gone after {n} day makes no difference that matters here. But what stays "
                   "for good shows only half as big when reeds change ways, so the two can't be called the same.",
                   "What a way does that is gone after {n} days makes no difference that matters here. But what stays "
                   "for good shows only half as big when reeds change ways, so the two can't be called the same.",
                   c.plan.effect_days).format(n=c.plan.effect_days)
    if f["why"] == "leans":
        return tr("The range is narrow, but the two ways can't be called the same. Your ratings of a reed lean on the "
                  "rating before, more than luck explains. That can hide a gap.")
    return of_reeds(c, tr("The range is narrow, but the two ways can't be called the same, because {held}.")).format(
               held=_HELD.get(str(f["why"]), tr("the ratings do not allow it")))


@writes("carry_over")
def _(f: Facts, c: Case) -> str:
    step = numbers.step_for(float(f["low"]), float(f["high"]))
    low, high = (numbers.size(abs(float(f[x])), c.noun, step) if math.isfinite(float(f[x])) else tr("any size")
                 for x in ("low", "high"))
    if float(f["low"]) <= 0 <= float(f["high"]):
        said = tr("Did something of a way stay after the change? That can't be ruled out: up to {high} of {b}, or up "
                  "to {low} of {a}.").format(high=high, low=low, a=c.name("A"), b=c.name("B"))
    else:
        side, near, far = ("B", low, high) if float(f["low"]) > 0 else ("A", high, low)
        said = tr("It looks as if something of {name} had stayed after the change, {near} to {far}; or the reeds that "
                  "began with it were better ones.").format(name=c.name(side), near=near, far=far)
    return said + " " + tr("This is told by comparing reeds, which differ much, so it decides nothing.")


@writes("as_done_differs")
def _(f: Facts, c: Case) -> str:
    return tr("Read by what you really did, the answer comes out another way. Take it with care.")
