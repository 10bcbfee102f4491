"""Scores for lives, and where B's scaled times cross A's. Arrays only."""

from __future__ import annotations

import numpy as np

from ...trial.arrays import BoolArray, FloatArray

__all__ = ["critical_ratios", "evaluation_points", "limit_ratios", "meeting_ratios", "merged", "recensored",
           "score_tie", "scores", "times_at"]

# Times, as logarithms, this close are equal; genuine ratios of playing times lie much further apart
# (in whole minutes up to 100 hours more than 1e-8), rounding much closer (about 1e-15).
_SAME = 2.5e-12
_MERGE = 1e-11
_FARTHEST = np.log(1e6)  # a limit is not followed to ratios beyond
_FARTHEST_MET = np.log(1000.0)  # ratios beyond are not told apart from no end


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


def times_at(hours: FloatArray, worn_out: BoolArray, share: FloatArray, log_ratios: FloatArray,
             watched: FloatArray | None = None) -> tuple[FloatArray, BoolArray]:
    """Return log times, and who wears out, once times, censored ones too, are divided by ratio ** share: (r, n) each.

    `share` (n,) is 1 for B and 0 for A, or the share of a unit's sittings on B. With `watched` (n,) times are read
    up to the limit that all could have been seen to (`recensored`).
    """
    log_ratio = log_ratios[:, None]
    log_t = np.log(hours)[None, :] - log_ratio * share
    if watched is None:
        return log_t, np.broadcast_to(worn_out, log_t.shape)
    return recensored(log_t, worn_out, np.log(watched), log_ratio)


def recensored(log_t: FloatArray, worn_out: BoolArray, log_watched: FloatArray,
               log_ratio: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return scaled times, and who is seen to wear out, up to the time at which either habit could have been seen.

    A unit watched for L hours shows what its life would have been with habit A up to L if it was dealt A, and up to
    L / ratio if it was dealt B. Read up to the smaller of the two, whatever its habit, it looks the same however it
    was dealt, if the ratio is the true one: the reshuffling test is exact at every ratio, not only at 1. Times are
    cut off so before the scores are taken. Source: artificial censoring in Robins & Tsiatis 1991, Commun. Stat.
    Theory Methods 20, 2609-2631; White, Babiker, Walker & Darbyshire 1999, Stat. Med. 18, 2617-2634 (both from
    memory).

    `log_t` (k, n), `worn_out` (n,) or (k, n), `log_watched` (n,) or (k, n), `log_ratio` (k, 1) or (1, 1).
    """
    limit = log_watched - np.maximum(log_ratio, 0.0)
    seen: BoolArray = worn_out & (log_t <= limit + _SAME)
    return np.minimum(log_t, limit), seen


def critical_ratios(hours: FloatArray, worn_out: BoolArray, is_b: BoolArray) -> FloatArray:
    """Return the sorted ratios t_B / t_A at which an order of scores can change, once each.

    Two censored times may cross without a change.
    """
    a, b = np.flatnonzero(~is_b), np.flatnonzero(is_b)
    matter = worn_out[b][:, None] | worn_out[a][None, :]
    ratio: FloatArray = (hours[b][:, None] / hours[a][None, :])[matter]
    return merged(ratio)


def meeting_ratios(hours: FloatArray, worn_out: BoolArray, share: FloatArray) -> FloatArray:
    """Return the sorted ratios at which two scaled lives meet, one of them at least worn out."""
    i, j = np.triu_indices(len(hours), k=1)
    apart = share[i] - share[j]
    matter = (np.abs(apart) > 1e-12) & (worn_out[i] | worn_out[j])
    i, j, apart = i[matter], j[matter], apart[matter]
    where = (np.log(hours[i]) - np.log(hours[j])) / apart
    return merged(np.exp(where[np.abs(where) < _FARTHEST_MET]))


def limit_ratios(hours: FloatArray, worn_out: BoolArray, share: FloatArray, watched: FloatArray) -> FloatArray:
    """Return the ratios at which a worn-out life meets the limit to which some unit is read (`recensored`)."""
    t, s = np.log(hours[worn_out])[:, None], share[worn_out][:, None]
    limit = np.unique(np.log(watched[np.isfinite(watched)]))[None, :]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        up, down = (limit - t) / (1 - s), (t - limit) / s  # above 1 the limit is L / ratio, below 1 it is L
    met = np.concatenate([up[(up >= 0) & np.isfinite(up)], down[(down <= 0) & np.isfinite(down)]])
    return np.exp(met[np.abs(met) < _FARTHEST])


def merged(ratios: FloatArray) -> FloatArray:
    """Return ratios sorted, once each; those equal but for rounding are one."""
    ratios = np.sort(ratios)
    return ratios[np.r_[True, np.diff(np.log(ratios)) > _MERGE]] if ratios.size else ratios


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
