"""What is missing or given up in simulated trials, unit by unit, as `units.left_out` counts it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...trial.arrays import BoolArray, FloatArray
from ..units.blind import playing_hours
from ..units.left_out import GIVEN_UP, in_halves, missing_and_due, unit_groups
from .trials import BatchTrials

__all__ = ["given_up_by_unit", "missing_by_unit", "unrated_low"]



def missing_by_unit(trials: BatchTrials, day: int | None = None) -> tuple[FloatArray, FloatArray]:
    """Return ratings missing and ratings due of each unit, (k, n) each, read at the end of a trial day."""
    p = trials.protocol
    rated = np.isfinite(trials.scores) & (trials.unit >= 0)
    left = trials.left_day[:, trials.reed]
    due = (trials.unit >= 0) & ((left == 0) | (trials.day <= left))
    if p.cap_hours is not None:
        due &= playing_hours(trials.reed, trials.minutes)[0] < p.cap_hours - 1e-6
    if day is not None:
        due &= (trials.day < day) | ((trials.day == day) & rated)
    rated &= due
    group, n = unit_groups(p.halves, trials.unit, trials.day, trials.dealt_b.shape[1])
    return missing_and_due(due, rated, group, trials.day, n, by_day=p.unit_kind == "sitting")


def given_up_by_unit(trials: BatchTrials, worn_out: BoolArray | None = None) -> FloatArray:
    """Return 1 for each unit whose reed was given up by choice, (k, n), or (k, 2n) in halves; reed by reed.

    `worn_out` (k, n): of lives, the rule was met; a reed retired as worn out without it was given up.
    """
    place = {r: i for i, r in enumerate(trials.protocol.reeds)}
    of = [place[u.reeds[0]] for u in trials.protocol.units]
    why = trials.left_why[:, of]
    gone = np.isin(why, GIVEN_UP)
    if trials.protocol.halves is not None:
        return in_halves(gone, trials.protocol.halves.second(trials.left_day[:, of])).astype(float)
    if worn_out is not None:
        gone = (gone | (why == "worn_out")) & ~worn_out
    return gone.astype(float)


def unrated_low(trials: BatchTrials) -> BatchTrials:
    """Return the trials with every unrated sitting rated below any mark."""
    return replace(trials, rating=np.where(trials.counted & np.isnan(trials.rating), -1.0, trials.rating))
