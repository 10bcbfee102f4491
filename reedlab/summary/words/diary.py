"""An old diary: what it holds, why it is only a hint, and the fair trial that would settle it."""

from __future__ import annotations

import math

from ...questions import CATALOGUE
from ...wording import tr
from .. import numbers
from ..case import Case

__all__ = ["fair_trial", "held", "why_hint"]


def held(case: Case) -> list[str]:
    """Return what the diary holds, and its plain averages where there are any."""
    p = case.result.progress
    return [tr("Your diary holds {ratings} of {reeds}, over {days}.").format(
                ratings=numbers.count(p.sittings_rated, "rating"), reeds=numbers.count(p.reeds, "reed"),
                days=numbers.count(p.days, "day")), *_averages(case)]


def _averages(case: Case) -> list[str]:
    found = case.main
    if found is None or found.means is None or case.is_ratio or any(math.isnan(m) for m in found.means):
        return []
    a, b = (numbers.rounded(case.unit_scale(found.outcome) * abs(m), 0.05) for m in found.means)
    one, two = case.name("A"), case.name("B")
    if case.kind == "stiffness":
        return [tr("On average your reeds were {points} off just right with {one}, and {b} with {two}.").format(
                    points=numbers.points(a, "step"), one=one, b=b, two=two)]
    if case.kind == "wear":
        if max(found.means) > 0:  # some got better with the hours: the gap alone is told
            return []
        return [tr("On average your reeds lost {points} in {hours} with {one}, and {b} with {two}.").format(
                    points=numbers.points(a), hours=numbers.hours(case.span), one=one, b=b, two=two)]
    return [tr("The plain averages are {a} with {one} and {b} with {two}.").format(a=a, one=one, b=b, two=two)]


def why_hint(case: Case) -> list[str]:
    """Return why a diary can only hint."""
    return [tr("You chose the way yourself, and nothing was shuffled."),
            tr("So the gap may come from the weather, new music, fresher reeds or a change of taste, and these could "
               "hide a gap as well."),
            tr("No one can say how often luck alone would do this.")]


def fair_trial(case: Case) -> list[str]:
    """Return the trial that would settle what the diary hints at: one that its question allows."""
    asked = CATALOGUE.get(case.plan.question)
    design = case.plan.design
    if asked is not None and design not in asked.designs:
        design = asked.design
    if design == "day_by_day":
        how = tr("Let each reed serve both ways, on days that are picked by chance.")
    elif asked is not None and not asked.same_days:
        how = tr("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play both "
                 "kinds side by side, for the same hours.")
    else:
        how = tr("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play both "
                 "kinds on the same days.")
    return [tr("A fair trial can settle it. {how} Keep the answer sealed to the end.").format(how=how)]
