"""Draw up a trial: from a question and the reeds at hand to a plan that can be frozen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

import pandas as pd

from ..errors import InputError
from ..questions import Question
from ..rows.tables import INSTRUMENTS, Frames
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Habit
from ..wording import tr
from ..worlds import World
from .by_day import lay_out_days
from .by_reed import lay_out_reeds
from .draft import Draft
from .marks import Marks
from .past_reeds import past_lives
from .usable import usable_reeds
from .wish import Wish, settle_design, settle_question, wish_for

__all__ = ["draw_up"]


def draw_up(
    question: str | Question, reeds: pd.DataFrame, *, start: date, seed: int, instrument: str,
    habits: Sequence[Habit] | None = None, design: str | None = None, outcome: str | None = None,
    days: int | None = None, matters: float | None = None, reeds_a_day: int | None = None,
    minutes_a_day: float = 60, cap_hours: float | None = None, expected: str | None = None,
    expected_gap: float | None = None, trial: str | None = None, setup: str | None = None, masked: str = "none",
    adjust: Sequence[str] | None = None, rating: str = "overall", reeds_in_trial: int | None = None,
    left_out: Iterable[str] = (), played: Iterable[str] = (), boxes: pd.DataFrame | None = None,
    world: World | None = None, simulations: int = 400, confirmed: bool = False,
    marks: Marks | None = None, compared: bool = True, read_early: bool = False, effect_days: int | None = None,
    past: Frames | None = None,
) -> Draft:
    """Draw up a trial that can give a fair answer, or refuse with the nearest one that can.

    Everything follows from the arguments and `seed`; nothing is read, written or remembered.

    Parameters
    ----------
    question : str or Question
        A key of `questions.CATALOGUE`, or a question (`own_question`).
    reeds : DataFrame
        The logbook's table of reeds. Reeds set aside are never dealt.
    start : date
        Day 1, after break-in unless break-in is the question.
    seed : int
        Stored with the plan: the deal and the order of the days can be repeated from it.
    instrument : str
        One of `tables.INSTRUMENTS`.
    habits : two Habit, optional
        The two ways in the player's own words.
    design : {"reed_by_reed", "day_by_day"}, optional
    outcome : str, optional
        A key of `outcomes.OUTCOMES` that the question allows.
    days : int, optional
        Length. Default: the question's, made longer where every reed would be rated too seldom.
    matters : float, optional
        Smallest difference that matters: points, points an hour, or a ratio of lives above 1.
    reeds_a_day : int, optional
        Rating slots a day of about 10 minutes each: 4, or as many as the minutes allow. Where the habit sets
        the hours it is not used.
    minutes_a_day : float
        Playing a day, all of it on the trial's reeds.
    cap_hours : float, optional
        Playing hours at which a reed is done, equal for both ways. Where the habit sets the hours there is
        always a cap (8 for wear, 20 for life: our assumption).
    expected : str, optional
        The key of the habit the player thinks better, or "same".
    expected_gap : float, optional
        By how much.
    trial : str, optional
        Name; default question and start.
    setup : str, optional
        The set-up (mouthpiece and ligature) used all through.
    masked : {"none", "helper"}
    adjust : sequence of str, optional
        What the analysis evens out; default the question's.
    rating : str
        Column of the sittings that is rated: overall, response, tone or stiffness. Back to back it is the preference,
        whatever is said here.
    reeds_in_trial : int, optional
        Day by day: how many reeds (default 4).
    left_out : iterable of str
        Reeds not to be dealt: retired, or kept for a concert.
    played : iterable of str
        Reeds played beyond their first play; left out where reeds must be new (break-in).
    boxes : DataFrame, optional
        The logbook's table of boxes: checks the instrument, and tells cuts apart.
    world : World, optional
        What is assumed of the player and the reeds in the simulation.
    simulations : int
        Simulated trials of the chosen layout (at least 100), for a first guess of its chance.
    confirmed : bool
        The player confirms that both ways keep reeds clean, dry and unshared (see `questions.check_habits`).
    marks : Marks, optional
        The words of the scale and the worn-out rule, where the player wants others than the usual.
    compared : bool
        False leaves out what other numbers of reeds a day would bring, day by day.
    read_early : bool
        The answer may be read on any day at no price (`analysis.shuffling.coin_odds`). Only a trial rated day by day
        can be; of any other nothing changes.
    effect_days : int, optional
        Where reeds have first one way, then the other (outcome "crossover"): for how many days a way goes on after it
        ends. Default the question's. So many days are not rated at the beginning of each half.
    past : Frames, optional
        The logbook, where earlier reeds of the same kind are to stand beside a comparison of lives (`past_reeds`). The
        forecast leaves them out.

    Returns
    -------
    Draft

    Raises
    ------
    PlanRefused
        The trial cannot give a fair answer; `code`, `reason` and `instead` say why and what can.
    InputError
        An argument is out of range or of the wrong kind.
    """
    asked = settle_question(question, habits, confirmed=confirmed)
    chosen, judged_by = settle_design(asked, design, outcome)
    _check_numbers(days, cap_hours, seed, simulations, instrument, rating, reeds_in_trial)
    if rating != "overall":  # the break-in was rated overall
        reeds = reeds.drop(columns="broken_in", errors="ignore")
    usable = usable_reeds(reeds, seed=seed, left_out={*left_out, *(played if asked.from_new else ())}, boxes=boxes,
                          instrument=instrument)
    wish = wish_for(
        asked, usable, design=design, outcome=outcome, matters=matters, days=days, reeds_a_day=reeds_a_day,
        minutes_a_day=minutes_a_day, cap_hours=cap_hours, adjust=adjust, seed=seed, simulations=simulations,
        world=world, reeds_in_trial=reeds_in_trial, boxes=boxes, masked=masked,
        effect_days=effect_days, fixed={
            "trial": trial or f"{asked.key} {start.isoformat()}", "instrument": instrument, "start": start,
            "rating": rating, "setup": setup, "expected": expected, "expected_gap": expected_gap, "masked": masked,
            **(Marks() if marks is None else marks).fields(),
            "read_early": read_early and chosen == "day_by_day" and not OUTCOMES[judged_by].pairs})
    draft = lay_out_days(wish, compared=compared) if wish.design == "day_by_day" else lay_out_reeds(wish)
    keys = [h.key for h in draft.protocol.habits]
    if expected not in (None, "same", *keys):
        raise InputError(tr("`expected` is {expected!r}, wanted one of: {keys}, same, or nothing.").format(
                             expected=expected, keys=", ".join(keys)))
    remarks = _remarks(wish, draft)
    before = () if past is None else past_lives(past, draft.protocol)
    if before:
        draft = replace(draft, protocol=replace(draft.protocol, past_lives=before))
        remarks = (*remarks, tr("{n} earlier reeds of the same kind tell how soon such reeds wear out. They count for "
                                "neither way.").format(n=len(before)))
    return replace(draft, remarks=remarks)


def _check_numbers(days: int | None, cap_hours: float | None, seed: int, simulations: int, instrument: str,
                   rating: str, reeds_in_trial: int | None) -> None:
    faults = []
    if days is not None and not 1 <= days <= 1000:
        faults.append(tr("`days` is {days}, wanted 1 to 1000").format(days=days))
    if cap_hours is not None and not 0 < cap_hours <= 500:
        faults.append(tr("most hours of a reed: {cap_hours}, wanted more than 0 and at most 500").format(
                          cap_hours=cap_hours))
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        faults.append(tr("`seed` is {seed!r}, wanted a whole number, 0 or more").format(seed=seed))
    if simulations < 100:
        faults.append(tr("`simulations` is {simulations}, wanted at least 100").format(simulations=simulations))
    if instrument not in INSTRUMENTS:
        faults.append(tr("`instrument` is {instrument!r}, wanted one of {instruments}").format(
                          instrument=instrument, instruments=", ".join(INSTRUMENTS)))
    if rating not in ("overall", "response", "tone", "stiffness", "preference"):
        faults.append(tr("`rating` is {rating!r}, wanted overall, response, tone or stiffness").format(rating=rating))
    if reeds_in_trial is not None and reeds_in_trial < 2:
        faults.append(tr("reeds in the trial: {reeds_in_trial}, wanted 2 or more").format(
                          reeds_in_trial=reeds_in_trial))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))


def _remarks(wish: Wish, draft: Draft) -> tuple[str, ...]:
    """Put what the plan can show first: it is the most useful thing to say before the start."""
    unit = OUTCOMES[wish.outcome].unit
    if wish.matters == 1:
        unit = unit.replace("points", "point", 1)
    size = (tr("the better way truly gives {matters:g} times the playing hours").format(
                matters=wish.matters) if wish.lives else
            tr("the two ways truly differ by {matters:g} {unit}").format(matters=wish.matters, unit=unit))
    times = round(100 * draft.chance)
    often = {0: tr("fewer than 1 time in 100"), 1: tr("about 1 time in 100")}.get(times, tr(
                "about {times} times in 100").format(times=times))
    out = [tr("If {size}, this plan finds the better way {often} (a first guess).").format(size=size, often=often)]
    if draft.chance < 0.5:
        out.append(tr("So it will more likely than not end with \"can't tell yet\"."))
        if wish.design == "reed_by_reed":
            out.append(tr("Asked day by day, this question would need fewer reeds.")
                       if "day_by_day" in wish.question.designs and not wish.lives else
                       tr("More reeds of one box, or more days, make a true difference easier to find."))
    worked = [r for r in wish.usable.worked_on if r in draft.protocol.reeds]
    if worked:
        out.append(tr("These reeds were worked on, which may hide a difference: {worked}.").format(
                       worked=", ".join(worked)))
    if wish.usable.set_aside:
        out.append(tr("Set aside and not dealt: {set_aside}.").format(set_aside=", ".join(wish.usable.set_aside)))
    return (*out, *draft.remarks)
