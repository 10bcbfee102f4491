"""From a logbook with an old diary to a hint, and to the fair trial that would settle it. Nothing is written."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from ..analysis.trial import analyse
from ..analysis.units.first_plays import played_beyond_first
from ..plan.advice import advise
from ..plan.at_hand import reeds_at_hand
from ..plan.fair_trial import diary_frames, diary_question_of, old_diary
from ..plan.imagined import box_of_new_reeds
from ..plan.look_ahead import LOOK_TRIALS
from ..plan.own_world import world_for
from ..questions import Question
from ..rows.tables import Frames
from ..summary.old_diary import DiaryAnswer, diary_answer

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["read_diary"]

_SEED: Final = 1
_LEAST_MINUTES: Final = 10
#: What the player's spreads are: how reeds, days and the ear vary.
_SPREADS: Final = ("box_sd", "reed_sd", "wear_sd", "mood_sd", "taste_sd", "noise_sd")


def read_diary(
    logbook: Logbook, question: str | None = None, *, today: date, life: bool = False, lasts: bool = True,
    trials: int = LOOK_TRIALS, step: Callable[[int], None] | None = None,
) -> DiaryAnswer:
    """Read the entries of a logbook that belong to no trial as an old diary.

    Parameters
    ----------
    logbook : Logbook
        An open logbook; it is only read.
    question : str, optional
        Key of the catalogue, "own" for the two ways that the diary names. If not given: the question whose ways
        are there, else "own".
    today : date
        The day it is read on, and the first on which the fair trial could start.
    life : bool
        Compare playing hours until worn out; else ratings.
    lasts : bool
        For "own": the effect may still be there the next day.
    trials : int
        Simulated trials of each plan that is weighed.
    step : callable, optional
        Told how many of them were played.

    Returns
    -------
    DiaryAnswer
        The hint and the advice. The player and the reeds of the advice come from the logbook as far as it goes.

    Raises
    ------
    InputError
        There is nothing to compare, or too little.
    PlanRefused
        There is no such question, or a way can make ill.
    """
    frames = logbook.frames()
    diary = old_diary(frames, question, today=today, life=life, lasts=lasts)
    plan = diary.protocol
    result = analyse(plan, diary_frames(diary, frames, today=today), today=today, side_readings=False)
    world, own = world_for(frames)
    asked = diary_question_of(diary, lasts=lasts)
    reeds = _at_hand(frames, plan.instrument, asked, today)
    imagined = not len(reeds)
    if imagined:
        reeds = box_of_new_reeds("new", world, _SEED)
    more: dict[str, Any] = {} if imagined else {"boxes": frames.boxes}
    minutes = max(float(_LEAST_MINUTES), 5 * round(world.minutes_a_day / 5))  # in fives
    plans = advise(
        asked, reeds, minutes_a_day=minutes, days_limit=asked.days[asked.outcome_for(asked.design)],
        start=today, seed=_SEED, instrument=plan.instrument, world=world, trials=trials, step=step,
        played=played_beyond_first(frames), outcome=plan.outcome if life else None, **more)
    return diary_answer(diary, result, plans, imagined=imagined, ratings=own.ratings, reeds=own.reeds,
                        told=any(own[name].weight > 0 for name in _SPREADS))


def _at_hand(frames: Frames, instrument: str, question: Question, today: date) -> pd.DataFrame:
    """Return the reeds that a trial of a question could take."""
    free = reeds_at_hand(frames, today, instrument)
    return free[~free["reed"].isin(played_beyond_first(frames))] if question.from_new else free
