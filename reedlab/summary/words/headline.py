"""The answer in one sentence."""

from __future__ import annotations

from .. import numbers
from ..case import Case, long_date
from . import measure
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
        return f"Clear already, though read early: {measure.inside(said)}" if case.early else said
    if case.verdict == "no_real_difference":
        return f"{measure.same(case, found)}: no difference that matters to you."
    return _open(case)


def _sealed(case: Case) -> str:
    progress = case.result.progress
    if progress.day < 1:
        return f"This trial starts on {long_date(case.plan.start)}."
    if case.until_done:
        return (f"Day {progress.day}: the answer stays sealed until every reed is done or has reached "
                f"{numbers.hours(case.plan.cap_hours or 0)}.")
    if case.is_ratio:
        return (f"Day {progress.day} of {progress.days}: the answer stays sealed until {long_date(case.opens)}, "
                "or until the last reed is done.")
    return f"Day {progress.day} of {progress.days}: the answer stays sealed until {long_date(case.opens)}."


def _hint(case: Case) -> str:
    assert case.main is not None
    if case.lead is None or too_few_ends(case.main):
        if case.main.estimate != case.main.estimate or too_few_ends(case.main):
            return f"Your old diary can't even hint {measure.whether(case)}."
        return f"Only a hint from your old diary: {measure.inside(measure.same(case, case.main))}."
    return f"Only a hint from your old diary: {measure.inside(measure.more(case, case.main, case.lead))}"


def _open(case: Case) -> str:
    question = measure.whether(case)
    if case.result.state == "opened_early":
        day, days = case.result.progress.day, case.result.progress.days
        return f"Opened early, on day {day} of {days}, this trial can't tell yet {question}."
    if case.result.state == "ended_early":
        return f"This trial ended early and can't tell {question}."
    found = case.main
    if found is not None and found.events is not None and not sum(found.events):
        return f"{few_ends_sentence(case, found).partition(',')[0]}, so this trial can't tell {question}."
    gone = case.remark("could_never_tell")
    if gone is not None and gone.fact("why") == "too_few_worn_out":
        return f"Too few reeds came to their end for this trial to tell {question}."
    if case.lost_too_much:
        return f"Too much was lost for this trial to tell {question}."
    if case.never:
        return f"This trial could never have told {question}."
    return f"This trial can't tell yet {question}."
