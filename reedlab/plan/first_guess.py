"""What can be settled, at a first guess: as if a player nobody knows yet had a full box, from plans known beforehand.

It stands there at once, where weighing a player's own reeds and habits takes some seconds; it is never said without
being called a guess.
"""

from __future__ import annotations

from typing import Final

from .known import KnownKey, known
from .means import Means
from .ranking import Ranked, Ranking, all_plans
from .weigh import known_kind

__all__ = ["first_guess"]

_BOX: Final = 10


def first_guess(means: Means) -> Ranking:
    """Return the ranking of a player nobody knows yet who gives as many weeks, and about as many minutes.

    There is no row for a plan that such a player is refused, nor for one that is not known beforehand.
    """
    minutes = min({key.minutes for key in known().plans}, key=lambda m: (abs(m - means.minutes_a_day), m))
    rows = []
    for q, way, days in all_plans(means):
        kind = known_kind(q, way.outcome)
        boxes = (_BOX, _BOX) if kind == "boxes" else (_BOX,)
        found = known().plans.get(KnownKey(kind, way.design, way.outcome, days, boxes, minutes))
        if found is not None:
            rows.append(Ranked(
                question=q.key, title=q.title, design=way.design, outcome=way.outcome, weeks=days / 7, **vars(found)))
    return Ranking(tuple(sorted(rows, key=lambda r: (-r.useful, r.weeks))), means, 0)
