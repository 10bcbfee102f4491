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
# How the range lies, as in `ranges`.
_RANGE: Final = {
    "within": tr("The range ({level}) is from {near} to {far} as long with {name}."),
    "beyond": tr("The range ({level}) starts at {near} as long with {name}, and has no upper end."),
    "both": tr("The range ({level}) goes up to {a_far} as long with {a}, and up to {b_far} as long with {b}."),
    "one_open": tr("The range ({level}) goes up to {far} as long with {name}. With {other}, it has no end."),
    "from_none": tr("The range ({level}) is from just as long to {far} as long with {name}."),
    "from_none_open": tr("The range ({level}) starts at just as long with {name}, and has no upper end."),
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
        read = Range.of(found)
        told = [_gap(case, found), read.put(case, _RANGE, lambda near, far: near, level=read.out_of)]
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


def _rests_on(found: Finding) -> list[str]:
    reeds, worn = sum(found.units), sum(found.events or ())
    ahead = reeds - worn
    said = [tr("For {ahead} of {reeds} this is worked out from ratings; {worn} came to their end.").format(
                ahead=ahead, reeds=numbers.count(reeds, "reed"), worn=worn)]
    if 2 * ahead > reeds:
        said.append(tr("So most of it is a look ahead, not what happened."))
    return said
