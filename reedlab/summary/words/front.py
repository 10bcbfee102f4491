"""The first screen: does it matter, how sure is it, what next, and the sentence that reads the picture."""

from __future__ import annotations

import math

from ...wording import tr, trn
from .. import numbers
from ..case import Case
from ..dots import leans, undecided
from . import fragile, limits, next_steps, running, size, standing, surety
from .lives import few_ends_sentence, too_few_ends
from .ranges import told_range

__all__ = ["folds", "lines", "picture", "range_read"]

_MATTERS = {"surely": tr("Surely."), "perhaps": tr("Perhaps."), "not": tr("Hardly.")}


def lines(case: Case) -> tuple[tuple[str, str], ...]:
    """Return the lines below the headline, each with its question."""
    if case.main is None:
        parts = [(tr("How far along?"), running.progress_sentences(case)),
                 (tr("Why is it sealed?"), running.why_sealed(case)), (tr("What next?"), running.running_next(case))]
    elif case.is_diary:
        parts = [(tr("What does your diary hold?"), size.size_sentences(case)),
                 (tr("Why is it only a hint?"), surety.surety_sentences(case)),
                 (tr("What next?"), next_steps.next_sentences(case))]
    else:
        parts = [(tr("Does it matter?"), [_matters(case), *size.size_sentences(case)]),
                 (tr("How sure is it?"), _sure(case)), (tr("What next?"), next_steps.next_sentences(case))]
    return tuple((title, " ".join(said)) for title, said in parts)


def folds(case: Case) -> tuple[tuple[str, str], ...]:
    """Return what is read only by those who ask: title and paragraphs with an empty line between."""
    parts = [(tr("What limits this answer?"), [" ".join(limits.limit_sentences(case))])]
    if not case.is_diary:
        true = " ".join([size.usual_hours(case), *surety.still_true_sentences(case)]).strip()
        parts = [(tr("What could still be true?"), [true]), *parts]
    return tuple((title, "\n\n".join(x for x in said if x)) for title, said in parts if any(said))


def _matters(case: Case) -> str:
    if case.verdict == "no_real_difference":
        return tr("No.")
    return _MATTERS.get(case.enough, tr("Not known."))


def _sure(case: Case) -> list[str]:
    """Return how many lean this way, how little would undo it, and how often shuffling alone would do it."""
    found = case.main
    assert found is not None
    if math.isnan(found.estimate) or too_few_ends(found) or (case.never and case.verdict == "cannot_tell"):
        return surety.surety_sentences(case)
    told = surety.surety_sentences(case)
    if case.result.odds is not None:
        return told
    if case.verdict == "no_real_difference":
        return [*told, *fragile.knowing_sentences(case)]
    return [*_leaning(case), *fragile.shaky_sentences(case), *(told[:1] if case.winner else told)]


def _leaning(case: Case) -> list[str]:
    found = case.main
    assert found is not None
    if case.is_ratio and found.events is not None:
        a, b = (tr("{n} of {of} with {name}").format(n=n or tr("none"), of=of, name=case.name(x))
                for x, n, of in zip("AB", found.events, found.units, strict=True))
        said = (tr("Of the reeds, {a} and {b} stopped being good.") if case.kind == "good" else
                tr("Of the reeds, {a} and {b} came to their end."))
        return [said.format(a=a, b=b)]
    side = case.lead
    counted = leans(case, side) if side else []
    if not counted:
        return []
    told = [tr("{n} of {units}").format(
        n=x.count or tr("not one"), units=numbers.count(x.of, "reed") if x.reeds else
        case.counted_units(x.of) if case.plan.pairs else case.sets(x.of)) for x in counted]
    n, name = max(1, counted[0].count), case.name(side or "A")
    if case.winner and len(told) > 1:
        said = trn("{first} leans this way, and {more}.", "{first} lean this way, and {more}.", n)
    elif case.winner:
        said = trn("{first} leans this way.", "{first} lean this way.", n)
    elif len(told) > 1:
        said = trn("{first} leans to {name}, and {more}.", "{first} lean to {name}, and {more}.", n)
    else:
        said = trn("{first} leans to {name}.", "{first} lean to {name}.", n)
    none = undecided(case)
    return [said.format(first=told[0][:1].upper() + told[0][1:], name=name, more=told[-1]), *(
        [trn("In {n} pair you found no difference.", "In {n} pairs you found no difference.", none).format(n=none)]
        if none else [])]


def picture(case: Case) -> str:
    """Return the sentence that reads the picture in front: of a standing trial the odds, else where the range lies."""
    return range_read(case) if case.result.odds is None else standing.odds_title(case)


def range_read(case: Case) -> str:
    """Return where the range lies, beside the band that is too small to matter."""
    found = case.main
    assert found is not None
    if too_few_ends(found):
        return few_ends_sentence(case, found)
    if math.isnan(found.estimate):
        return tr("There is no gap to show.")
    if case.is_diary:
        return tr("The plain gap alone: where nothing was shuffled, there is no range.")
    told = told_range(case)
    if told.is_open:
        return tr("The range has no end on either side.")
    if case.verdict == "no_real_difference":
        return tr("The whole range lies within the grey band.")
    side = told.side
    if side is None:
        return tr("The range reaches to both sides, so no winner can be named.")
    where = {"surely": tr("The whole range lies on the side of {name} and beyond the grey band."),
             "not": tr("The whole range lies on the side of {name} and within the grey band.")}.get(case.enough)
    name = case.name(side)
    if not case.winner:
        return tr("The range lies on the side of {name}, but that is not enough here to name a winner.").format(
                   name=name)
    if where:
        return where.format(name=name)
    return tr("The range lies on the side of {name}, part of it within the grey band.").format(name=name)
