"""The first screen: does it matter, how sure is it, what next, and the sentence that reads the picture."""

from __future__ import annotations

import math

from .. import numbers
from ..case import Case
from ..dots import leans
from . import fragile, limits, next_steps, running, size, surety
from .lives import few_ends_sentence, too_few_ends
from .ranges import told_range

__all__ = ["folds", "lines", "picture"]

_MATTERS = {"surely": "Surely.", "perhaps": "Perhaps.", "not": "Hardly."}


def lines(case: Case) -> tuple[tuple[str, str], ...]:
    """Return the lines below the headline, each with its question."""
    if case.main is None:
        parts = [("How far along?", running.progress_sentences(case)), ("Why is it sealed?", running.why_sealed(case)),
                 ("What next?", running.running_next(case))]
    elif case.is_diary:
        parts = [("What does your diary hold?", size.size_sentences(case)),
                 ("Why is it only a hint?", surety.surety_sentences(case)),
                 ("What next?", next_steps.next_sentences(case))]
    else:
        parts = [("Does it matter?", [_matters(case), *size.size_sentences(case)]),
                 ("How sure is it?", _sure(case)), ("What next?", next_steps.next_sentences(case))]
    return tuple((title, " ".join(said)) for title, said in parts)


def folds(case: Case) -> tuple[tuple[str, str], ...]:
    """Return what is read only by those who ask: title and paragraphs with an empty line between."""
    parts = [("What limits this answer?", [" ".join(limits.limit_sentences(case))])]
    if not case.is_diary:
        parts = [("What could still be true?", [" ".join([size.usual_hours(case),
                                                           *surety.still_true_sentences(case)]).strip()]), *parts]
    return tuple((title, "\n\n".join(x for x in said if x)) for title, said in parts if any(said))


def _matters(case: Case) -> str:
    if case.verdict == "no_real_difference":
        return "No."
    return _MATTERS.get(case.enough, "Not known.")


def _sure(case: Case) -> list[str]:
    """Return how many lean this way, how little would undo it, and how often shuffling alone would do it."""
    found = case.main
    assert found is not None
    if math.isnan(found.estimate) or too_few_ends(found) or (case.never and case.verdict == "cannot_tell"):
        return surety.surety_sentences(case)
    told = surety.surety_sentences(case)
    if case.verdict == "no_real_difference":
        return [*told, *fragile.knowing_sentences(case)]
    return [*_leaning(case), *fragile.shaky_sentences(case), *(told[:1] if case.winner else told)]


def _leaning(case: Case) -> list[str]:
    found = case.main
    assert found is not None
    if case.is_ratio and found.events is not None:
        a, b = (f"{n or 'none'} of {of} with {case.name(x)}"
                for x, n, of in zip("AB", found.events, found.units, strict=True))
        return [f"Of the reeds, {a} and {b} {'stopped being good' if case.kind == 'good' else 'came to their end'}."]
    side = case.lead
    counted = leans(case, side) if side else []
    if not counted:
        return []
    to = "this way" if case.winner else f"to {case.name(side or 'A')}"
    told = [f"{x.count or 'not one'} of {numbers.count(x.of, 'reed') if x.reeds else case.sets(x.of)}" for x in counted]
    first = told[0][:1].upper() + told[0][1:]
    lean = "leans" if counted[0].count < 2 else "lean"
    return [f"{first} {lean} {to}{f', and {told[1]}' if len(told) > 1 else ''}."]


def picture(case: Case) -> str:
    """Return the sentence that reads the picture: where the range lies, beside the band that is too small to matter."""
    found = case.main
    assert found is not None
    if too_few_ends(found):
        return few_ends_sentence(case, found)
    if math.isnan(found.estimate):
        return "There is no gap to show."
    if case.is_diary:
        return "The plain gap alone: where nothing was shuffled, there is no range."
    told = told_range(case)
    if told.is_open:
        return "The range has no end on either side."
    if case.verdict == "no_real_difference":
        return "The whole range lies within the grey band."
    side = told.side
    if side is None:
        return "The range reaches to both sides, so no winner can be named."
    where = {"surely": "beyond the grey band", "not": "within the grey band"}.get(case.enough)
    name = case.name(side)
    if not case.winner:
        return f"The range lies on the side of {name}, but that is not enough here to name a winner."
    if where:
        return f"The whole range lies on the side of {name} and {where}."
    return f"The range lies on the side of {name}, part of it within the grey band."
