"""What a player's reeds can settle, and what was answered before: for the plan page and the command line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from ..analysis.beside.guesses import to_ask
from ..analysis.verdicts.state import state_of
from ..plan.means import means_of
from ..plan.ranking import Ranking, rank
from ..rows.tables import Frames
from ..schedule import minutes_a_day as usual_minutes
from ..screens.questions import past_words
from ..trial.practice import value

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["past_answers", "settle"]


def settle(frames: Frames, today: date, *, minutes_a_day: float | None = None, weeks: int = 8,
           questions: Sequence[str] | None = None, progress: bool | Callable[[int], object] = False) -> Ranking:
    """Rank what a player can settle, as the logbook stands; minutes are those of the player's week unless given."""
    if minutes_a_day is None:
        minutes_a_day = usual_minutes(frames) or value("usual_practice_min")
    return rank(means_of(frames, today, minutes_a_day=minutes_a_day, weeks=weeks), questions=questions,
                progress=progress)


def past_answers(logbook: Logbook, today: date, *, read: bool = True) -> dict[str, str]:
    """Return in words how the last trial of each question ended. A running one stays sealed, and guesses come first.

    Where they are not to be `read`, which takes its time, that it was asked before is all that is said.
    """
    from .read_trial import read_trial

    frames = logbook.frames()
    last = {plan.question: plan for plan in logbook.protocols(frames).values() if plan.how_dealt != "not"}
    out = {}
    for question, plan in last.items():
        state = state_of(plan, frames, today=today, open_early=False).state
        if not read or state == "running" or to_ask(plan, frames, state):
            out[question] = past_words(plan.trial, running=state == "running")
            continue
        found = read_trial(logbook, plan.trial, today=today, opinions=False).result.main
        verdict = None if found is None else found.verdict
        winner = {"a_better": plan.habits[0].name, "b_better": plan.habits[1].name}.get(verdict or "", "")
        out[question] = past_words(plan.trial, verdict=verdict, winner=winner)
    return out
