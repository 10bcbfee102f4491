"""How big: the gap and its range in the player's units, against what would matter."""

from __future__ import annotations

import math

from ...trial.result import Finding
from ...wording import tr
from .. import numbers
from ..case import Case
from ..names import of_reeds
from . import diary
from .lives import few_ends_sentence, too_few_ends
from .ranges import Range, told_range

__all__ = ["size_sentences", "usual_hours"]


def size_sentences(case: Case) -> list[str]:
    """Return the sentences on size, the range first. Empty while sealed."""
    found = case.main
    if found is None:
        return []
    if case.is_diary:
        return diary.held(case)
    if too_few_ends(found):
        return [few_ends_sentence(case, found)]
    if math.isnan(found.estimate):
        return [tr("No reed came to its end, so there is no gap to tell of.") if case.is_ratio else
                tr("There are too few ratings to tell of a gap.")]
    if case.verdict == "no_real_difference":
        return _too_small(case, found)
    told = told_range(case).sentence(case)
    if case.winner:
        return _against_matters(case, told)
    return [told] if case.never else [told, _still_possible(case, found)]


def _against_matters(case: Case, told: str) -> list[str]:
    if case.enough == "perhaps":
        return [tr("You said that {matters_text} would matter.").format(matters_text=case.matters_text), told]
    said = (tr("All of that is at least {matters_text}, the gap that you said would matter.") if case.enough == "surely"
            else tr("All of that is less than {matters_text}, the gap that you said would matter."))
    return [told, said.format(matters_text=case.matters_text)]


def _still_possible(case: Case, found: Finding) -> str:
    if found.low == found.high:
        return of_reeds(case.plan, tr("Still, this trial is not fit to call the two ways alike."),
                        tr("Still, this trial is not fit to call the two reeds alike."))
    b, a = case.gap(found, "B").high, case.gap(found, "A").high
    if b >= case.matters and a >= case.matters:
        return tr("You said that {matters_text} would matter. That much is possible both ways.").format(
                   matters_text=case.matters_text)
    for high, side in ((b, "B"), (a, "A")):
        if high >= case.matters:
            return tr("You said that {matters_text} would matter. That much is possible only in favour of "
                      "{name}.").format(matters_text=case.matters_text, name=case.name(side))
    return of_reeds(case.plan,
                    tr("All of that is less than {matters_text}, the gap that you said would matter. Still, this "
                       "trial is not fit to call the two ways alike."),
                    tr("All of that is less than {matters_text}, the gap that you said would matter. Still, this "
                       "trial is not fit to call the two reeds alike.")).format(
        matters_text=case.matters_text)


def _too_small(case: Case, found: Finding) -> list[str]:
    said = [
        told_range(case).sentence(case),
        tr("All of that is less than {matters_text}, the gap that you said would matter.").format(
            matters_text=case.matters_text),
    ]
    side = Range.of(found).side
    if side:
        said.append(tr("There is most likely a small gap in favour of {name}, too small to matter to you.").format(
                        name=case.name(side)))
    return said


def usual_hours(case: Case) -> str:
    """Return the hours by which half of each habit's reeds were worn out, or that more than half go on."""
    found = case.main
    if found is None or found.means is None or not case.is_ratio or too_few_ends(found):
        return ""
    parts = []
    for side, h in zip("AB", found.means, strict=True):
        if math.isnan(h):
            parts.append(tr("With {name}, more than half of the reeds were still going at the end.").format(
                             name=case.name(side)))
        else:
            parts.append(tr("With {name}, half of the reeds were done by about {hours}.").format(
                             name=case.name(side), hours=numbers.hours(h)))
    return " ".join([*parts, tr("This allows for reeds still going.")])
