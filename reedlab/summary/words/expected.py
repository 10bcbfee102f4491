"""If every reed went on fading as so far: a look ahead beside the reeds really worn out, never a verdict."""

from __future__ import annotations

import math
from typing import Final

from ...trial.result import Finding
from .. import numbers
from ..case import Case
from .lives import too_few_ends
from .ranges import Range

__all__ = ["READING", "expected_sentences"]

READING: Final = "expected"
_ASK: Final = "What if every reed went on fading as so far?"
_NOT: Final = "A reed can also play well and then fail at once, so this never decides the answer."
_DO: Final = {"life": "last", "good": "stay good"}
# Both ends favour one habit; each end favours its own; one of them is open.
_RANGE: Final = {
    "within": "The range ({{level}}) is from {near} to {far} as long with {name}.",
    "beyond": "The range ({{level}}) starts at {near} as long with {name}, and has no upper end.",
    "both": "The range ({{level}}) goes up to {a_far} as long with {a}, and up to {b_far} as long with {b}.",
    "one_open": "The range ({{level}}) goes up to {far} as long with {name}. With {other}, it has no end.",
    "open": "The range has no end on either side.",
    "none": "The range ({{level}}) leaves no gap at all.",
}


def expected_sentences(case: Case) -> list[str]:
    """Return one paragraph for the look ahead, with how many reeds it rests on; empty where there is none."""
    found = next((f for f in case.result.readings if f.reading == READING), None)
    if found is None or case.main is None or case.is_diary:
        return []
    if too_few_ends(found):
        return []
    told = ["There is too little to tell of."]
    if not math.isnan(found.estimate):
        told = [_gap(case, found), _range(case, found)]
    return [" ".join([_ASK, *told, *_rests_on(found), _NOT])]


def _gap(case: Case, found: Finding) -> str:
    do, side = _DO[case.kind_of(found.outcome)], case.leaning(found)
    if Range.of(found).is_open:
        return f"Then it is open with which of the two reeds would {do} longer."
    if side is None:
        return f"Then reeds would {do} about as long with {case.name('A')} as with {case.name('B')}."
    best, name, other = case.gap(found, side).best, case.name(side), case.name(_other(side))
    if not math.isfinite(best):
        return f"Then with {name}, reeds would {do} longer than with {other}, but by how much is open."
    return f"Then with {name}, reeds would {do} about {case.size(found, best)} as long as with {other}."


def _range(case: Case, found: Finding) -> str:
    return _range_of(case, found).replace("{level}", Range.of(found).out_of)


def _range_of(case: Case, found: Finding) -> str:
    low, high = found.low, found.high
    open_low, open_high = low == 0, math.isinf(high)
    if open_low and open_high:
        return _RANGE["open"]
    if low == high == 1:
        return _RANGE["none"].format()
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
    said = [f"For {ahead} of {numbers.count(reeds, 'reed')} this is worked out from ratings; {worn} came to their "
            "end."]
    if 2 * ahead > reeds:
        said.append("So most of it is a look ahead, not what happened.")
    return said
