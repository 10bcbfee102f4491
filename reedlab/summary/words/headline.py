"""The answer in one sentence."""

from __future__ import annotations

from ...wording import tr
from .. import numbers
from ..case import Case, long_date
from . import measure, standing
from .lives import few_ends_sentence, too_few_ends

__all__ = ["headline"]


def headline(case: Case) -> str:
    """Return the sentence that answers the trial's question, or says why there is no answer yet."""
    found = case.main
    if found is None:
        return _sealed(case)
    if case.is_diary:
        return _hint(case)
    if case.winner:
        said = measure.better(case, found, case.winner)
        return tr("Clear already, though read early: {inside}").format(
                   inside=measure.inside(said)) if case.early else said
    if case.verdict == "no_real_difference":
        return tr("{same}: no difference that matters to you.").format(same=measure.same(case, found))
    return _open(case)


def _sealed(case: Case) -> str:
    progress = case.result.progress
    if progress.day < 1:
        return tr("This trial starts on {date}.").format(date=long_date(case.plan.start))
    if case.until_done:
        return tr("Day {day}: the answer stays sealed until every reed is done or has reached {hours}.").format(
                   day=progress.day, hours=numbers.hours(case.plan.cap_hours or 0))
    if case.is_ratio:
        return tr("Day {day} of {days}: the answer stays sealed until {date}, or until the last reed is done.").format(
                   day=progress.day, days=progress.days, date=long_date(case.opens))
    return tr("Day {day} of {days}: the answer stays sealed until {date}.").format(
               day=progress.day, days=progress.days, date=long_date(case.opens))


def _hint(case: Case) -> str:
    assert case.main is not None
    if case.lead is None or too_few_ends(case.main):
        if case.main.estimate != case.main.estimate or too_few_ends(case.main):
            return tr("Your old diary can't even hint {whether}.").format(whether=measure.whether(case))
        return tr("Only a hint from your old diary: {inside}.").format(
                   inside=measure.inside(measure.same(case, case.main)))
    return tr("Only a hint from your old diary: {inside}").format(
               inside=measure.inside(measure.more(case, case.main, case.lead)))


def _open(case: Case) -> str:
    if case.result.odds is not None:
        return standing.in_short(case)
    question = measure.whether(case)
    if case.result.state == "opened_early":
        day, days = case.result.progress.day, case.result.progress.days
        return tr("Opened early, on day {day} of {days}, this trial can't tell yet {question}.").format(
                   day=day, days=days, question=question)
    if case.result.state == "ended_early":
        return tr("This trial ended early and can't tell {question}.").format(question=question)
    found = case.main
    if found is not None and found.events is not None and not sum(found.events):
        return tr("{few_ends_sentence}, so this trial can't tell {question}.").format(
                   few_ends_sentence=few_ends_sentence(case, found).partition(",")[0], question=question)
    gone = case.remark("could_never_tell")
    if gone is not None and gone.fact("why") == "too_few_worn_out":
        return tr("Too few reeds came to their end for this trial to tell {question}.").format(question=question)
    if case.lost_too_much:
        return tr("Too much was lost for this trial to tell {question}.").format(question=question)
    if case.never:
        return tr("This trial could never have told {question}.").format(question=question)
    return tr("This trial can't tell yet {question}.").format(question=question)
