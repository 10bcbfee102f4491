"""How sure, and what could still be true."""

from __future__ import annotations

import math

from ...trial.outcomes import no_gap
from ...wording import all_of, tr, trn
from .. import numbers
from ..case import Case
from ..names import of_reeds
from . import diary, standing
from .lives import too_few_ends
from .ranges import told_range

__all__ = ["still_true_sentences", "surety_sentences"]


_SAME_POINTS = tr("If the true gap were as big as {gap}, a gap as small as this would come up at most 5 times in "
                   "100.")
_SAME_RATIO = tr("If reeds truly went {gap} with one of them, a gap as small as this would come up at most 5 "
                  "times in 100.")


def surety_sentences(case: Case) -> list[str]:
    """Return how often shuffling alone would do this, and what follows. Empty while sealed."""
    found = case.main
    if found is None:
        return []
    if case.is_diary:
        return diary.why_hint(case)
    if case.result.odds is not None:
        return [standing.odds_sentence(case)]
    if case.never and case.verdict == "cannot_tell" and (case.is_ratio or not math.isnan(found.estimate)):
        return [_never(case)]
    if math.isnan(found.estimate) or too_few_ends(found):
        return [tr("There is nothing to be sure of yet.")]
    if by_odds := standing.odds_on_the_way(case):
        return by_odds
    if case.verdict == "no_real_difference":
        return [_SAME_RATIO.format(gap=case.matters_text) if case.is_ratio
                else _SAME_POINTS.format(gap=case.matters_text)]
    often = numbers.chance(found.p_value)
    said = [of_reeds(case.plan, tr("If the two ways were alike, shuffling alone would give a gap this big {often}."),
                     tr("If the two reeds were alike, shuffling alone would give a gap this big {often}.")).format(
        often=often)]
    if case.plan.of_boxes:
        said = [tr("If the two boxes played alike, the shuffled order of each day would give a gap this big "
                   "{often}.").format(often=often)]
    if case.winner:
        said.append(tr("Luck alone would seldom do that."))
    elif case.early:
        said.append(tr("A trial read early may name a winner only if that is at most 1 time in 1,000."))
    elif found.p_value > 1 - found.level + 1e-12:
        said.append(tr("That is too often to name a winner."))
    else:
        said.append(tr("That is seldom, but here it is not enough to name a winner."))
    return said


#: The ends of a scale that is not 0 to 10: of closeness to "just right", of preference.
_ENDS = {"stiffness": (-3.0, 0.0), "preference": (-5.0, 5.0)}
_AT_END, _SLIPPED = 0.05, 0.02  # shares from which a gap looks smaller by more than a little
_LOOSE = (tr("Two ways that are just alike can still name a winner by luck, and this could be such a trial."),
          tr("Two reeds that are just alike can still name a winner by luck, and this could be such a trial."))


def _never(case: Case) -> str:
    assert case.main is not None
    remark = case.remark("could_never_tell")
    why = remark.fact("why") if remark else ""
    if why == "no_worn_out":
        return tr("No reed came to its end, so no winner could have been named.")
    if why == "too_few_worn_out":
        return tr("With so few reeds at their end, no winner could have been named.")
    if why == "early":
        return tr("Read this early, no result could have named a winner.")
    if case.main.least_p <= 1 - case.main.level:
        return tr("No result of this trial could have named a winner.")
    return (tr("Even the clearest result would come up by shuffling alone {chance}, and that is too often.").format(
                chance=numbers.chance(case.main.least_p)))


def _looks_smaller(case: Case) -> list[str]:
    """Say what makes the gap that shows smaller than the true one: ratings at an end, sittings off the plan."""
    points, followed = case.result.points, case.result.progress.as_planned_share
    if case.is_ratio:
        return []
    ends = _ENDS.get(case.plan.rating, (0.0, 10.0))
    at_end = points is not None and len(points) > 0 and points["rating"].isin(ends).mean() >= _AT_END
    why = [text for text, on in ((tr("ratings at an end of the scale"), at_end),
                                 (tr("sittings off the plan"), followed is not None and followed < 1 - _SLIPPED)) if on]
    if not why:
        return []
    return [tr("The true gap may be bigger, for {names} make it look smaller.").format(names=all_of(why))]


def _goes_on(case: Case) -> list[str]:
    """Say of a crossover what a way that goes on for longer than the player said does to the gap."""
    if not case.plan.crossover:
        return []
    return [trn("If a way goes on for more than {n} day after it ends, the true gap is bigger than it looks here.",
                "If a way goes on for more than {n} days after it ends, the true gap is bigger than it looks here.",
                case.plan.effect_days).format(n=case.plan.effect_days)]


def _hides(case: Case) -> list[str]:
    """Return what would have hidden a gap from a trial that found none."""
    if case.is_ratio:
        return []
    if case.plan.pairs:
        return [tr("A gap would be hidden if you held on to what you thought of the first go.")]
    if case.plan.crossover:
        return [tr("A gap would be hidden if you rated each reed by what you thought of it before it changed ways.")]
    if case.plan.design == "day_by_day":
        return [tr("Two things would hide a gap here: rating a reed by what it got last time, and a way that "
                   "still works on the reed's next day.")]
    return [tr("A gap would be hidden if you rated each reed by what you thought of it at first.")]


def still_true_sentences(case: Case) -> list[str]:
    """Return what the trial leaves open. Empty while sealed."""
    found = case.main
    if found is None or case.is_diary or math.isnan(found.estimate) or too_few_ends(found):
        return []
    told = told_range(case)
    smaller = [*_looks_smaller(case), *_goes_on(case)]
    said = ([] if told.is_open or told.low == told.high  # all alike: it covers nothing else
            else [told.cover(shown=bool(smaller)), *smaller])
    if case.winner:
        apart = not case.plan.same_days and found.scale != "ratio" and case.plan.level <= 0.95
        often = tr("about 5 to 7") if apart else tr("at most 5")
        luck = (tr("With two boxes whose reeds are just alike, {often} trials in 100 name a winner by luck, and this "
                   "could be one of them.") if case.plan.of_boxes else
                of_reeds(case.plan,
                         tr("With two ways that are just alike, {often} trials in 100 name a winner by luck, and "
                            "this could be one of them."),
                         tr("With two reeds that are just alike, {often} trials in 100 name a winner by luck, and "
                            "this could be one of them.")))
        said.append(luck.format(often=often) if found.level >= 0.95 else of_reeds(case.plan, *_LOOSE))
    elif case.verdict == "no_real_difference":
        zero = no_gap(found.scale)
        if found.low <= zero <= found.high:
            said.append(tr("A small gap may well be there; it would be too small to matter to you."))
        said += _hides(case)
    else:
        said.append(tr("Not finding a gap is not the same as finding that there is none."))
    return said
