"""A trial that still runs: how far and how complete it is, and nothing that splits by habit."""

from __future__ import annotations

from ...wording import tr, trn
from .. import numbers
from ..case import Case, long_date
from ..names import of_reeds
from . import standing

__all__ = ["followed", "progress_sentences", "running_next", "why_sealed"]


def progress_sentences(case: Case) -> list[str]:
    """Return how far the trial is and how much is written down."""
    p = case.result.progress
    if case.plan.standing:
        return standing.progress_sentences(case)
    if p.day < 1:
        return [tr("It is planned for {days} with {reeds}.").format(
                    days=numbers.count(p.days, "day"), reeds=numbers.count(p.reeds, "reed"))]
    said = []
    if p.sittings_planned:
        said.append(trn("Of {ratings} due so far, {n} is in.", "Of {ratings} due so far, {n} are in.",
                        p.sittings_rated).format(ratings=numbers.count(p.sittings_planned, "rating"),
                                                 n=p.sittings_rated))
    else:
        said.append(tr("So far {ratings} are in.").format(ratings=numbers.count(p.sittings_rated, "rating")))
    said.append(tr("You have logged {hours} on {reeds}.").format(
                    hours=numbers.hours(p.play_hours), reeds=numbers.count(p.reeds, "reed"))
                if p.play_hours > 0 else tr("No playing time is logged yet."))
    if p.reeds_retired:
        said.append(trn("One reed has left service.", "{n} reeds have left service.",
                        p.reeds_retired).format(n=p.reeds_retired))
    return [*said, *followed(case)]


def followed(case: Case) -> list[str]:
    """Return which share of the sittings went as planned; nothing where no way was written down."""
    x = case.result.progress.as_planned_share
    if x is None or x != x:
        return []
    share = tr("every sitting") if x == 1 else tr("{share} sittings").format(share=numbers.share(x))
    return [of_reeds(case.plan, tr("Where you wrote down which way you used, {share} went as planned."),
                     tr("Where you wrote down which reed began, {share} went as planned.")).format(share=share)]


def why_sealed(case: Case) -> list[str]:
    """Return why nothing of the answer is shown yet."""
    if case.plan.read_early:
        return [tr("Knowing how it stands can sway your next ratings."),
                tr("So nothing is split by habit until you open it."),
                tr("You can do that on any day, and it costs nothing: the answer then goes by odds that allow for it.")]
    return [tr("If you peek, you may stop when it looks good, and fool yourself."),
            tr("So nothing is split by habit until the end."),
            tr("You can open it early on purpose; the log keeps that, and the final test gets a little stricter.")]


def running_next(case: Case) -> list[str]:
    """Return what to do while it runs."""
    if case.result.progress.day < 1:
        return [tr("Begin on {date} with the first line of your sheet.").format(date=long_date(case.plan.start))]
    return [tr("Play as the sheet says, and rate each reed before you look back at older ratings."),
            tr("If you do not play on a day, say so at \"Not playing today\", and the plan moves along.")
            if case.plan.design == "day_by_day" else tr("If you forget a day, leave it empty and go on.")]
