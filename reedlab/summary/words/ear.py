"""How well the player's own ratings repeat, in plain words."""

from __future__ import annotations

import math
from typing import Final

from ...trial.ear_results import EarResult
from ...wording import tr
from .. import numbers

__all__ = ["ear_sentences"]

_REMARKS: Final = {
    "too_few_reeds": tr("Few reeds were rated twice, so this is a rough first reading. Eight or more tell it better."),
    "all_alike": tr("Nearly all your ratings are the same, so they say little about your ear. Use more of the scale."),
    "same_each_time": tr("You gave each reed the same rating twice. That is rare: did you know which reed it was?"),
    "round_shift": tr("Your second ratings lie {way} than your first, by about {shift}. Ears tire and warm up: it is "
                      "why a trial shuffles the order."),
    "left_out": tr("Reeds without both ratings were left out."),
}


def ear_sentences(ear: EarResult) -> list[str]:
    """Return what a double rating tells. The point that matters stands beside it and is never raised by it."""
    if math.isnan(ear.sem):
        return [tr("Too few reeds were rated twice to say anything. Rate at least three, better eight.")]
    out = [tr("You rated {reeds} twice without knowing your first ratings.").format(
               reeds=numbers.count(ear.reeds, "reed"))]
    if ear.sem > 0:
        change = numbers.size(ear.smallest_change)
        low, high = ear.smallest_change_range
        out += [tr("One rating of yours is off by about {size}, up or down.").format(size=numbers.size(ear.sem)),
                tr("Two single ratings of one reed may differ by up to {change} with nothing changed. Only a bigger "
                   "change tells of the reed.").format(change=change),
                tr("With so few ratings, that limit could be anywhere from {low:.1f} to {high:.1f} points.").format(
                    low=low, high=high)]
    if not math.isnan(ear.icc):
        share = max(0.0, min(1.0, ear.icc))
        out.append(tr("Of the spread in your ratings, about {share} parts come from the reeds. The rest is you and the "
                      "moment.").format(share=numbers.share(share)))
    out.append(tr("A trial takes the mean of many ratings, so it can find less than that. Keep {points}, or what you "
                  "like, as the smallest difference that matters.").format(points=numbers.points("1")))
    for code in ear.remarks:
        if code in _REMARKS:
            out.append(_REMARKS[code].format(way=tr("higher") if ear.shift > 0 else tr("lower"),
                                             shift=numbers.size(ear.shift)))
    return out
