"""Lives of many trials at once: `analysis.life_values` for arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..blind import playing_hours, runs_until_done
from ..life_values import rule_index
from .trials import BatchTrials

__all__ = ["BatchLives", "batch_lives"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class BatchLives:
    """Lives of n units in k trials, all (k, n) in the order of the plan's units.

    `hours`, `worn_out` and `done` as in `life_values.Lives`. `unfinished` (k,) marks trials that must run until
    every reed is done and were stopped sooner; `all_done` (k,) those in which every reed is.
    """

    hours: FloatArray
    worn_out: BoolArray
    done: BoolArray
    unfinished: BoolArray
    all_done: BoolArray


def batch_lives(trials: BatchTrials) -> BatchLives:
    """Return the playing hours until worn out, or while good, by the plan's rule."""
    p = trials.protocol
    good = p.outcome == "good_hours"
    below = p.good_below if good else p.worn_out_below
    by_ratings = good or p.worn_out_rule == "ratings"
    place = {r: i for i, r in enumerate(p.reeds)}
    _, after = playing_hours(trials.reed, trials.minutes)
    # the rule reads the overall rating, whatever the plan rates besides
    ratings = np.where(trials.counted, trials.rating, np.nan) if p.rating == "overall" else None
    k, n = len(trials), len(p.units)
    hours, met = np.zeros((k, n)), np.zeros((k, n), dtype=bool)
    rows = np.arange(k)
    reasons = np.full((k, n), "still_going", dtype="U16")
    for i, unit in enumerate(p.units):
        reed = place[unit.reeds[0]]
        mine = np.flatnonzero(trials.reed == reed)
        reasons[:, i] = trials.left_why[:, reed]
        if not len(mine):
            continue
        total = after[:, mine[-1]]
        at = total
        if by_ratings and ratings is not None:
            index = rule_index(ratings[:, mine], below, p.in_a_row)
            met[:, i] = index >= 0
            at = np.where(index >= 0, after[rows, mine[np.maximum(index, 0)]], total)
        hours[:, i] = at
    if p.worn_out_rule == "player":
        met |= ~met & (reasons == "worn_out")
    if p.cap_hours is not None:
        past = hours > p.cap_hours
        met &= ~past
        hours = np.where(past, p.cap_hours, hours)
        reasons = np.where(past, "still_going", reasons)
        capped = hours >= p.cap_hours - 1e-9
    else:
        capped = np.zeros((k, n), dtype=bool)
    done = met | (reasons != "still_going") | capped
    all_done = done.all(axis=1)
    return BatchLives(hours, met, done, ~all_done & runs_until_done(p), all_done)
