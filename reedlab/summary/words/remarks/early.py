"""Looking early, and ending early."""

from __future__ import annotations

import textwrap

from ....wording import tr, trn
from ... import numbers
from ...case import Case
from .. import together
from ..repeats import repeat_sentences
from ..standing import odds_words
from ._tools import Facts, hours, reeds, writes

__all__: list[str] = []

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
