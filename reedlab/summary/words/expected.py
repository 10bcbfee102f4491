"""If every reed went on fading as so far: a look ahead beside the reeds really worn out, never a verdict."""

from __future__ import annotations

import math
from typing import Final

from ...result import Finding
from .. import numbers
from ..case import Case

__all__ = ["READING", "expected_sentences"]

READING: Final = "expected"
_ASK: Final = "What if every reed went on fading as so far?"
_NOT: Final = "A reed can also play well and then fail at once, so this never decides the answer."
_DO: Final = {"life": "last", "good": "stay good"}
# Both ends favour one habit; each end favours its own; one of them is open.
_RANGE: Final = {
    "within": "The range is from {near} to {far} as long with {name}.",
    "beyond": "The range starts at {near} as long with {name}, and has no end.",
    "both": "The range goes up to {a_far} as long with {a}, and up to {b_far} as long with {b}.",
    "one_open": "The range goes up to {far} as long with {name}. With {other}, it has no end.",
    "open": "The range has no end on either side.",
    "none": "The range leaves no gap at all.",
}


def expected_sentences(case: Case) -> list[str]:
    """Return one paragraph for the look ahead, with how many reeds it rests on; empty where there is none."""
    found = next((f for f in case.result.readings if f.reading == READING), None)
    if found is None or case.main is None or case.is_diary:
        return []
    told = ["There is too little to tell of."]
    if not math.isnan(found.estimate):
        told = [_gap(case, found), _range(case, found)]
    return [" ".join([_ASK, *told, *_rests_on(found), _NOT])]


def _gap(case: Case, found: Finding) -> str:
    do, side = _DO[case.kind_of(found.outcome)], case.leaning(found)
    if side is None:
        return f"Then reeds would {do} about as long with {case.name('A')} as with {case.name('B')}."
    best = case.gap(found, side).best
    size = f"about {case.size(found, best)}" if math.isfinite(best) else "many times"
    return f"Then with {case.name(side)}, reeds would {do} {size} as long as with {case.name(_other(side))}."


def _range(case: Case, found: Finding) -> str:
    low, high = found.low, found.high
    open_low, open_high = low == 0, math.isinf(high)
    if open_low and open_high:
        return _RANGE["open"]
    if low == high == 1:
        return _RANGE["none"]
    if low >= 1 or high <= 1:
        side = "B" if low >= 1 else "A"
        gap, name = case.gap(found, side), case.name(side)
        if math.isinf(gap.high):
            return _RANGE["beyond"].format(near="just" if gap.low == 1 else case.size(found, gap.low), name=name)
        near = "just as long" if gap.low == 1 else case.size(found, gap.low)
        return _RANGE["within"].format(near=near, far=case.size(found, gap.high), name=name)
    if open_low or open_high:
        side = "B" if open_low else "A"
        return _RANGE["one_open"].format(far=case.size(found, case.gap(found, side).high), name=case.name(side),
                                         other=case.name(_other(side)))
    return _RANGE["both"].format(a=case.name("A"), b=case.name("B"), a_far=case.size(found, low),
                                 b_far=case.size(found, high))


def _other(side: str) -> str:
    return "A" if side == "B" else "B"


def _rests_on(found: Finding) -> list[str]:
    reeds, worn = sum(found.units), sum(found.events or ())
    ahead = reeds - worn
    if not worn:
        return [f"None of these {numbers.count(reeds, 'reed')} came to its end, so all of it is a look ahead."]
    end = "came to its end" if worn == 1 else "came to their end"
    said = [f"For {ahead} of {numbers.count(reeds, 'reed')} this is worked out from ratings; {worn} {end}."]
    if 2 * ahead > reeds:
        said.append("So most of it is a look ahead, not what happened.")
    return said
