"""A trial that still runs: how far and how complete it is, and nothing that splits by habit."""

from __future__ import annotations

from .. import numbers
from ..case import Case, long_date

__all__ = ["progress_sentences", "running_next", "why_sealed"]


def progress_sentences(case: Case) -> list[str]:
    """Return how far the trial is and how much is written down."""
    p = case.result.progress
    if p.day < 1:
        return [f"It is planned for {numbers.count(p.days, 'day')} with {numbers.count(p.reeds, 'reed')}."]
    said = []
    if p.sittings_planned:
        said.append(f"Of {numbers.count(p.sittings_planned, 'rating')} due so far, {p.sittings_rated} "
                    f"{'is' if p.sittings_rated == 1 else 'are'} in.")
    else:
        said.append(f"So far {numbers.count(p.sittings_rated, 'rating')} are in.")
    said.append(f"You have logged {numbers.hours(p.play_hours)} on {numbers.count(p.reeds, 'reed')}."
                if p.play_hours > 0 else "No playing time is logged yet.")
    if p.reeds_retired:
        said.append(f"{'One reed has' if p.reeds_retired == 1 else f'{p.reeds_retired} reeds have'} left service.")
    if p.as_planned_share is not None and p.as_planned_share == p.as_planned_share:
        said.append(f"Where you wrote down which way you used, {_share(p.as_planned_share)} went as planned.")
    return said


def _share(x: float) -> str:
    return "every sitting" if x == 1 else f"{numbers.share(x)} sittings"


def why_sealed(case: Case) -> list[str]:
    """Return why nothing of the answer is shown yet."""
    return ["If you peek, you may stop when it looks good, and fool yourself.",
            "So nothing is split by habit until the end.",
            "You can open it early on purpose; the log keeps that, and the final test gets a little stricter."]


def running_next(case: Case) -> list[str]:
    """Return what to do while it runs."""
    if case.result.progress.day < 1:
        return [f"Begin on {long_date(case.plan.start)} with the first line of your sheet."]
    return ["Play as the sheet says, and rate each reed before you look back at older ratings.",
            "If you forget a day, leave it empty and go on."]
