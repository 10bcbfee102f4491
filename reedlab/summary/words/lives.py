"""Lives of which too few came to their end: the one thing that may be said of them."""

from __future__ import annotations

from typing import Final

from ...trial.result import Finding
from ...wording import tr
from .. import numbers
from ..case import Case

__all__ = ["FEWEST_ENDS", "few_ends_sentence", "too_few_ends"]

#: Reeds that must have come to their end before anything is said of life (our rule: one or two say nothing).
FEWEST_ENDS: Final = 3
_ENDED: Final = {"good": tr("stopped being good")}
_NOTHING: Final = {"good": tr("to say anything of how long they stay good")}


def too_few_ends(found: Finding) -> bool:
    """Whether a finding on lives rests on fewer ends than `FEWEST_ENDS`."""
    return found.scale == "ratio" and found.events is not None and sum(found.events) < FEWEST_ENDS


def few_ends_sentence(case: Case, found: Finding) -> str:
    """Return how few came to their end, and that this says nothing of life."""
    kind, n = case.kind_of(found.outcome), sum(found.events or ())
    odds = case.result.odds
    if odds is not None and odds.course and found is case.main:  # a box of which one way was not played yet counts too
        n = odds.course[-1][2]
    ended = _ENDED.get(kind, tr("came to its end") if n < 2 else tr("came to their end"))
    many = tr("No reed") if not n else tr("Only {reeds}").format(reeds=numbers.count(n, "reed"))
    return tr("{many} {ended}, too few {nothing}.").format(
               many=many, ended=ended, nothing=_NOTHING.get(kind, tr("to say anything of life")))
