"""Lives of many trials at once: `analysis.units.life_values` for arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...trial.calendar import runs_until_done
from ..units.blind import playing_hours
from ..units.life_values import rule_index, watched_hours
from .trials import BatchTrials

__all__ = ["BatchLives", "batch_lives"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class BatchLives:
    """Lives of n units in k trials, all (k, n) in the order of the plan's units.

    `hours`, `worn_out` and `done` as in `life_values.Lives`. `unfinished` (k,) marks trials that must run until
    every reed is done and were stopped sooner; `all_done` (k,) those in which every reed is. `watched` as in `Lives`.
    """

    hours: FloatArray
    worn_out: BoolArray
    done: BoolArray
    unfinished: BoolArray
    all_done: BoolArray
    watched: FloatArray | None


def batch_lives(trials: BatchTrials) -> BatchLives:
    """Return the playing hours until worn out, or while good, by the plan's rule."""
    p = trials.protocol
    place = {r: i for i, r in enumerate(p.reeds)}
    _, after = playing_hours(trials.reed, trials.minutes)
    k, n = len(trials), len(p.units)
    reeds = [place[u.reeds[0]] for u in p.units]
    reasons = trials.left_why[:, reeds]
    hours, met = np.zeros((k, n)), np.zeros((k, n), dtype=bool)
    sittings = [np.flatnonzero(trials.reed == r) for r in reeds]
    for i, mine in enumerate(sittings):
        if len(mine):
            hours[:, i] = after[:, mine[-1]]
    # the rule reads the overall rating, whatever the plan rates besides
    if p.ends_by_ratings and p.rating == "overall" and any(len(s) for s in sittings):
        index = rule_index(_by_reed(np.where(trials.counted, trials.rating, np.nan), sittings), p.life_mark, p.in_a_row)
        met = index >= 0
        for i, mine in enumerate(sittings):
            at = np.flatnonzero(met[:, i])
            if len(at):
                hours[at, i] = after[at, mine[index[at, i]]]
    if p.worn_out_rule == "player":
        met |= reasons == "worn_out"
    if p.cap_hours is not None:
        past = hours > p.cap_hours
        met &= ~past
        hours = np.where(past, p.cap_hours, hours)
        reasons = np.where(past, "still_going", reasons)
        capped = hours >= p.cap_hours - 1e-9
    else:
        capped = np.zeros((k, n), dtype=bool)
    going = ~met & (reasons == "still_going")
    watched = watched_hours(hours, going, [u.block for u in p.units], same_days=p.same_days, cap_hours=p.cap_hours)
    done = met | (reasons != "still_going") | capped
    all_done = done.all(axis=1)
    return BatchLives(hours, met, done, ~all_done & runs_until_done(p), all_done,
                      None if watched is None else np.atleast_2d(watched))


def _by_reed(ratings: FloatArray, sittings: list[npt.NDArray[np.int_]]) -> FloatArray:
    """Return ratings (k, s) as (k, reeds, sittings of a reed), nan beyond a reed's last."""
    longest = max(len(s) for s in sittings)
    # sittings first in memory: the rule walks along them
    out = np.full((longest, len(ratings), len(sittings)), np.nan)
    for i, mine in enumerate(sittings):
        out[:len(mine), :, i] = ratings[:, mine].T
    return np.moveaxis(out, 0, -1)
