"""A standing trial among all that a player could ask: its row in the ranking."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..questions import Question
from .ranked import Ranked
from .standing import OUTCOME, can_stand
from .standing_outlook import standing_outlook

if TYPE_CHECKING:
    from .means import Means

__all__ = ["MONTHS", "standing_rows"]

#: Months that a player may give to a trial that asks for nothing on any one day: our assumption.
MONTHS = 36.0
_DAYS_A_WEEK = 7
_DAYS_A_MONTH = 365.25 / 12


def standing_rows(means: Means, question: Question) -> Iterable[Ranked]:
    """Yield the row of a standing trial of a question, if it can be asked by one.

    `right` and `same` are the chances of being settled within three years; `boxes` and `weeks` are when half of such
    trials are settled if lives differ by what matters (24 boxes and the time they take where it takes longer). It asks
    for no change of reed on any day.
    """
    if not can_stand(question) or question.key == "own":
        return
    matters = question.matters[OUTCOME]
    seen = standing_outlook(means.world, minutes_a_day=means.minutes_a_day, matters=matters, months=MONTHS)
    mine = next((r for r in seen.rows if r.ratio == matters), seen.rows[0])
    boxes = 24.0 if mine.half_boxes is None else mine.half_boxes
    months = boxes * seen.box_months if mine.half_months is None else mine.half_months
    days = round(months * _DAYS_A_MONTH)
    yield Ranked(question=question.key, title=question.title, design="standing", outcome=OUTCOME,
                 weeks=days / _DAYS_A_WEEK, days=days, reeds=10 * math.ceil(boxes), boxes=math.ceil(boxes),
                 right=seen.right, same=seen.same)
