"""An old diary: what it holds, why it is only a hint, and the fair trial that would settle it."""

from __future__ import annotations

import math

from ...questions import CATALOGUE
from .. import numbers
from ..case import Case

__all__ = ["fair_trial", "held", "why_hint"]


def held(case: Case) -> list[str]:
    """Return what the diary holds, and its plain averages where there are any."""
    p = case.result.progress
    return [f"Your diary holds {numbers.count(p.sittings_rated, 'rating')} of {numbers.count(p.reeds, 'reed')}, "
            f"over {numbers.count(p.days, 'day')}.", *_averages(case)]


def _averages(case: Case) -> list[str]:
    found = case.main
    if found is None or found.means is None or case.is_ratio or any(math.isnan(m) for m in found.means):
        return []
    a, b = (numbers.rounded(case.unit_scale(found.outcome) * abs(m), 0.05) for m in found.means)
    one, two = case.name("A"), case.name("B")
    if case.kind == "stiffness":
        return [f"On average your reeds were {numbers.points(a, 'step')} off just right with {one}, and {b} with "
                f"{two}."]
    if case.kind == "wear":
        if max(found.means) > 0:  # some got better with the hours: the gap alone is told
            return []
        return [f"On average your reeds lost {numbers.points(a)} in {numbers.hours(case.span)} with {one}, and "
                f"{b} with {two}."]
    return [f"The plain averages are {a} with {one} and {b} with {two}."]


def why_hint(case: Case) -> list[str]:
    """Return why a diary can only hint."""
    return ["You chose the way yourself, and nothing was shuffled.",
            "So the gap may come from the weather, new music, fresher reeds or a change of taste, and these could "
            "hide a gap as well.",
            "No one can say how often luck alone would do this."]


def fair_trial(case: Case) -> list[str]:
    """Return the trial that would settle what the diary hints at: one that its question allows."""
    asked = CATALOGUE.get(case.plan.question)
    design = case.plan.design
    if asked is not None and design not in asked.designs:
        design = asked.design
    if design == "day_by_day":
        how = "Let each reed serve both ways, on days that are picked by chance."
    elif asked is not None and not asked.same_days:
        how = ("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play "
               "both kinds side by side, for the same hours.")
    else:
        how = ("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play "
               "both kinds on the same days.")
    return [f"A fair trial can settle it. {how} Keep the answer sealed to the end."]
