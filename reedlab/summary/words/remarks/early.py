"""Looking early, and ending early."""

from __future__ import annotations

import textwrap

from ... import numbers
from ...case import Case
from .. import together
from ..repeats import repeat_sentences
from ._tools import Facts, agree, hours, reeds, writes

__all__: list[str] = []

_LONGEST = 160  # letters of the player's own reason; the whole of it stays in the log


@writes("early_look")
def _(f: Facts, c: Case) -> str:
    looks = numbers.times_over(float(f["looks"]))
    if not float(f["can_claim"]):
        return (f"The answer was opened early, {looks}. With so few ways to shuffle, an early look can't "
                "name a winner.")
    return (f"The answer was opened early, {looks}. A trial read early may name a winner only if shuffling "
            f"alone would do it {numbers.chance(float(f['p_needed']))}.")


@writes("looks_paid")
def _(f: Facts, c: Case) -> str:
    final = numbers.rounded(100 * float(f["p_final"]), 0.1)
    return (f"You looked early {numbers.times_over(float(f['looks']))}, and that has its price. A winner now "
            f"needs a gap that shuffling alone gives at most {final} times in 100.")


@writes("repeated")
def _(f: Facts, c: Case) -> str:
    both = c.result.together
    return " ".join(repeat_sentences(round(float(f["number"])), float(f["p_needed"]),
                                     "" if both is None else together.headline(both)))


@writes("ended_early")
def _(f: Facts, c: Case) -> str:
    why = textwrap.shorten(str(f["why"] or ""), _LONGEST, placeholder=" ...").rstrip(".")
    reason = f" Your reason: {why}." if why else ""
    return (f"The trial was ended on day {round(float(f['day']))} of {round(float(f['days']))}, so it is "
            f"read as an early look.{reason}")


@writes("stopped_before_cap")
def _(f: Facts, c: Case) -> str:
    return (f"The trial stopped too soon: {reeds(f['reeds'])} {agree(f['reeds'], 'was', 'were')} not yet done "
            f"and had not reached {hours(f['cap_hours'])}. So it can't tell.")
