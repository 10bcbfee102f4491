"""A trial with a planned end that may be read early: where its odds stand, and what that says."""

from __future__ import annotations

from ...wording import tr
from .. import numbers
from ..case import Case
from .standing import never_in, odds_words

__all__ = ["odds_on_the_way", "rule_sentences"]


def odds_on_the_way(case: Case) -> list[str]:
    """Return how the odds speak for the answer; empty where it does not go by them."""
    odds = case.result.on_the_way
    if odds is None or not odds.decides:
        return []
    bar, often = odds_words(odds.bar), never_in(odds.bar)
    if case.winner and not case.early:
        return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}. They were "
                   "reached on the way, so a winner is named, and stays named.").format(bar=bar, often=often)]
    if case.winner:
        return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}; here they "
                   "have reached {odds}.").format(bar=bar, often=often, odds=odds_words(odds.most))]
    return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}; here they stand "
               "at {odds}, so no winner is named yet.").format(bar=bar, often=often, odds=odds_words(odds.e_value))]


def rule_sentences(case: Case) -> list[str]:
    """Return what the plan says of reading early."""
    return [tr("The answer may be read on any day, at no price. Before the end a winner is named by odds alone, at "
               "{bar} against no difference.").format(bar=tr("{odds} to 1").format(
                   odds=numbers.rounded(1 / (0.8 * (1 - case.plan.level)), 1))),
            tr("What these odds may use up was taken from the final test from the start.")]
