"""The few sentences that name what was measured, one whole sentence for each kind of outcome."""

from __future__ import annotations

import math
from typing import Final

from ...result import Finding
from .. import numbers
from ..case import Case

__all__ = ["inside", "more", "same", "whether"]

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
def more(case: Case, found: Finding, side: str) -> str:
    """Return the sentence "with this habit, so much better than with the other"."""
    gap = case.gap(found, side)
    other = "A" if side == "B" else "B"
    if math.isfinite(gap.best):
        size = f"about {case.size(found, gap.best)}"
    else:
        size = f"at least {case.size(found, gap.low)}" if gap.low > 1 else "many times"
    return _MORE[case.kind_of(found.outcome, found.rating)].format(
        win=case.name(side), lose=case.name(other), size=size, span=numbers.hours(case.span))


def inside(sentence: str) -> str:
    """Lower the first letter of one of our own sentences (they start with With, Your or You)."""
    return sentence[0].lower() + sentence[1:]


def same(case: Case, found: Finding) -> str:
    """Return "about the same with one as with the other", without a full stop."""
    return _SAME[case.kind_of(found.outcome, found.rating)].format(a=case.name("A"), b=case.name("B"))


def whether(case: Case) -> str:
    """Return the open question of the trial, as a clause that starts with "whether"."""
    return _WHETHER[case.kind].format(a=case.name("A"), b=case.name("B"))
