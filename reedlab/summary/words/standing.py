"""Odds: of a standing trial, and of one that may be read early. Where they stand, what that says, what to do."""

from __future__ import annotations

import math

from ...trial.outlook import SettledBy, StandingOutlook
from ...trial.result import OnTheWay, StandingOdds
from ...wording import tr, trn
from .. import numbers
from ..case import Case, long_date
from . import measure

__all__ = ["bar_words", "in_short", "next_sentences", "odds_on_the_way", "odds_sentence", "odds_title", "odds_words",
           "outlook_sentences", "progress_sentences", "rule_sentences"]


def odds_words(e_value: float) -> str:
    """Return odds as a player reads them: "6 to 1", "even", "more than 1,000 to 1"; never higher than they are."""
    if e_value >= 1000:
        return tr("more than 1,000 to 1")
    if e_value >= 10:
        return tr("{odds} to 1").format(odds=math.floor(e_value))
    told = math.floor(10 * e_value) / 10
    return tr("{odds} to 1").format(odds=f"{told:g}") if told > 1 else tr("even") if told == 1 else tr("below even")


def bar_words(odds: StandingOdds | OnTheWay) -> str:
    """Return the odds at which a winner is named."""
    return tr("{odds} to 1").format(odds=f"{odds.bar:,.0f}")


def _never_in(bar: float) -> str:
    """Return in how many trials of ways that are alike the odds never come so far: "in 95 of 100 trials"."""
    seldom = 100 * (1 - 1 / bar)
    return tr("in {n} of 100 trials").format(n=round(seldom)) if seldom <= 99 else tr("in more than 99 of 100 trials")


def in_short(case: Case) -> str:
    """Return the headline of a standing trial that is not settled."""
    odds = case.result.odds
    assert odds is not None
    whether = measure.whether(case)
    if case.result.state == "finished":
        return tr("This trial was ended before it could tell {whether}.").format(whether=whether)
    if not odds.boxes:
        return tr("This trial stands ready: deal the first box when you open it.")
    return tr("Not settled yet {whether}. The trial goes on.").format(whether=whether)


def odds_sentence(case: Case) -> str:
    """Return, in one paragraph, how many reeds came to their end and where the odds stand."""
    odds = case.result.odds
    assert odds is not None
    ends = odds.course[-1][2] if odds.course else 0
    said = [trn("So far {n} reed has come to its end.", "So far {n} reeds have come to their end.", ends).format(n=ends)
            if ends else tr("No reed has come to its end yet.")]
    often = _never_in(odds.bar)
    if odds.named is not None:
        said.append(tr("If the habit made no difference, odds of {bar} against it would never be reached {often}. They "
                       "were reached on {date}, so a winner is named, and stays named.").format(
                           bar=bar_words(odds), often=often, date=long_date(odds.named)))
    else:
        said.append(tr("If the habit made no difference, odds of {bar} against it would never be reached {often}; they "
                       "stand at {odds}.").format(bar=bar_words(odds), often=often, odds=odds_words(odds.e_value)))
    if case.verdict == "no_real_difference":
        said.append(tr("Odds as high speak against any gap as big as {size}, whichever way.").format(
            size=case.matters_text))
    if case.result.state == "running":
        said.append(tr("You may look on any day: it costs nothing."))
    return " ".join(said)


def odds_on_the_way(case: Case) -> list[str]:
    """Return how the odds speak for the answer; empty where it does not go by them."""
    odds = case.result.on_the_way
    if odds is None or not odds.decides:
        return []
    bar, often = odds_words(odds.bar), _never_in(odds.bar)
    if case.winner and not case.early:
        return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}. They were "
                   "reached on the way, so a winner is named, and stays named.").format(bar=bar, often=often)]
    if case.winner:
        return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}; here they "
                   "have reached {odds}.").format(bar=bar, often=often, odds=odds_words(odds.most))]
    return [tr("If the two ways were alike, odds of {bar} against that would never be reached {often}; here they stand "
               "at {odds}, so no winner is named yet.").format(bar=bar, often=often, odds=odds_words(odds.e_value))]


def rule_sentences(case: Case) -> list[str]:
    """Return what the plan says of reading early."""
    return [tr("The answer may be read on any day, at no price. Before the end a winner is named by odds alone, at "
               "{bar} against no difference.").format(bar=tr("{odds} to 1").format(
                   odds=numbers.rounded(1 / (0.8 * (1 - case.plan.level)), 1))),
            tr("What these odds may use up was taken from the final test from the start.")]


def odds_title(case: Case) -> str:
    """Return the sentence that reads the figure of the odds."""
    odds = case.result.odds
    assert odds is not None
    if odds.named is not None:
        return tr("The odds reached {bar} on {date}, so a winner is named.").format(
            bar=bar_words(odds), date=long_date(odds.named))
    return tr("The odds stand at {odds}. At {bar} a winner is named.").format(
        odds=odds_words(odds.e_value), bar=bar_words(odds))


def next_sentences(case: Case) -> list[str]:
    """Return what to do now."""
    running = case.result.state == "running"
    if case.winner:
        said = [tr("Go on with {name}.").format(name=case.name(case.winner))]
        return [*said, tr("You can end this trial now, or play on to learn the size better.")] if running else said
    if case.verdict == "no_real_difference":
        return [tr("Use whichever is easier."), *([tr("You can end this trial now.")] if running else [])]
    if not running:
        return [tr("To settle it, start a new standing trial."), tr("Meanwhile, use whichever is easier.")]
    return [tr("Play the reeds you like, each with its way. Write down which and how long, and when one is done."),
            tr("Deal the next box when you open it.")]


def progress_sentences(case: Case) -> list[str]:
    """Return how far a standing trial is; nothing of it tells the two ways apart."""
    p = case.result.progress
    boxes = len({u.block.split(".")[0] for u in case.plan.units})
    if not boxes:
        return [tr("No box has been dealt yet.")]
    said = [trn("{n} box has been dealt, with {reeds}.", "{n} boxes have been dealt, with {reeds}.", boxes).format(
        n=boxes, reeds=numbers.count(p.reeds, "reed"))]
    said.append(tr("You have logged {hours} on them.").format(hours=numbers.hours(p.play_hours)) if p.play_hours > 0
                else tr("No playing time is logged yet."))
    if p.reeds_retired:
        said.append(trn("{n} reed has left service.", "{n} reeds have left service.", p.reeds_retired).format(
            n=p.reeds_retired))
    if p.as_planned_share is not None and p.as_planned_share < 1:
        said.append(tr("Where you wrote down which way you used, {share} sittings went as planned.").format(
            share=numbers.share(p.as_planned_share)))
    return said


def outlook_sentences(outlook: StandingOutlook) -> list[str]:
    """Return, before the start, when a standing trial is likely to be settled."""
    said = [tr("At {minutes:g} minutes a day, a box lasts about {months}.").format(
        minutes=outlook.minutes_a_day, months=numbers.count(max(1, round(outlook.box_months)), "month"))]
    for row in outlook.rows:
        said += _settled(tr("Say that reeds last {ratio:g} times as long with one way.").format(ratio=row.ratio), row)
    said += _settled(tr("Say that the ways are alike."), outlook.alike)
    said.append(tr("You may look on any day: it costs nothing. All this rests on what we assume of your reeds, until "
                   "your own log takes its place."))
    return said


def _settled(case: str, row: SettledBy) -> list[str]:
    if row.half_boxes is None or row.half_months is None:
        return [case, tr("Then 24 boxes settle fewer than half of all trials.")]
    said = [case, tr("Then half of all trials are settled by box {box}, after about {time}.").format(
        box=math.ceil(row.half_boxes), time=_long(row.half_months))]
    if row.most_boxes is None or row.most_months is None:
        return [*said, tr("For 80 in 100, 24 boxes are not enough.")]
    return [*said, tr("80 in 100 are by box {box}, after about {time}.").format(
        box=math.ceil(row.most_boxes), time=_long(row.most_months))]


def _long(months: float) -> str:
    return (numbers.count(max(1, round(months)), "month") if months < 24 else
            tr("{years} years").format(years=numbers.rounded(months / 12, 0.5)))
