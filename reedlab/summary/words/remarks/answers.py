"""What the answer can and cannot say, and what looking early, ending early and trying again do to it."""

from __future__ import annotations

import math
import textwrap

from ....wording import tr, trn
from ... import numbers
from ...case import Case
from ...names import of_reeds
from .. import together
from ..lives import too_few_ends
from ..repeats import repeat_sentences
from ..standing import odds_words
from ._tools import Facts, hours, reeds, writes

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
    return of_reeds(c.plan, tr("The range is narrow, but the two ways can't be called the same, because {held}."),
                    tr("The range is narrow, but the two reeds can't be called the same, because {held}.")).format(
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


_LONGEST = 160  # letters of the player's own reason; the whole of it stays in the log


@writes("early_look")
def _(f: Facts, c: Case) -> str:
    looks = numbers.times_over(float(f["looks"]))
    if not float(f["can_claim"]):
        return tr("The answer was opened early, {looks}. With so few ways to shuffle, an early look can't name a "
                  "winner.").format(looks=looks)
    return tr("The answer was opened early, {looks}. A trial read early may name a winner only if shuffling alone "
              "would do it {chance}.").format(looks=looks, chance=numbers.chance(float(f["p_needed"])))


@writes("odds_on_the_way")
def _(f: Facts, c: Case) -> str:
    if c.result.state == "opened_early":
        return tr("The answer was opened early, {looks}. In this trial that costs nothing: it goes by odds that hold "
                  "on any day.").format(looks=numbers.times_over(float(f["looks"])))
    if c.early:
        return tr("The answer goes by odds that hold on any day, so it costs nothing that the trial ended early.")
    return tr("The winner was named by the odds on the way, at {most}. The test at the end alone would not name "
              "one.").format(most=odds_words(float(f["most"])))


@writes("looks_paid")
def _(f: Facts, c: Case) -> str:
    final = numbers.rounded(100 * float(f["p_final"]), 0.1)
    return tr("You looked early {times_over}, and that has its price. A winner now needs a gap that shuffling alone "
              "gives at most {final} times in 100.").format(times_over=numbers.times_over(float(f["looks"])),
                                                            final=final)


@writes("repeated")
def _(f: Facts, c: Case) -> str:
    both = c.result.together
    return " ".join(repeat_sentences(round(float(f["number"])), float(f["p_needed"]),
                                     "" if both is None else together.headline(both)))


@writes("ended_early")
def _(f: Facts, c: Case) -> str:
    why = textwrap.shorten(str(f["why"] or ""), _LONGEST, placeholder=" ...").rstrip(".")
    reason = " " + tr("Your reason: {why}.").format(why=why) if why else ""
    return tr("The trial was ended on day {day} of {days}, so it is read as an early look.{reason}").format(
               day=round(float(f["day"])), days=round(float(f["days"])), reason=reason)


@writes("stopped_before_cap")
def _(f: Facts, c: Case) -> str:
    return trn("The trial stopped too soon: {reeds} was not yet done and had not reached {hours}. So it can't tell.",
               "The trial stopped too soon: {reeds} were not yet done and had not reached {hours}. So it can't tell.",
               round(float(f["reeds"]))).format(reeds=reeds(f["reeds"]), hours=hours(f["cap_hours"]))
