"""What a player's reeds, minutes and weeks can settle, question by question, as plain data: step one of the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ..plan.ranked import Ranked
from ..plan.ranking import Ranking
from ..questions import CATALOGUE
from ..trial.outcomes import OUTCOMES

__all__ = ["Past", "QuestionLine", "burden", "in_100", "question_lines", "span", "weeks_words"]

_WEEKS_A_MONTH: Final = 365.25 / 7 / 12


@dataclass(frozen=True)
class Past:
    """The last trial of a question: its name, and how it ended. `verdict` is None while it runs, or is not to be told.

    `winner` is the name of the better way, where one was named.
    """

    trial: str
    running: bool = False
    verdict: str | None = None
    winner: str = ""


@dataclass(frozen=True)
class QuestionLine:
    """One question as the first step lists it.

    `chance` is that of a useful answer, out of 100; None where no fair plan can be drawn up. `settles` is False where a
    useful answer would come less often than not: then, and where there is no plan, `why` says so. `best` is the plan
    meant, None for a question of the player's own, whose chance hangs on what it is. `later` says what a trial that
    goes on from box to box could do where no plan within the player's weeks can settle it.
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


def in_100(share: float) -> int:
    """Return a chance out of 100, as every page tells it."""
    return round(100 * share)


def question_lines(ranking: Ranking, past: Mapping[str, Past] | None = None) -> tuple[QuestionLine, ...]:
    """Return every question, the one that can best be settled first; a question of the player's own comes last."""
    past = past or {}
    lines = tuple(replace(line, later=_later(ranking.from_box_to_box(line.key))) if not line.settles else line
                  for row in ranking.best() for line in [_line(row, past.get(row.question), ranking.means.weeks)])
    own = CATALOGUE["own"]
    return (*lines, QuestionLine("own", own.title, own.ask, None, True, "", "",
                                 "Say what it is, then see what your reeds can show.", _past(past.get("own")), None))


def _line(row: Ranked, past: Past | None, weeks: int) -> QuestionLine:
    question = CATALOGUE[row.question]
    if row.refused:
        return QuestionLine(row.question, row.title, question.ask, None, False, "", "", row.refused, _past(past), row)
    how = f"{OUTCOMES[row.outcome].asked_of if row.outcome else row.design}, {row.reeds} reeds"
    why = "" if row.can_settle else (f"Can't be settled in {weeks_words(weeks)} with your reeds: at best a useful "
                                     f"answer in {in_100(row.useful)} of 100.")
    return QuestionLine(row.question, row.title, question.ask_for(row.outcome) if row.outcome else question.ask,
                        in_100(row.useful), row.can_settle, span(row), how, why, _past(past), row)


def _later(row: Ranked | None) -> str:
    if row is None:
        return ""
    return (f"From box to box, for as long as it takes: {in_100(row.useful)} of 100, half of them settled by about "
            f"{row.boxes:g} boxes, {row.weeks / _WEEKS_A_MONTH:.0f} months.")


def _past(past: Past | None) -> str:
    if past is None:
        return ""
    if past.running:
        return f"Runs now: {past.trial}."
    if past.winner:
        return f"Answered: {past.winner} was better."
    said = {"no_real_difference": "Answered: no difference that matters.",
            "cannot_tell": "Asked before: can't tell yet."}
    return said.get(past.verdict or "", f"Asked before: {past.trial}.")


def span(row: Ranked) -> str:
    """Return how long a plan takes, in weeks; days where they are no whole weeks and few."""
    if row.boxes is not None:
        return f"about {row.boxes:g} boxes, {weeks_words(row.weeks)}"
    if row.days and row.days % 7 and row.days < 28:
        return f"{row.days} days"
    return weeks_words((row.days or 7 * row.weeks) / 7)


def weeks_words(weeks: float) -> str:
    """Return a number of weeks: "4 weeks"."""
    n = round(weeks)
    return f"{n} week{'' if n == 1 else 's'}"


def burden(row: Ranked) -> str:
    """Return what a plan asks for, in plain words: reeds, changes of reed a day, days of breaking in."""
    said = [f"{row.reeds} reed{'' if row.reeds == 1 else 's'}", _changes(row.changes_a_day)]
    if row.break_in_days:
        said.append(f"{row.break_in_days} day{'' if row.break_in_days == 1 else 's'} to break them in first")
    return ", ".join(said)


def _changes(a_day: float) -> str:
    n = round(a_day)
    if n == 0:
        return "hardly a change of reed on a day" if a_day > 0.05 else "no change of reed on a day"
    return f"{n} change{'' if n == 1 else 's'} of reed on a day"
