"""The few sentences that name what was measured, one whole sentence for each kind of outcome."""

from __future__ import annotations

import math
from typing import Final

from ...trial.outcomes import OUTCOMES
from ...trial.result import Finding
from ...wording import tr
from .. import numbers
from ..case import Case
from .lives import few_ends_sentence, too_few_ends
from .ranges import Range

__all__ = ["better", "gap_sentence", "inside", "more", "same", "whether"]

_MORE: Final = {
    "rating": tr("With {win}, your reeds rated {size} higher than with {lose}."),
    "response": tr("With {win}, you rated response {size} higher than with {lose}."),
    "tone": tr("With {win}, you rated tone {size} higher than with {lose}."),
    "stiffness": tr("With {win}, your reeds felt {size} closer to just right than with {lose}."),
    "pair": tr("With {win}, your reeds played {size} better than with {lose}, back to back."),
    "reeds": tr("On these days you found {win} {size} better than {lose}, side by side."),
    "wear": tr("With {win}, your reeds kept {size} more in {span} than with {lose}."),
    "life": tr("With {win}, your reeds lasted {size} as many playing hours as with {lose}."),
    "good": tr("With {win}, your reeds stayed good for {size} as many playing hours as with {lose}."),
}
_SAME: Final = {
    "rating": tr("Your reeds rated about the same with {a} as with {b}"),
    "response": tr("You rated response about the same with {a} as with {b}"),
    "tone": tr("You rated tone about the same with {a} as with {b}"),
    "stiffness": tr("Your reeds felt about as close to just right with {a} as with {b}"),
    "pair": tr("Your reeds played about the same with {a} as with {b}, back to back"),
    "reeds": tr("On these days you found {a} about as good as {b}, side by side"),
    "wear": tr("Your reeds faded at about the same pace with {a} as with {b}"),
    "life": tr("Your reeds lasted about as long with {a} as with {b}"),
    "good": tr("Your reeds stayed good for about as long with {a} as with {b}"),
}
#: By the column that was rated; of anything else the outcome's card says it.
_WHETHER: Final = {
    "rating": tr("whether your reeds rate higher with {a} or with {b}"),
    "response": tr("whether response is better with {a} or with {b}"),
    "tone": tr("whether tone is better with {a} or with {b}"),
    "stiffness": tr("whether your reeds feel closer to just right with {a} or with {b}"),
    "pair": tr("whether your reeds play better with {a} or with {b}, back to back"),
    "reeds": tr("whether {a} or {b} plays better, side by side"),
}
# Nothing of the other way came to its end: which is longer is known, and no best guess of how much.
_LONGER: Final = {
    "life": tr("With {win}, your reeds lasted longer than with {lose}"),
    "good": tr("With {win}, your reeds stayed good for longer than with {lose}"),
}
_OPEN: Final = tr("{said}, but by how much is open.")
_ENOUGH: Final = {"surely": tr("{said}: better, and surely by enough to matter."),
                  "perhaps": tr("{said}: better, but perhaps too little to matter."),
                  "not": tr("{said}: better, but by too little to matter.")}

# Two boxes: no way was dealt to a reed, so the reeds of the boxes themselves are compared.
_BOXES: Final = {
    "rating": (tr("You rated {win} {size} higher than {lose}."), tr("You rated {a} about the same as {b}"),
               tr("whether {a} or {b} rate higher")),
    "response": (tr("You rated response {size} higher for {win} than for {lose}."),
                 tr("You rated response about the same for {a} as for {b}"),
                 tr("whether response is better for {a} or {b}")),
    "tone": (tr("You rated tone {size} higher for {win} than for {lose}."),
             tr("You rated tone about the same for {a} as for {b}"), tr("whether tone is better for {a} or {b}")),
    "stiffness": (tr("To you, {win} felt {size} closer to just right than {lose}."),
                  tr("To you, {a} felt about as close to just right as {b}"),
                  tr("whether {a} or {b} feel closer to just right")),
}


def more(case: Case, found: Finding, side: str) -> str:
    """Return the sentence "with this habit, so much better than with the other", by the best guess if there is one."""
    best = case.gap(found, side).best
    kind = case.kind_of(found.outcome, found.rating)
    names = {"win": case.name(side), "lose": case.other(side)}
    if not math.isfinite(best):
        return _OPEN.format(said=_LONGER[kind].format(**names))
    said = _BOXES[kind][0] if case.plan.of_boxes else _MORE[kind]
    about = tr("about {size}").format(size=case.size(found, best))
    return said.format(size=about, span=numbers.hours(case.span), **names)


def better(case: Case, found: Finding, side: str) -> str:
    """Return the sentence of a winner, and whether its gap is surely, or only perhaps, as big as what matters."""
    if not math.isfinite(case.gap(found, side).best) and case.enough != "surely":
        return more(case, found, side)
    said = more(case, found, side)
    if not math.isfinite(case.gap(found, side).best):
        said = _LONGER[case.kind_of(found.outcome, found.rating)].format(
            win=case.name(side), lose=case.other(side)) + "."
    return _ENOUGH[case.enough].format(said=said[:-1])


def gap_sentence(case: Case, found: Finding) -> str:
    """Return what a finding without a verdict shows; no direction where its range has no end on either side."""
    if too_few_ends(found):
        return few_ends_sentence(case, found)
    if not case.is_diary and Range.of(found).is_open:
        return tr("It is open {whether}.").format(whether=whether(case, found))
    side = case.leaning(found)
    return f"{same(case, found)}." if side is None else more(case, found, side)


def inside(sentence: str) -> str:
    """Lower the first letter of one of our own sentences (With, Your, You, To, It, No, On or Only)."""
    return sentence[0].lower() + sentence[1:]


def same(case: Case, found: Finding) -> str:
    """Return "about the same with one as with the other", without a full stop."""
    kind = case.kind_of(found.outcome, found.rating)
    return (_BOXES[kind][1] if case.plan.of_boxes else _SAME[kind]).format(a=case.name("A"), b=case.name("B"))


def whether(case: Case, found: Finding | None = None) -> str:
    """Return the open question of the trial, or of one finding, as a clause that starts with "whether"."""
    kind = case.kind if found is None else case.kind_of(found.outcome, found.rating)
    card = OUTCOMES[case.plan.outcome if found is None else found.outcome]
    said = _BOXES[kind][2] if case.plan.of_boxes else _WHETHER.get(kind, card.whether)
    return said.format(a=case.name("A"), b=case.name("B"))
