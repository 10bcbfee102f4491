"""What to do next; with a forecast of the next trial where it was played."""

from __future__ import annotations

from ...wording import tr
from .. import numbers
from ..case import Case
from ..names import of_reeds
from . import diary, standing

__all__ = ["next_sentences", "settle_sentences"]

_EASIER = tr("Meanwhile, use whichever is easier."), tr("Meanwhile, take either of them.")
_UNEVEN = {
    "missing": tr("To settle it, run the trial once more and write each rating down at once, the bad ones too."),
    "given_up": tr("To settle it, run the trial once more and play each reed to its end, the poor ones too."),
}


def next_sentences(case: Case) -> list[str]:
    """Return what the player can do now. Empty while sealed (see `running`)."""
    found, easier = case.main, of_reeds(case.plan, *_EASIER)
    if found is None:
        return []
    if case.is_diary:
        return [*diary.fair_trial(case), easier]
    if case.result.odds is not None:
        return standing.next_sentences(case)
    if case.winner:
        return _winner(case, case.winner)
    if case.verdict == "no_real_difference":
        return [of_reeds(case.plan, tr("Use whichever is easier."),
                         tr("Take either of them."))]
    if case.result.state == "opened_early":
        return [tr("Play on as planned to the last day, for the full trial can tell more."), easier]
    if case.result.state == "ended_early":
        return [tr("To settle it, start a new trial and let it run to its end."), *settle_sentences(case), easier]
    uneven = case.remark("uneven")
    if uneven is not None and uneven.fact("held"):
        return [_UNEVEN[str(uneven.fact("kind"))], easier]
    told = settle_sentences(case)
    if not told:
        told = [_other_plan(case) if case.never else tr("To settle it, plan a longer trial."), _FORECAST]
    return [*told, easier]


def _winner(case: Case, side: str) -> list[str]:
    assert case.main is not None
    name = case.name(side)
    if case.main.exceeds == "perhaps":
        said = [of_reeds(case.plan, tr("If it is little trouble, go on with {name}."),
                         tr("If nothing speaks for the other, take {name}.")).format(name=name)]
    else:
        said = [of_reeds(case.plan, tr("Go on with {name}."),
                         tr("Take {name}.")).format(
                    name=name), of_reeds(case.plan,
                                         tr("If much hangs on it, run the trial once more with fresh reeds."),
                                         tr("Reeds change: if much hangs on it, try both once more shortly before."))]
    if case.result.state == "opened_early":
        said.append(tr("You can play on to the last day as planned: it will tell the size better."))
    return said


def settle_sentences(case: Case) -> list[str]:
    """Return what a next trial would show by itself, from its forecast. Empty where none was played."""
    s = case.result.settle
    if s is None:
        return []
    gap, unit = case.gap_text, "reeds" if s.kind == "reeds" else "days"
    often, same = (numbers.times_in_100(round(100 * x)) for x in (s.chance, s.same))
    if s.need is not None and s.need > s.have:
        return [tr("To settle it, plan {sized}; this one had {have:,}.").format(
                    sized=_sized(unit, s.need), have=s.have),
                *_goes(case, s.need),
                tr("Played through on paper with your own numbers, it would find {gap} {often}.").format(
                    gap=gap, often=often),
                tr("The same plan again would find it {often}.").format(often=same),
                tr("It would take about {weeks}.").format(weeks=numbers.weeks(s.weeks))]
    if s.need is not None:
        return [tr("To settle it, play the same plan again."),
                tr("Played through on paper with your own numbers, it would find {gap} {often}.").format(
                    gap=gap, often=same)]
    if s.most > s.have:
        return [tr("To find {gap}, it would take more than {sized}.").format(gap=gap, sized=_sized(unit, s.most)),
                tr("Played through on paper with your own numbers, even that would find it only {often}.").format(
                    often=often),
                tr("So ask for a bigger gap, or put another question.")]
    return [tr("To settle it, plan a longer trial."),
            tr("Played through on paper with your own numbers, the same plan again would find {gap} {often}.").format(
                gap=gap, often=same)]


def _goes(case: Case, days: int) -> list[str]:
    """Return of two reeds how many pairs that is."""
    pairs = days * len(case.plan.units) / case.plan.days
    return [tr("That is {pairs} of goes.").format(pairs=numbers.count(pairs, "pair"))] if case.plan.two_reeds else []


#: Where the forecast of a next trial is shown.
_FORECAST = tr("The plan page says how often a plan would find the gap, played through with your own numbers.")


def _sized(unit: str, size: int) -> str:
    return tr("a trial of {size:,} days").format(
               size=size) if unit == "days" else tr("a trial with {size:,} reeds").format(size=size)


def _other_plan(case: Case) -> str:
    if case.is_ratio:
        return tr("No trial of lives that you can play will settle it; ask for ratings or wear instead.")
    return tr("This plan can't settle it; plan a new trial with more matched sets.")
