"""If every reed went on fading as so far: a look ahead beside the reeds really worn out, never a verdict."""

from __future__ import annotations

import math
from typing import Final

from ...result import Finding
from .. import numbers
from ..case import Case
from . import measure
from .ranges import range_sentence

__all__ = ["READING", "expected_sentences"]

READING: Final = "expected"
_IF: Final = "If every reed went on fading as so far, "
_DO: Final = {"life": "last", "good": "stay good"}
_MORE: Final = {
    "life": "reeds would last {size} as many playing hours with {win} as with {lose}.",
    "good": "reeds would stay good for {size} as many playing hours with {win} as with {lose}.",
}


def expected_sentences(case: Case) -> list[str]:
    """Return one paragraph for the look ahead, with how many reeds it rests on; empty where there is none."""
    found = next((f for f in case.result.readings if f.reading == READING), None)
    if found is None or case.main is None or case.is_diary:
        return []
    said = [_IF + _gap(case, found)]
    if not math.isnan(found.estimate):
        said.append(f"If so, {measure.inside(range_sentence(case, found, found.low, found.high))}")
    return [" ".join([*said, *_rests_on(found),
                      "A reed can also play well and then fail at once, so this never decides the answer."])]


def _gap(case: Case, found: Finding) -> str:
    kind, side = case.kind_of(found.outcome), case.leaning(found)
    if math.isnan(found.estimate):
        return "there is too little to tell of."
    if side is None:
        return f"reeds would {_DO[kind]} about as long with {case.name('A')} as with {case.name('B')}."
    gap = case.gap(found, side)
    size = f"about {case.size(found, gap.best)}" if math.isfinite(gap.best) else "many times"
    return _MORE[kind].format(size=size, win=case.name(side), lose=case.name("A" if side == "B" else "B"))


def _rests_on(found: Finding) -> list[str]:
    reeds, worn = sum(found.units), sum(found.events or ())
    ahead = reeds - worn
    end = "came to its end" if worn == 1 else "came to their end"
    if not worn:
        said = [f"None of these {numbers.count(reeds, 'reed')} came to its end: all of it is reckoned from ratings."]
    else:
        said = [f"For {ahead} of {numbers.count(reeds, 'reed')} this is reckoned from ratings; {worn} {end}."]
        if 2 * ahead > reeds:
            said.append("So most of it is a look ahead, not what happened.")
    return said
