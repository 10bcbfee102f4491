"""What a player's reeds, minutes and weeks can settle, question by question, as plain data: step one of the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ..plan.ranking import Ranked, Ranking
from ..questions import CATALOGUE
from ..trial.outcomes import OUTCOMES
from ..wording import tr, trn

__all__ = ["QuestionLine", "burden", "in_100", "past_words", "question_lines", "span", "weeks_words"]

_WEEKS_A_MONTH: Final = 365.25 / 7 / 12


@dataclass(frozen=True)
class QuestionLine:
    """One question as the first step lists it.

    `chance` is that of a useful answer, out of 100; None where no fair plan can be drawn up. `settles` is False where a
    useful answer would come less often than not: then, and where there is no plan, `why` says so. `best` is the plan
    meant, None for a question of the player's own, whose chance hangs on what it is. `later` says what a trial that
    goes on from box to box could do where no plan within the player's weeks can settle it, `changing` what one could in
    which reeds change ways.
    """

    key: str
    title: str
    ask: str
    chance: int | None
    settles: bool
    span: str
    how: str
    why: str
    past: str
    best: Ranked | None
    later: str = ""
    changing: str = ""


def in_100(share: float) -> int:
    """Return a chance out of 100, as every page tells it."""
    return round(100 * share)


def question_lines(ranking: Ranking, past: Mapping[str, str] | None = None) -> tuple[QuestionLine, ...]:
    """Return every question, the one that can best be settled first; a question of the player's own comes last."""
    past = past or {}
    lines = tuple(replace(line, later=_later(ranking.from_box_to_box(line.key)),
                          changing=_changing(ranking.changing_ways(line.key))) if not line.settles else line
                  for row in ranking.best() for line in [_line(row, past.get(row.question, ""), ranking.means.weeks)])
    own = CATALOGUE["own"]
    return (*lines, QuestionLine("own", own.title, own.ask, None, True, "", "",
                                 tr("Say what it is, then see what your reeds can show."),
                                 past.get("own", ""), None))


def _line(row: Ranked, past: str, weeks: int) -> QuestionLine:
    question = CATALOGUE[row.question]
    if row.refused:
        return QuestionLine(row.question, row.title, question.ask, None, False, "", "", row.refused, past, row)
    how = tr("{asked_of}, {reeds} reeds").format(
              asked_of=OUTCOMES[row.outcome].asked_of if row.outcome else row.design, reeds=row.reeds)
    why = "" if row.can_settle else tr("Can't be settled in {weeks_words} with your reeds: at best a useful answer in "
                                       "{in_100} of 100.").format(
                                        weeks_words=weeks_words(weeks), in_100=in_100(row.useful))
    return QuestionLine(row.question, row.title, question.ask_for(row.outcome) if row.outcome else question.ask,
                        in_100(row.useful), row.can_settle, span(row), how, why, past, row)


def _changing(row: Ranked | None) -> str:
    if row is None:
        return ""
    n = CATALOGUE[row.question].wears_off or 0
    return trn("If what a way does is gone again after {n} day, each reed can have first one way, then the other: "
               "{in_100} of 100 in {span}.",
               "If what a way does is gone again after {n} days, each reed can have first one way, then the other: "
               "{in_100} of 100 in {span}.", n).format(n=n, in_100=in_100(row.useful), span=span(row))


def _later(row: Ranked | None) -> str:
    if row is None:
        return ""
    return tr("From box to box, for as long as it takes: {in_100} of 100, half of them settled by about {boxes:g} "
              "boxes, {weeks:.0f} months.").format(in_100=in_100(row.useful), boxes=row.boxes,
                                                   weeks=row.weeks / _WEEKS_A_MONTH)


def past_words(trial: str, *, running: bool = False, verdict: str | None = None, winner: str = "") -> str:
    """Say how the last trial of a question ended; `verdict` is None while it runs, or is not to be told.

    `winner` is the name of the better way, where one was named.
    """
    if running:
        return tr("Runs now: {trial}.").format(trial=trial)
    if winner:
        return tr("Answered: {winner} was better.").format(winner=winner)
    said = {"no_real_difference": tr("Answered: no difference that matters."),
            "cannot_tell": tr("Asked before: can't tell yet.")}
    return said.get(verdict or "", tr("Asked before: {trial}.").format(trial=trial))


def span(row: Ranked) -> str:
    """Return how long a plan takes, in weeks; days where they are no whole weeks and few."""
    if row.boxes is not None:
        return tr("about {boxes:g} boxes, {weeks_words}").format(boxes=row.boxes, weeks_words=weeks_words(row.weeks))
    if row.days and row.days % 7 and row.days < 28:
        return tr("{days} days").format(days=row.days)
    return weeks_words((row.days or 7 * row.weeks) / 7)


def weeks_words(weeks: float) -> str:
    """Return a number of weeks: "4 weeks"."""
    n = round(weeks)
    return trn("{n} week", "{n} weeks", n).format(n=n)


def burden(row: Ranked) -> str:
    """Return what a plan asks for, in plain words: reeds, changes of reed a day, days of breaking in."""
    said = [trn("{n} reed", "{n} reeds", row.reeds).format(n=row.reeds), _changes(row.changes_a_day)]
    if row.break_in_days:
        said.append(trn("{n} day to break them in first", "{n} days to break them in first",
                        row.break_in_days).format(n=row.break_in_days))
    return ", ".join(said)


def _changes(a_day: float) -> str:
    n = round(a_day)
    if n == 0:
        return tr("hardly a change of reed on a day") if a_day > 0.05 else tr("no change of reed on a day")
    return trn("{n} change of reed on a day", "{n} changes of reed on a day", n).format(n=n)
