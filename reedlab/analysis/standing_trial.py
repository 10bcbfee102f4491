"""The answer of a standing trial: it may be read on any day, with nothing to pay and nothing sealed."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt
import pandas as pd

from ..rows.tables import Frames
from ..trial.arrays import FloatArray, IntArray
from ..trial.dealing import least_p
from ..trial.protocol import Protocol
from ..trial.result import Finding, Remark, StandingOdds, TrialResult, Uneven, Verdict
from .beside.guesses import guesses_of
from .beside.opinions import lives_opinions
from .remarks.catalogue import remark
from .remarks.fairness import knew_which, uneven_remarks
from .remarks.quality import kept_remarks, life_remarks, made_remarks, own_sittings
from .shuffling.always_valid import followed_verdict
from .shuffling.follow_lives import Stand, excluded, follow_lives, stands
from .units.blind import BlindTrial
from .units.frames import points_frame, units_frame
from .units.left_out import counted
from .units.life_tables import median_life
from .units.life_values import Lives, life_values
from .units.progress import progress_of
from .units.shares import as_done, share_by_unit
from .verdicts.held_back import bars_of, held_one
from .verdicts.judge import needed_p
from .verdicts.repeats import earlier_names
from .verdicts.state import TrialState

__all__ = ["read_standing"]

#: Ratios beyond what matters at which the reading as done must rule out a difference, too, before ways are called
#: alike; and nothing at all.
_BEYOND = (1.0, 1.1, 1.25, 1.5, 2.0, 3.0, 1e6)


def read_standing(protocol: Protocol, frames: Frames, now: TrialState, *, today: date, opinions: bool,
                  medians: bool = True) -> TrialResult:
    """Read a standing trial as it stands.

    Parameters
    ----------
    protocol : Protocol
        With the boxes opened so far.
    frames : Frames
    now : TrialState
        Where it stands on the day.
    today : date
    opinions : bool
        With the second opinions of familiar methods.
    medians : bool
        False leaves out the median lives, which decide nothing.

    Returns
    -------
    TrialResult
        `main` is there from the first day on; `odds` tells how it came about.

    Notes
    -----
    A winner is named once the odds have reached 1/(1 - level), read after each reed that came to its end; it stays
    named. So what counts is where the odds stand that day (`follow_lives(..., at_every_step=False)`). Earlier trials of
    the question that were judged by lives, too, ask for higher odds, as they ask for a smaller p elsewhere.
    """
    trial = now.trial
    done = as_done(protocol, frames, trial)
    lives = life_values(trial, protocol.outcome)
    earlier = len(earlier_names(protocol, frames))
    alpha = needed_p(protocol.level, looks=0, early=False, earlier=earlier)
    level = 1 - alpha
    is_b, blocks = protocol.dealt_b, protocol.blocks
    codes = pd.factorize(np.array(blocks, dtype=object))[0]  # in the order in which they were begun
    course = _course(trial, lives, is_b, codes, 1 / alpha)
    main = _finding(protocol, lives, level, course, damage=False, medians=medians)
    share = share_by_unit(protocol, done)
    main, held = _as_done(protocol, lives, main, share, is_b, codes, 1 / alpha)
    uneven: tuple[Uneven, ...] = ()
    remarks: list[Remark] = []
    if protocol.units:
        remarks += made_remarks(protocol, frames)
        told = counted(protocol, frames, trial, lives, today=today)
        main, _, uneven = held_one(main, told, is_b, blocks, bars_of(protocol),
                                   lambda _, at: np.ones(len(at), dtype=bool), seed=protocol.seed)
    remarks += kept_remarks(protocol, frames, trial, done, today=today)
    remarks += life_remarks(lives)
    if protocol.units:
        remarks += uneven_remarks(protocol, frames, trial, None, uneven)
    if held:
        remarks.append(remark("same_held_back", why=held))
    if earlier:
        remarks.append(remark("repeated", number=earlier + 1, p_needed=alpha))
    remarks += knew_which(protocol, main)
    used = lives.hours > 0
    progress = progress_of(trial, today=today, as_planned_share=done.share,
                           all_sittings=len(own_sittings(protocol, frames, trial)))
    damage = _finding(protocol, lives, level, (), damage=True, medians=medians)
    return TrialResult(
        protocol, protocol.sha256, now.state, progress, main=main, damage_counts=damage, remarks=tuple(remarks),
        units=units_frame(protocol, trial, None, lives, used, share), points=points_frame(protocol, trial, None, used),
        second_opinion=lives_opinions(lives, used, np.array(protocol.arms)) if opinions and _enough(main) else (),
        readings=(replace(main, verdict=None), damage), guesses=guesses_of(protocol, frames), uneven=uneven,
        odds=_odds(protocol, course, main, 1 / alpha))


def _enough(main: Finding) -> bool:
    return main.events is not None and min(main.units) > 0 and sum(main.events) > 0


def _course(trial: BlindTrial, lives: Lives, is_b: npt.NDArray[np.bool_], codes: IntArray,
            bar: float) -> tuple[Stand, ...]:
    """Return how the odds stood on each day on which a reed came to its end, and on the last day read."""
    place = {u.reeds[0]: i for i, u in enumerate(trial.units)}
    days: list[list[date]] = [[] for _ in trial.units]
    hours: list[list[float]] = [[] for _ in trial.units]
    for reed, on, after in zip(trial.sittings["reed"], trial.sittings["date"].dt.date, trial.sittings["hours_after"],
                               strict=True):
        days[place[reed]].append(on)
        hours[place[reed]].append(float(after))
    over = [_over(trial, u.reeds[0], days[i], hours[i], float(lives.hours[i]), bool(lives.worn_out[i]))
            for i, u in enumerate(trial.units)]
    dates = sorted({d for d, why in zip(over, lives.ended, strict=True) if why != "still_going"} | {trial.until})
    so_far = np.array([[_at(days[i], hours[i], d, float(lives.hours[i])) for i in range(len(days))] for d in dates])
    worn = np.array([[bool(w) and e <= d for w, e in zip(lives.worn_out, over, strict=True)] for d in dates])
    n = len(trial.units)
    return stands(dates, so_far.reshape(len(dates), n), worn.reshape(len(dates), n), is_b, codes, bar)


def _over(trial: BlindTrial, reed: str, days: list[date], hours: list[float], life: float, worn: bool) -> date:
    """Return the day on which a reed came to its end: by its ratings, or when it left."""
    left = trial.retired.get(reed)
    by_rule = worn and trial.worn_out_rule == "ratings"
    if left is not None and not by_rule:
        return left[0]
    return next((d for d, h in zip(days, hours, strict=True) if h >= life - 1e-9), trial.until)


def _at(days: list[date], hours: list[float], on: date, most: float) -> float:
    so_far = bisect_right(days, on)
    return min(most, hours[so_far - 1]) if so_far else 0.0


def _finding(protocol: Protocol, lives: Lives, level: float, course: tuple[Stand, ...], *, damage: bool,
             medians: bool) -> Finding:
    event = lives.worn_out | lives.damaged if damage else lives.worn_out
    here = lives.hours > 0
    groups = (here & ~protocol.dealt_b, here & protocol.dealt_b)
    count = protocol.layout.count
    means = tuple(median_life(lives.hours[m], event[m]) if medians and m.any() else math.nan for m in groups)
    make = partial(
        Finding, outcome=protocol.outcome, reading="damage_counts" if damage else "as_planned", scale="ratio",
        level=level, same_level=level, least_p=least_p(count), exact=True, arrangements=count,
        means=(means[0], means[1]))
    if not all(m.any() for m in groups):
        return make(estimate=math.nan, low=0.0, high=math.inf, low90=0.0, high90=math.inf, p_value=1.0, blocks=0,
                    units=(int(groups[0].sum()), int(groups[1].sum())), events=(0, 0),
                    verdict=None if damage else "cannot_tell")
    f = follow_lives(np.where(here, lives.hours, np.nan), event, protocol.arms, protocol.blocks, level=level,
                     at_every_step=False)
    low, high = f.low, f.high
    side: Verdict = course[-1].side if course else "cannot_tell"
    if side == "b_better":  # no difference was ruled out once, and stays so
        low = max(low, math.nextafter(1.0, 2.0))
    elif side == "a_better":
        high = min(high, math.nextafter(1.0, 0.0))
    m = protocol.matters
    verdict = None if damage else followed_verdict(side, low, high, 1 / m, m)
    near = {"b_better": low, "a_better": math.inf if high == 0 else 1 / high}.get(verdict or "")
    most = max([1.0, f.e_value, *(s.e_value for s in course)])
    return make(
        estimate=f.estimate, low=low, high=high, low90=low, high90=high, p_value=1 / most, units=f.units,
        blocks=f.blocks_used, blocks_dropped=f.dropped, events=f.events, verdict=verdict,
        exceeds=None if near is None else "surely" if near >= m - 1e-12 else "perhaps")


def _as_done(protocol: Protocol, lives: Lives, main: Finding, share: FloatArray, is_b: npt.NDArray[np.bool_],
             codes: IntArray, bar: float) -> tuple[Finding, str]:
    """Take sameness back where what was really done does not bear it out."""
    if main.verdict != "no_real_difference" or np.array_equal(share, is_b):
        return main, ""
    ratios = [x for k in _BEYOND for x in (protocol.matters * k, 1 / (protocol.matters * k))]
    if all(excluded(r, lives.hours, lives.worn_out, is_b, codes, bar, share=share) for r in ratios):
        return main, ""
    return replace(main, verdict="cannot_tell"), "as_done"


def _odds(protocol: Protocol, course: tuple[Stand, ...], main: Finding, bar: float) -> StandingOdds:
    boxes = {u.block.split(".")[0]: d for u, d in zip(reversed(protocol.units), reversed(protocol.since), strict=True)}
    named = next((s for s in course if s.side != "cannot_tell"), None)
    last = course[-1].e_value if course else 1.0
    return StandingOdds(e_value=last, bar=bar, most=max([1.0, *(s.e_value for s in course)]),
                course=tuple((s.on, s.e_value, s.ends) for s in course),
                boxes=tuple(sorted((int(b), d) for b, d in boxes.items())),
                named=None if named is None else named.on, settled=main.verdict not in (None, "cannot_tell"))
