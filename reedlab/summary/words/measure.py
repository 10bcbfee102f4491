"""The few sentences that name what was measured, one whole sentence for each kind of outcome."""

from __future__ import annotations

import math
from typing import Final

from ...result import Finding
from .. import numbers
from ..case import Case

__all__ = ["more", "one_sided", "same", "side_size", "whether"]

_MORE: Final = {
    "rating": "With {win}, your reeds rated {size} higher than with {lose}.",
    "response": "With {win}, you rated response {size} higher than with {lose}.",
    "tone": "With {win}, you rated tone {size} higher than with {lose}.",
    "stiffness": "With {win}, your reeds felt {size} closer to just right than with {lose}.",
    "wear": "With {win}, your reeds kept {size} more in {span} than with {lose}.",
    "life": "With {win}, your reeds lasted {size} as many playing hours as with {lose}.",
    "good": "With {win}, your reeds stayed good for {size} as many playing hours as with {lose}.",
}
_SAME: Final = {
    "rating": "Your reeds rated about the same with {a} as with {b}",
    "response": "You rated response about the same with {a} as with {b}",
    "tone": "You rated tone about the same with {a} as with {b}",
    "stiffness": "Your reeds felt about as close to just right with {a} as with {b}",
    "wear": "Your reeds faded at about the same pace with {a} as with {b}",
    "life": "Your reeds lasted about as long with {a} as with {b}",
    "good": "Your reeds stayed good for about as long with {a} as with {b}",
}
_WHETHER: Final = {
    "rating": "whether your reeds rate higher with {a} or with {b}",
    "response": "whether response is better with {a} or with {b}",
    "tone": "whether tone is better with {a} or with {b}",
    "stiffness": "whether your reeds feel closer to just right with {a} or with {b}",
    "wear": "whether your reeds fade more slowly with {a} or with {b}",
    "life": "whether your reeds last longer with {a} or with {b}",
    "good": "whether your reeds stay good for longer with {a} or with {b}",
}
_SIDE: Final = {
    "rating": "{size} higher with {name}",
    "response": "{size} higher with {name}",
    "tone": "{size} higher with {name}",
    "stiffness": "{size} closer with {name}",
    "wear": "{size} in favour of {name}",
    "life": "{size} as long with {name}",
    "good": "{size} as long with {name}",
}


_ONE_SIDED: Final = {
    "rating": "Your log fits any true gap from {low} to {high}, higher with {name}.",
    "response": "Your log fits any true gap from {low} to {high}, higher with {name}.",
    "tone": "Your log fits any true gap from {low} to {high}, higher with {name}.",
    "stiffness": "Your log fits any true gap from {low} to {high}, closer with {name}.",
    "wear": "Your log fits any true gap from {low} to {high} in {span}, in favour of {name}.",
    "life": "Your log fits any life from {low} to {high} as long with {name}.",
    "good": "Your log fits any life from {low} to {high} as long with {name}.",
}


def one_sided(case: Case, found: Finding, side: str) -> str:
    """Return the range in one sentence where both ends favour `side` and neither is open."""
    gap = case.gap(found, side)
    high = case.size(found, gap.high)
    low = case.size(found, gap.low)
    # "from 0.3 to 2.1 points": the unit once, unless an end has its own way of being said.
    if high[0].isdigit() and not low.startswith(("half", "twice")):
        low = low.rsplit(" ", 1)[0]
    return _ONE_SIDED[case.kind_of(found.outcome)].format(
        low=low, high=high, name=case.name(side), span=numbers.hours(case.span))


def more(case: Case, found: Finding, side: str) -> str:
    """Return the sentence "with this habit, so much better than with the other"."""
    gap = case.gap(found, side)
    other = "A" if side == "B" else "B"
    if math.isfinite(gap.best):
        size = f"about {case.size(found, gap.best)}"
    else:
        size = f"at least {case.size(found, gap.low)}" if gap.low > 1 else "many times"
    return _MORE[case.kind_of(found.outcome)].format(
        win=case.name(side), lose=case.name(other), size=size, span=numbers.hours(case.span))


def same(case: Case, found: Finding) -> str:
    """Return "about the same with one as with the other", without a full stop."""
    return _SAME[case.kind_of(found.outcome)].format(a=case.name("A"), b=case.name("B"))


def whether(case: Case) -> str:
    """Return the open question of the trial, as a clause that starts with "whether"."""
    return _WHETHER[case.kind].format(a=case.name("A"), b=case.name("B"))


def side_size(case: Case, found: Finding, x: float) -> str:
    """Return one end of a range with its side: "0.4 points higher with a long soak"; no gap: "no gap at all".

    `x` is B minus A in the outcome's own unit, or B over A. Ends without limit: "a gap of any size".
    """
    ratio = found.scale == "ratio"
    zero = 1.0 if ratio else 0.0
    if x == zero:
        return "no gap at all"
    name = case.name("B" if x > zero else "A")
    if math.isinf(x) or (ratio and x == 0):
        return f"a gap of any size with {name}"
    told = x if ratio else x * case.unit_scale(found.outcome)
    return _SIDE[case.kind_of(found.outcome)].format(size=case.size(found, told), name=name)
