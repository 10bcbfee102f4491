"""Scores for lives, and where B's scaled times cross A's. Arrays only."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..dealing import BoolArray
from .sums import FloatArray

__all__ = ["critical_ratios", "evaluation_points", "score_tie", "scores", "scores_at"]

# Times, as logarithms, this close are equal; genuine ratios of playing times lie much further apart
# (in whole minutes up to 100 hours more than 1e-8), rounding much closer (about 1e-15).
_SAME = 2.5e-12
_MERGE = 1e-11


def scores(log_hours: FloatArray, worn_out: BoolArray) -> FloatArray:
    """Return worn_out − Σ over distinct event times t <= own time of d(t)/n(t), row by row.

    The martingale residual of the empty Cox model (Breslow 1974), pooled over all units of a row.

    Parameters
    ----------
    log_hours : (k, n) float
    worn_out : (n,) or (k, n) bool

    Returns
    -------
    (k, n) float
        Each row sums to 0.
    """
    k, n = log_hours.shape
    order = np.argsort(log_hours, axis=1, kind="stable")
    t = np.take_along_axis(log_hours, order, axis=1)
    e = np.take_along_axis(np.broadcast_to(worn_out, (k, n)), order, axis=1).astype(float)
    place = np.arange(n)
    starts = np.ones((k, n), dtype=bool)
    starts[:, 1:] = np.diff(t, axis=1) > _SAME
    first = np.maximum.accumulate(np.where(starts, place, 0), axis=1)  # where a tied group starts
    ends = np.ones((k, n), dtype=bool)
    ends[:, :-1] = starts[:, 1:]
    last = np.minimum.accumulate(np.where(ends, place, n)[:, ::-1], axis=1)[:, ::-1]
    wear = np.take_along_axis(np.cumsum(e / (n - first), axis=1), last, axis=1)
    out = np.empty((k, n))
    np.put_along_axis(out, order, e - wear, axis=1)
    return out


def score_tie(scored: FloatArray) -> FloatArray:
    """Return how close two sums of scores must be to count as equal: 1e-9·max(1, Σ|score|), (k, n) -> (k,)."""
    out: FloatArray = 1e-9 * np.maximum(1.0, np.abs(scored).sum(axis=1))
    return out


def scores_at(hours: FloatArray, worn_out: BoolArray, share: FloatArray,
              ratios: npt.ArrayLike) -> FloatArray:
    """Return the scores once times, censored ones too, are divided by ratio ** share: (len(ratios), n).

    `share` (n,) is 1 for B and 0 for A, or the share of a unit's sittings on B.
    """
    shift = np.log(np.asarray(ratios, dtype=float))[:, None] * share
    return scores(np.log(hours)[None, :] - shift, worn_out)


def critical_ratios(hours: FloatArray, worn_out: BoolArray, is_b: BoolArray) -> FloatArray:
    """Return the sorted ratios t_B / t_A at which an order of scores can change, once each.

    Two censored times may cross without a change.
    """
    a, b = np.flatnonzero(~is_b), np.flatnonzero(is_b)
    matter = worn_out[b][:, None] | worn_out[a][None, :]
    ratio = np.sort((hours[b][:, None] / hours[a][None, :])[matter])
    if ratio.size == 0:
        return ratio
    return ratio[np.r_[True, np.diff(np.log(ratio)) > _MERGE]]


def evaluation_points(critical: FloatArray) -> FloatArray:
    """Return ratios that stand for every step: below, at, between, ... and above the critical ones.

    Odd positions are the critical ratios themselves, even ones the open stretches around them.
    """
    if critical.size == 0:
        return np.ones(1)
    out = np.empty(2 * critical.size + 1)
    out[1::2] = critical
    out[2:-1:2] = np.sqrt(critical[:-1] * critical[1:])
    out[0], out[-1] = critical[0] / 2, critical[-1] * 2
    return out
