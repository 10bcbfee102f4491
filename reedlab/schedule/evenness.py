"""The minutes of the two ways, counted for as long as both have reeds to play.

A life runs as long as it runs: once every reed of one way has left or is done, the other goes on alone, and that is
no fault of the days. Up to then both ways should get the same minutes.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from ..wording import tr
from .days import Unmet
from .diary import Diary

__all__ = ["UNEVEN", "minutes_of_both", "too_uneven", "uneven_end"]

UNEVEN = 0.10  # of the minutes of the way that got more: our assumption


def minutes_of_both(diary: Diary) -> dict[str, float]:
    """Return the minutes of each habit within the trial, up to the day on which one of them ran out of reeds."""
    end = _one_way_alone(diary)
    if end is None:
        return diary.stand
    out = dict.fromkeys(diary.stand, 0.0)
    for reed, habit in diary.dealt.items():
        out[habit] += sum(m for d, m in diary.played[reed].items() if d <= end and diary.counts(reed, d))
    return out


def too_uneven(minutes: Mapping[str, float]) -> bool:
    """Say whether one habit got over a tenth fewer minutes than the other."""
    low, high = min(minutes.values()), max(minutes.values())
    return high - low > UNEVEN * high + 1e-9


def uneven_end(*, over: bool) -> Unmet:
    """Return the sentence for an uneven end; which way got more is not said."""
    happened = (tr("The two ways did not get the same minutes: too much went otherwise.") if over else
                tr("The two ways will not get the same minutes: too much has gone otherwise for the days "
                   "that are left."))
    return Unmet("minutes_uneven", tr("{happened} Bear it in mind when you read the result.").format(happened=happened))


def _one_way_alone(diary: Diary) -> date | None:
    """Return the day on which the last reed of one way left or was done; None while both go on."""
    ends: list[date] = []
    for h in diary.protocol.habits:
        last = [diary.finished(r) for r, key in diary.dealt.items() if key == h.key]
        dates = [d for d in last if d is not None]
        if dates and len(dates) == len(last):
            ends.append(max(dates))
    return min(ends, default=None)
