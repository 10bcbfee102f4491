"""What limits the answer: for whom it holds, and what was counted."""

from __future__ import annotations

import math

from ...trial.instruments import INSTRUMENT_WORDS
from ...wording import tr
from .. import numbers
from ..case import Case, long_date
from ..names import of_reeds
from .lives import too_few_ends

__all__ = ["counted", "limit_sentences", "when_and_what"]

#: What a ratio of lives takes for granted.
ONE_RATIO = tr("One ratio stands for the lives of all reeds. If a way adds hours to some reeds only, it can miss that.")
PERSONAL = tr("This holds for you, this instrument and mouthpiece, these reeds, these weeks.")


def counted(case: Case) -> str:
    """Return what the trial counted, in reeds, days of play, swaps or draws."""
    found = case.main
    assert found is not None
    if not sum(found.units):
        return tr("Nothing of it could be compared.")
    n, sets = case.counted_units(sum(found.units)), case.sets(found.blocks)
    if case.plan.of_boxes:
        return tr("It rests on {sets} of one reed from each box, and so on {n}. What was shuffled is the order of each "
                  "day; a reed belongs to its box.").format(sets=sets, n=n)
    if case.plan.unit_kind == "diagonal":
        return tr("It rests on {sets}, each counted once: two reeds that change ways from one day to the "
                  "other.").format(sets=sets)
    if case.plan.pairs:
        return of_reeds(case.plan,
                        tr("It rests on {n}, each one reed tried both ways within minutes. Chance set which way "
                           "went first, half of each of {sets} either way, so going first or second favours neither."),
                        tr("It is about these two reeds on these days, and no others. It rests on {n} in {sets}, "
                           "each of both reeds within minutes. Chance set which began, each as often as the other, "
                           "so going first or second favours neither.")).format(sets=sets, n=n)
    if case.plan.crossover:
        return tr("It rests on {n} in {sets}, each reed with both ways in turn and counted once. Chance set which way "
                  "it had first, so wear and weather favour neither.").format(sets=sets, n=n)
    if case.plan.unit_kind == "sitting":
        return tr("It rests on {n} in {sets}.").format(n=n, sets=sets)
    return tr("It rests on {n} in {sets}, each reed counted once.").format(n=n, sets=sets)


def missing(case: Case) -> list[str]:
    """Return how many of the planned ratings there are, where some are missing and no remark says so."""
    p = case.result.progress
    if case.remark("missing_days") is not None or p.sittings_rated >= p.sittings_planned:
        return []
    return [tr("{sittings_rated:,} of {ratings} were given.").format(
                sittings_rated=p.sittings_rated, ratings=numbers.count(
                    p.sittings_planned, "planned pair" if case.plan.pairs else "planned rating"))]


def limit_sentences(case: Case) -> list[str]:
    """Return whom the answer holds for and what it rests on; while sealed, only the first is known."""
    if case.main is None:
        return []
    said = [PERSONAL, tr("Another player may find another answer.")]
    if not case.is_diary:
        said.append(counted(case))
        said += missing(case)
    if case.plan.masked == "none" and case.remark("knew_which") is None:
        said.append(tr("You knew which box a reed came from, and that can sway a rating.") if case.plan.of_boxes else
                    tr("You knew which way was which, and that can sway when you call a reed done.")
                    if case.plan.standing else
                    tr("You knew which go was which, and back to back that sways most. A helper who sets it up out of "
                       "your sight would rule it out.") if case.plan.pairs else
                    tr("You knew which way was which when you rated, and that can sway a rating."))
    if case.plan.card.of_points and case.verdict != "cannot_tell":
        said.append(tr("A better rating says nothing of how long a reed lasts."))
    if case.is_ratio and not case.is_diary and not math.isnan(case.main.estimate) and not too_few_ends(case.main):
        said.append(ONE_RATIO)
    return said


def when_and_what(case: Case) -> str:
    """Return the instrument, the reeds and the time of the trial in one line for the head of the page."""
    plan = case.plan
    reeds, instrument = numbers.count(len(plan.reeds), "reed"), INSTRUMENT_WORDS[plan.instrument]
    said = tr("{instrument}, {reeds} from {date}.") if case.until_done else tr("{instrument}, {reeds}, {days} from "
                                                                               "{date}.")
    return said.format(instrument=instrument[:1].upper() + instrument[1:], reeds=reeds,
                       days=numbers.count(plan.days, "day"), date=long_date(plan.start))
