"""If every reed went on fading as so far: a look ahead beside the reeds really worn out, never a verdict."""

from __future__ import annotations

import math
from typing import Final

from ...trial.result import Finding
from ...wording import tr
from .. import numbers
from ..case import Case
from .lives import too_few_ends
from .ranges import Range

__all__ = ["READING", "expected_sentences"]

READING: Final = "expected"
_ASK: Final = tr("What if every reed went on fading as so far?")
_NOT: Final = tr("A reed can also play well and then fail at once, so this never decides the answer.")
_DO: Final = {"life": tr("last"), "good": tr("stay good")}
# Both ends favour one habit; each end favours its own; one of them is open.
_RANGE: Final = {
    "within": tr("The range ({level}) is from {near} to {far} as long with {name}."),
    "beyond": tr("The range ({level}) starts at {near} as long with {name}, and has no upper end."),
    "both": tr("The range ({level}) goes up to {a_far} as long with {a}, and up to {b_far} as long with {b}."),
    "one_open": tr("The range ({level}) goes up to {far} as long with {name}. With {other}, it has no end."),
    "open": tr("The range has no end on either side."),
    "none": tr("The range ({level}) leaves no gap at all."),
}


def expected_sentences(case: Case) -> list[str]:
    """Return one paragraph for the look ahead, with how many reeds it rests on; empty where there is none."""
    found = next((f for f in case.result.readings if f.reading == READING), None)
    if found is None or case.main is None or case.is_diary:
        return []
    if too_few_ends(found):
        return []
    told = [tr("There is too little to tell of.")]
    if not math.isnan(found.estimate):
        told = [_gap(case, found), _range(case, found)]
    return [" ".join([_ASK, *told, *_rests_on(found), _NOT])]


def _gap(case: Case, found: Finding) -> str:
    do, side = _DO[case.kind_of(found.outcome)], case.leaning(found)
    if Range.of(found).is_open:
        return tr("Then it is open with which of the two reeds would {do} longer.").format(do=do)
    if side is None:
        return tr("Then reeds would {do} about as long with {name} as with {name2}.").format(
                   do=do, name=case.name("A"), name2=case.name("B"))
    best, name, other = case.gap(found, side).best, case.name(side), case.other(side)
    if not math.isfinite(best):
        return tr("Then with {name}, reeds would {do} longer than with {other}, but by how much is open.").format(
                   name=name, do=do, other=other)
    return tr("Then with {name}, reeds would {do} about {size} as long as with {other}.").format(
               name=name, do=do, size=case.size(found, best), other=other)


def _range(case: Case, found: Finding) -> str:
    low, high, level = found.low, found.high, Range.of(found).out_of
    open_low, open_high = low == 0, math.isinf(high)
    if open_low and open_high:
        return _RANGE["open"]
    if low == high == 1:
        return _RANGE["none"].format(level=level)
    if low >= 1 or high <= 1:
        side = "B" if low >= 1 else "A"
        gap, name = case.gap(found, side), case.name(side)
        if math.isinf(gap.high):
            near = tr("just") if gap.low == 1 else case.size(found, gap.low)
            return _RANGE["beyond"].format(level=level, near=near, name=name)
        near = tr("just as long") if gap.low == 1 else case.size(found, gap.low)
        return _RANGE["within"].format(level=level, near=near, far=case.size(found, gap.high), name=name)
    if open_low or open_high:
        side = "B" if open_low else "A"
        return _RANGE["one_open"].format(level=level, far=case.size(found, case.gap(found, side).high),
                                         name=case.name(side), other=case.other(side))
    return _RANGE["both"].format(level=level, a=case.name("A"), b=case.name("B"), a_far=case.size(found, low),
                                 b_far=case.size(found, high))


def _rests_on(found: Finding) -> list[str]:
    reeds, worn = sum(found.units), sum(found.events or ())
    ahead = reeds - worn
    said = [tr("For {ahead} of {reeds} this is worked out from ratings; {worn} came to their end.").format(
                ahead=ahead, reeds=numbers.count(reeds, "reed"), worn=worn)]
    if 2 * ahead > reeds:
        said.append(tr("So most of it is a look ahead, not what happened."))
    return said
