"""Draw up a standing trial: it goes on until it is settled, and deals each box as it is opened."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import pandas as pd

from ..errors import InputError, PlanRefused
from ..questions import Question
from ..rows.tables import INSTRUMENTS
from ..trial.opened_boxes import deal_rows, opening, with_boxes
from ..trial.protocol import STANDING, Habit, Protocol
from ..wording import tr
from .marks import Marks
from .usable import Usable, usable_reeds
from .wish import settle_mask, settle_question

__all__ = ["NO_END", "StandingDraft", "can_stand", "draw_up_standing", "question_that_stands", "reeds_to_deal"]

#: Days that a plan without an end is read for: ten years.
NO_END: Final = 3660
OUTCOME: Final = "life_hours"
FEWEST: Final = 4  # reeds of a box worth dealing: our assumption


@dataclass(frozen=True)
class StandingDraft:
    """A standing trial that is not started yet.

    `protocol` is ready to be frozen, with the boxes dealt at the start; `set_aside` are reeds of these boxes that
    were not dealt; `remarks` plain sentences for the player.
    """

    protocol: Protocol
    set_aside: tuple[str, ...]
    remarks: tuple[str, ...]


def can_stand(question: Question) -> bool:
    """Say whether a question can be asked by a standing trial: of lives, each reed keeping to one way."""
    return OUTCOME in question.outcomes and "reed_by_reed" in question.designs


def question_that_stands(question: str | Question, habits: Sequence[Habit] | None = None, *,
                         confirmed: bool = False) -> Question:
    """Return a question, of the catalogue by its key; PlanRefused where there is none or it cannot stand."""
    asked = settle_question(question, habits, confirmed=confirmed)
    if not can_stand(asked):
        raise PlanRefused(tr("This question is not asked of how long reeds last, so it has an end."),
                          tr("Ask it day by day: two weeks can be enough."), "not_standing")
    return asked


def reeds_to_deal(reeds: pd.DataFrame, box: str, *, seed: int, left_out: Iterable[str] = (),
                  boxes: pd.DataFrame | None = None, instrument: str | None = None) -> Usable:
    """Return the reeds of a box that can be dealt, best first play first, and what was left out.

    Reeds set aside and those `left_out` (retired, or dealt already) are not among them. What first play leaves even
    is put in order by the seed.

    Raises
    ------
    PlanRefused
        The box is for another instrument, or has fewer than four such reeds.
    """
    found = usable_reeds(reeds[reeds["box"] == box], seed=seed, left_out=left_out, boxes=boxes, instrument=instrument)
    if len(found.table) < FEWEST:
        raise PlanRefused(
            tr("Box {box} has {n} reeds that can be dealt.").format(box=box, n=len(found.table)),
            tr("Deal a box with at least {fewest} reeds that are new and not set aside. Write down each reed "
               "first.").format(fewest=FEWEST),
            "too_few_reeds")
    return found


def draw_up_standing(
    question: str | Question, reeds: pd.DataFrame, *, start: date, seed: int, instrument: str,
    deal: Sequence[str] = (), habits: Sequence[Habit] | None = None, matters: float | None = None,
    expected: str | None = None, expected_gap: float | None = None, trial: str | None = None, setup: str | None = None,
    masked: str = "none", sets: str = "box", left_out: Iterable[str] = (), played: Iterable[str] = (),
    boxes: pd.DataFrame | None = None, confirmed: bool = False, marks: Marks | None = None,
) -> StandingDraft:
    """Draw up a standing trial, or refuse with the reason.

    Everything follows from the arguments and `seed`. What it can show is `plan.standing_outlook`.

    Parameters
    ----------
    question : str or Question
        One that can be asked of lives, reed by reed.
    reeds : DataFrame
        The logbook's table of reeds.
    start : date
    seed : int
        Frozen with the plan: it deals every box, now and later.
    instrument : str
    deal : sequence of str
        The boxes to deal on the first day, in order; none is needed.
    habits : two Habit, optional
    matters : float, optional
        Smallest ratio of lives that matters, above 1.
    expected, expected_gap, trial, setup, masked, boxes, confirmed
        As in `draw_up`.
    sets : {"box", "fours"}
        Each box one matched set, or fours by first play. One set settles sooner (`tests/benchmarks/standing.py`).
    left_out, played : iterable of str
        Reeds not to be dealt: retired ones, and those played beyond their first play.
    marks : Marks, optional
        The words of the scale and the worn-out rule. Default: worn out is what the player says it is, so that no
        rating is needed.

    Raises
    ------
    PlanRefused, InputError
    """
    asked = question_that_stands(question, habits, confirmed=confirmed)
    settle_mask(asked, masked)
    if instrument not in INSTRUMENTS:
        raise InputError(tr("`instrument` is {instrument!r}, wanted one of {names}.").format(
                             instrument=instrument, names=', '.join(INSTRUMENTS)))
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise InputError(tr("`seed` is {seed!r}, wanted a whole number, 0 or more.").format(seed=seed))
    if sets not in STANDING:
        raise InputError(tr("`sets` is {sets!r}, wanted one of {names}.").format(
                             sets=sets, names=', '.join(STANDING)))
    size = asked.matters[OUTCOME] if matters is None else matters
    if not size > 1:
        raise InputError(tr("`matters` is {size!r}; the smallest ratio of lives that matters must be more than "
                            "1.").format(size=size))
    keys = [h.key for h in asked.habits]
    if expected not in (None, "same", *keys):
        raise InputError(tr("`expected` is {expected!r}, wanted one of: {names}, same, or nothing.").format(
                             expected=expected, names=', '.join(keys)))
    marks = Marks(worn_out_rule="player") if marks is None else marks
    plan = Protocol(
        trial=trial or tr("{question} from {date}").format(question=asked.key, date=start.isoformat()),
        question=asked.key, ask=asked.ask_for(OUTCOME),
        instrument=instrument, habits=asked.habits, design="reed_by_reed", outcome=OUTCOME, matters=float(size),
        start=start, days=NO_END, units=(), dealt=(), seed=seed, setup=setup, same_days=asked.same_days,
        from_new=asked.from_new, expected=expected, expected_gap=expected_gap, masked=masked,
        overrides=asked.overrides, standing=sets, **marks.fields())
    out = {*left_out, *played}
    aside: list[str] = []
    for box in deal:
        found = reeds_to_deal(reeds, box, seed=seed, left_out=out, boxes=boxes, instrument=instrument)
        plan = with_boxes(plan, [*deal_rows(plan), *opening(plan, found.reeds, start)])
        aside += found.set_aside
    return StandingDraft(plan, tuple(aside), tuple(_remarks(plan, marks, aside)))


def _remarks(plan: Protocol, marks: Marks, aside: Sequence[str]) -> Iterable[str]:
    if plan.ends_by_ratings:
        yield (tr("A reed counts as worn out once {in_a_row} ratings in a row lie below {worn_out_below:g}. So "
                  "rate each reed now and then as it fades.").format(
                   in_a_row=marks.in_a_row, worn_out_below=marks.worn_out_below))
    else:
        yield (tr("A reed counts as worn out when you say so. You know its way, so decide now how you will tell, "
                  "and do it alike for both ways."))
    if plan.same_days:
        yield tr("Play the reeds of both ways about equally, as you need them. No rating is asked for.")
    if aside:
        yield tr("Set aside and not dealt: {names}.").format(names=', '.join(aside))
