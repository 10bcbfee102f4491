"""From the logbook's frames to the answer: values blind to the habits, then the test, the verdict, the remarks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from ..rows.tables import Frames
from ..trial.arrays import BoolArray, FloatArray
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Protocol
from ..trial.result import Finding, Fragile, Remark, TrialResult
from .beside.also_seen import also_seen
from .beside.carry_over import carry_over
from .beside.expected_lives import expected_lives
from .beside.expected_reading import read_expected
from .beside.fragile import fragile_lives, fragile_points
from .beside.guesses import guesses_of
from .beside.opinions import Opinion, difference_opinions, lives_opinions, pair_opinions
from .beside.readings import all_readings
from .remarks.catalogue import REMARKS, remark
from .remarks.fairness import answer_remarks, look_remarks, uneven_remarks
from .remarks.leaning import LEANS_P, leaning_p
from .remarks.quality import kept_remarks, life_remarks, made_remarks, own_sittings, rating_remarks
from .shuffling.verdict import SAMENESS_P
from .standing_trial import read_standing
from .units.adjust import adjustments
from .units.blind import BlindTrial, blind
from .units.frames import points_frame, units_frame
from .units.left_out import counted, unrated_low
from .units.life_values import Lives, life_values
from .units.progress import progress_of
from .units.shares import AsDone, as_done, planned_share, share_by_cell, share_by_unit
from .units.unit_values import UnitValues, rating_values
from .verdicts.early_odds import EarlyOdds, early_odds
from .verdicts.findings import Reading, read_difference, read_lives
from .verdicts.held_back import bars_of, depth, held_one
from .verdicts.judge import judge_one, needed_p, repeat_p, same_margin, sameness_p, still_stand
from .verdicts.repeats import earlier_names
from .verdicts.scale_use import ScaleUse, ratings_used
from .verdicts.state import TrialState, state_of

__all__ = ["analyse"]


_NOT_YET = frozenset({"block_lost", "reeds_left_out", "half_squares", "window_short"})


@dataclass(frozen=True)
class _Read:
    """The main outcome read: exactly one of `values` and `lives` is there."""

    main: Reading
    as_done: Reading
    damage: Reading | None
    values: UnitValues | None
    lives: Lives | None


def analyse(
    protocol: Protocol, frames: Frames, *, today: date, open_early: bool = False, side_readings: bool = True,
    opinions: bool = True, only_remarks: bool = False,
) -> TrialResult:
    """Analyse one trial.

    Parameters
    ----------
    protocol : Protocol
        The frozen plan.
    frames : Frames
        All current rows of the logbook.
    today : date
        The day it is read on; rows after it do not count.
    open_early : bool
        Open a running trial on purpose. It costs: a winner is named only at p <= 0.001, sameness never.
    side_readings : bool
        False leaves out "also seen" and the second opinions, which decide nothing (for simulations).
    opinions : bool
        False leaves out the second opinions alone; they load large libraries.
    only_remarks : bool
        Leave out median lives and what would settle the question too: for a reader of the remarks alone.

    Returns
    -------
    TrialResult
        A standing trial is never sealed (`standing_trial`). Any other is while it runs: no finding, no unit or
        point, only remarks that tell nothing of the habits.
    """
    now = state_of(protocol, frames, today=today, open_early=open_early)
    if protocol.standing:
        return read_standing(protocol, frames, now, today=today, opinions=side_readings and opinions,
                             medians=not only_remarks)
    trial = now.trial
    done = as_done(protocol, frames, trial)
    progress = progress_of(trial, today=today, as_planned_share=done.share,
                           all_sittings=len(own_sittings(protocol, frames, trial)))
    layout = protocol.layout
    remarks = [*made_remarks(protocol, frames), *kept_remarks(protocol, frames, trial, done, today=today)]
    earlier = len(earlier_names(protocol, frames))
    alpha = needed_p(protocol.level, looks=0 if protocol.read_early else now.looks, early=now.early, earlier=earlier)
    odds = None
    if protocol.read_early and now.state not in ("running", "diary"):
        odds = _odds(protocol, now, done, today=today, alpha=repeat_p(protocol.level, earlier))
        alpha = odds.alpha if now.early else odds.left
    if earlier and now.state != "diary":
        remarks.append(remark("repeated", number=earlier + 1, p_needed=alpha))
    if now.state == "running":
        if not protocol.read_early:
            remarks += look_remarks("running", looks=now.looks, alpha=alpha,
                                    least_p=layout.least_p, day=progress.day, days=progress.days, why="")
        return TrialResult(protocol, protocol.sha256, now.state, progress, looks=now.looks,
                           remarks=tuple(r for r in remarks if REMARKS[r.code].sealed_ok))

    level = protocol.level if not (now.early or now.looks or earlier or odds) else 1 - alpha
    read_at = partial(_read, level=level, same_p=sameness_p(level if earlier else protocol.level))
    read = read_at(protocol, trial, done, medians=not only_remarks)
    scale_use = _scale_use(protocol, trial) if read.values is not None else None
    told = () if now.state == "diary" else counted(protocol, frames, trial, read.lives, today=today)
    leans = None
    if read.values is not None and protocol.design == "day_by_day" and not protocol.pairs:
        leans = float(leaning_p(read.values.cells.rating, read.values.cells.reed, read.values.cells.day))
    judged = partial(judge_one, matters=protocol.matters, alpha=alpha, early=now.early, hint=now.state == "diary",
                     finished=not now.unfinished, scale_use=scale_use, leans=leans is not None and leans <= LEANS_P,
                     stays=protocol.crossover)
    main, held = judged(read.main, read.as_done)
    by_odds = odds is not None and (now.early or (odds.named and main.verdict == "cannot_tell"))
    if odds is not None and by_odds:
        alpha = odds.alpha
        read = replace(read, main=odds.of(read.main), as_done=odds.of(read.as_done, as_done=True))
        main, held = judged(read.main, read.as_done, alpha=alpha, early=True)

    def falls(apart: FloatArray, which: npt.NDArray[np.intp]) -> BoolArray:
        if protocol.card.of_points and read.main.test is not None:
            return ~still_stand(read.main.test, np.array([main.verdict]), apart * depth(trial.cells().rating), which,
                                alpha=alpha, matters=same_margin(protocol), same_p=(1 - main.same_level) / 2)
        low = read_at(protocol, unrated_low(trial), done)
        return np.array([judged(low.main, low.as_done)[0].verdict != main.verdict])

    main, kind, uneven = held_one(main, told, protocol.dealt_b, protocol.blocks, bars_of(protocol), falls,
                                  seed=protocol.seed)
    held = kind or held

    remarks += _outcome_remarks(protocol, trial, read, scale_use)
    remarks += uneven_remarks(protocol, frames, trial, read.values, uneven)
    until = sum(d <= min(today, trial.until) for d in trial.calendar)
    told_odds = None if odds is None else odds.told(decides=by_odds)
    remarks += look_remarks(now.state, looks=now.looks, alpha=alpha, least_p=main.least_p, day=until,
                            days=progress.days, why=now.why, odds=told_odds)
    if now.unfinished:
        remarks.append(remark("stopped_before_cap", reeds=now.unfinished,
                              cap_hours=float(protocol.cap_hours or np.nan)))
    remarks += answer_remarks(protocol, main, read.as_done.finding, held=held, alpha=alpha, early=now.early,
                              planned_p=layout.least_p)
    if now.state == "opened_early":  # what has not been played yet is not lost
        remarks = [r for r in remarks if r.code not in _NOT_YET]

    if protocol.crossover and read.values is not None and read.main.test is not None:
        left = carry_over(protocol, read.values, read.main.used, level=level)
        remarks.append(remark("carry_over", estimate=left.estimate, low=left.low, high=left.high, p=left.p_value))
    arms = np.array(protocol.arms)
    share = share_by_unit(protocol, done)
    points = points_frame(protocol, trial, read.values, read.main.used)
    return TrialResult(
        protocol, protocol.sha256, now.state, progress, main=main, as_done=read.as_done.finding,
        damage_counts=None if read.damage is None else read.damage.finding,
        also_seen=also_seen(protocol, frames, trial) if side_readings else (),
        remarks=tuple(remarks), looks=now.looks,
        units=units_frame(protocol, trial, read.values, read.lives, read.main.used, share), points=points,
        second_opinion=_opinions(read, arms, points) if side_readings and opinions else (),
        readings=_readings(protocol, frames, read, main, level, now) if side_readings else (),
        fragile=_fragile(protocol, read, main, alpha) if side_readings and not by_odds else None,
        guesses=guesses_of(protocol, frames), uneven=uneven, leans=leans, on_the_way=told_odds)


def _odds(protocol: Protocol, now: TrialState, done: AsDone, *, today: date, alpha: float) -> EarlyOdds:
    values = rating_values(now.trial, protocol.outcome, adjustments(protocol))
    behind = sum(d < today and d <= now.trial.until for d in now.trial.calendar)
    return early_odds(protocol, values, done, until=behind, alpha=alpha, ended=not now.early)


def _fragile(protocol: Protocol, read: _Read, main: Finding, alpha: float) -> Fragile | None:
    if read.lives is not None:
        return fragile_lives(protocol, read.lives, read.main.used, main, alpha=alpha)
    assert read.values is not None
    return fragile_points(protocol, read.values, read.main.used, main, alpha=alpha)


def _readings(protocol: Protocol, frames: Frames, read: _Read, main: Finding, level: float,
              now: TrialState) -> tuple[Finding, ...]:
    def again(fewer: Frames) -> Reading:
        trial = blind(protocol, fewer, until=now.trial.until)
        return _read(protocol, trial, as_done(protocol, fewer, trial), level=level).main

    out = all_readings(
        protocol, frames, main, read.as_done.finding, None if read.damage is None else read.damage.finding,
        read.values, used=read.main.used, level=level, again=again)
    if read.lives is not None:
        expected = read_expected(protocol, expected_lives(now.trial, read.lives), level=level)
        if expected is not None and sum(expected.events or ()) < sum(expected.units):  # some are reckoned
            out += (expected,)
    return out


def _read(protocol: Protocol, trial: BlindTrial, done: AsDone, *, level: float, medians: bool = True,
          same_p: float = SAMENESS_P) -> _Read:
    outcome = protocol.outcome
    if protocol.card.lives:
        lives = life_values(trial, outcome)
        planned = read_lives(protocol, lives, reading="as_planned", level=level, medians=medians, same_p=same_p)
        as_done = read_lives(protocol, lives, reading="as_done", level=level, medians=medians,
                             share=share_by_unit(protocol, done), same_p=same_p)
        damage = read_lives(protocol, lives, reading="damage_counts", level=level, damage_counts=True,
                            medians=medians)
        return _Read(planned, as_done, damage, None, lives)
    values = rating_values(trial, outcome, adjustments(protocol))
    planned = read_difference(protocol, values, planned_share(protocol, values), reading="as_planned", level=level,
                              same_p=same_p)
    as_done = read_difference(protocol, values, share_by_cell(protocol, done, values), reading="as_done",
                              level=level, same_p=same_p)
    return _Read(planned, as_done, None, values, None)


def _scale_use(protocol: Protocol, trial: BlindTrial) -> ScaleUse:
    rows = trial.sittings[trial.sittings["rated"].to_numpy()]
    if protocol.design == "day_by_day":
        cells = {c for u in protocol.units for c in u.cells}
        keep = [c in cells for c in zip(rows["reed"], rows["day"], strict=True)]
        rows = rows[np.array(keep, dtype=bool)]
    return ratings_used(rows["rating"].to_numpy(), protocol.rating)


def _outcome_remarks(protocol: Protocol, trial: BlindTrial, read: _Read,
                     scale_use: ScaleUse | None) -> Iterator[Remark]:
    if read.lives is not None:
        yield from life_remarks(read.lives)
    elif read.values is not None and scale_use is not None:
        played = trial.hours
        hours = [float(played[[trial.place[r] for r in u.reeds]].max()) for u in protocol.units]
        made = adjustments(protocol)
        yield from rating_remarks(read.values, scale_use, hours, [a for a in protocol.adjust if a not in made],
                                  protocol.rating)


def _opinions(read: _Read, arms: npt.NDArray[np.str_], points: object) -> tuple[Opinion, ...]:
    if read.lives is not None:
        return lives_opinions(read.lives, read.main.used, arms)
    assert read.values is not None
    if OUTCOMES[read.values.outcome].pairs:
        return pair_opinions(2 * read.values.plain[read.main.used] * np.where(arms[read.main.used] == "B", 1, -1))
    table = points if OUTCOMES[read.values.outcome].of_points else None
    return difference_opinions(read.values, read.main.used, arms, table)  # type: ignore[arg-type]
