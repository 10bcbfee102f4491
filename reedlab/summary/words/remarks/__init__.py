"""One sentence or two for every remark: what it means for this player."""

from __future__ import annotations

from typing import Final

from ....trial.result import Remark
from ...case import Case
from . import answers, ends, made, on_the_way  # noqa: F401 - each writes its sentences
from ._tools import SENTENCES

__all__ = ["ORDER", "SENTENCES", "remark_text", "sorted_remarks"]

#: The gravest first.
ORDER: Final = (
    "not_randomised", "could_never_tell", "too_few_blocks", "ratings_not_reeds", "box_is_arm", "early_look",
    "odds_on_the_way", "ended_early", "repeated", "stopped_before_cap", "uneven", "same_held_back", "few_worn_out",
    "as_done_differs", "plan_not_followed", "days_apart", "ceiling", "all_alike",
    "missing_days", "block_lost", "damage_uneven", "hours_uneven", "weather_uneven", "wide_range", "carry_over",
    "looks_paid", "setup_changed", "worked_on", "reeds_left_out", "window_short", "knew_which", "one_box",
    "weather_drifted", "habit_not_logged", "from_memory", "unsure_reed", "unplanned_ratings", "half_squares",
    "overplayed", "worn_out_by_choice", "worn_out_unmarked", "adjust_left_out", "mouldy",
)


def remark_text(remark: Remark, case: Case) -> str:
    """Return the sentence of a remark. Raises KeyError for a code that has none."""
    text = SENTENCES[remark.code](dict(remark.facts), case)
    return text[0].upper() + text[1:]


def sorted_remarks(remarks: tuple[Remark, ...]) -> list[Remark]:
    """Return remarks with the gravest first; codes not in `ORDER` keep their place at the end."""
    return sorted(remarks, key=lambda r: ORDER.index(r.code) if r.code in ORDER else len(ORDER))
