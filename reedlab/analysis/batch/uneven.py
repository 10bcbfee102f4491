"""What is missing or given up by habit, for many trials at once: `analysis.remarks.uneven` for arrays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt

from ..remarks.uneven import CHOICE_BAR, GIVEN_UP, bars_of
from ..shuffling.deals import Deals
from ..shuffling.sums import tie_of
from ..units.blind import playing_hours
from .trials import BatchTrials

__all__ = ["Falls", "given_up_by_unit", "held_back", "missing_by_unit", "unrated_low"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int_]
BoolArray = npt.NDArray[np.bool_]
#: (how far the gap is to move in shares missing, which trials) -> whether their claims fall.
Falls = Callable[[FloatArray, IntArray], BoolArray]

_SLACK = 1e-12
_CLAIMS: Final = ("a_better", "b_better", "no_real_difference")


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
    if p.unit_kind != "sitting":  # a day without any rating
        _, code = np.unique(trials.day, return_inverse=True)
        on = (code[:, None] == np.arange(int(code.max()) + 1)).astype(float)
        due &= ((rated.astype(float) @ on) > 0)[:, code]
    member = (trials.unit[:, None] == np.arange(trials.dealt_b.shape[1])).astype(float)
    return (due & ~rated).astype(float) @ member, due.astype(float) @ member


def given_up_by_unit(trials: BatchTrials, worn_out: BoolArray | None = None) -> FloatArray:
    """Return 1 for each unit whose reed was given up by choice, (k, n); reed by reed.

    `worn_out` (k, n): of lives, the rule was met; a reed retired as worn out without it was given up.
    """
    place = {r: i for i, r in enumerate(trials.protocol.reeds)}
    why = trials.left_why[:, [place[u.reeds[0]] for u in trials.protocol.units]]
    gone = np.isin(why, GIVEN_UP)
    if worn_out is not None:
        gone = (gone | (why == "worn_out")) & ~worn_out
    return gone.astype(float)


def unrated_low(trials: BatchTrials) -> BatchTrials:
    """Return the trials with every unrated sitting rated below any mark."""
    return replace(trials, rating=np.where(trials.counted & np.isnan(trials.rating), -1.0, trials.rating))


def held_back(trials: BatchTrials, verdict: npt.NDArray[np.str_], falls: Falls, *, day: int | None = None,
              worn_out: BoolArray | None = None, sampling: dict[str, int | None]) -> BoolArray:
    """Return which of k claims are held back, (k,).

    Parameters
    ----------
    verdict : (k,) str
    falls : callable
        Given B's share missing less A's, and which trials: whether their claims fall if what is missing was low.
    day : int, optional
        Read at the end of this trial day.
    worn_out : (k, n) bool, optional
        Of lives.
    sampling
        For `Deals`.
    """
    out = np.zeros(len(trials), dtype=bool)
    missing, due = missing_by_unit(trials, day)
    is_b = trials.dealt_b
    share = [(missing * who).sum(axis=1) / np.maximum((due * who).sum(axis=1), 1) for who in (~is_b, is_b)]
    apart = share[1] - share[0]
    bars = bars_of(trials.protocol)
    at = _claims(verdict, missing)
    p = _p_more(trials, missing / np.maximum(due, 1), verdict, at, sampling)
    at, p = at[bars.may(p)], p[bars.may(p)]
    if len(at):
        out[at] = bars.holds(p, (missing.sum(axis=1) / due.sum(axis=1))[at], falls(apart[at], at))
    if trials.protocol.design == "reed_by_reed":
        gone = given_up_by_unit(trials, worn_out)
        at = _claims(verdict, gone)
        out[at[_p_more(trials, gone, verdict, at, sampling) <= CHOICE_BAR + _SLACK]] = True
    return out


def _claims(verdict: npt.NDArray[np.str_], share: FloatArray) -> IntArray:
    """Return the trials with a claim, in which there is anything to compare."""
    return np.flatnonzero(np.isin(verdict, _CLAIMS) & share.any(axis=1))


def _p_more(trials: BatchTrials, share: FloatArray, verdict: npt.NDArray[np.str_], at: IntArray,
            sampling: dict[str, int | None]) -> FloatArray:
    """Return the one-sided p that the winner's way has more; of sameness the two-sided one."""
    if not len(at):
        return np.zeros(0)
    is_b = trials.dealt_b[at]
    deals = Deals.whole(is_b, [u.block for u in trials.protocol.units], **sampling)
    rows = np.arange(len(at))
    u = deals.centred(share[at], rows)
    upper, lower = deals.tails(u, deals.observed(u, rows), tie_of(u, share[at]), rows)
    said = verdict[at]
    either = np.minimum(1.0, 2 * np.minimum(upper, lower))
    out: FloatArray = np.where(said == "b_better", upper, np.where(said == "a_better", lower, either))
    return out
