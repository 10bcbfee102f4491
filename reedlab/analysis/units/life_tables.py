"""Descriptive life tables: Kaplan-Meier, median, log-rank, restricted mean.

A second opinion beside the randomisation test; nothing here decides. Computed with statsmodels.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...errors import InputError
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...wording import tr

__all__ = ["LogRank", "life_table", "log_rank", "median_life", "restricted_mean"]


@dataclass(frozen=True)
class LogRank:
    """Log-rank chi-square on one degree of freedom and its p."""

    chi_square: float
    p_value: float


def life_table(hours: npt.ArrayLike, worn_out: npt.ArrayLike) -> pd.DataFrame:
    """Return the Kaplan-Meier table of one habit.

    Parameters
    ----------
    hours : (n,) float, above 0
    worn_out : (n,) bool
        False: still going, or left for another reason.

    Returns
    -------
    DataFrame
        One row per time at which a unit wore out: hours, at_risk, worn_out, share (still going), se
        (Greenwood). Empty where none wore out.
    """
    from statsmodels.duration.survfunc import SurvfuncRight

    t, e = _lives(hours, worn_out)
    if not e.any():
        return pd.DataFrame({"hours": [], "at_risk": [], "worn_out": [], "share": [], "se": []}, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):  # Greenwood's term is 0/0 once none is left
        km = SurvfuncRight(t, e.astype(int))
    seen = km.n_events > 0
    return pd.DataFrame({"hours": km.surv_times[seen], "at_risk": km.n_risk[seen].astype(float),
                         "worn_out": km.n_events[seen].astype(float), "share": km.surv_prob[seen],
                         "se": km.surv_prob_se[seen]})


def median_life(hours: npt.ArrayLike, worn_out: npt.ArrayLike) -> float:
    """Return the Kaplan-Meier median life; nan where more than half are still going at the end.

    The first time at which the share still going is half or less; where it is exactly half over a
    stretch, the middle of that stretch (as R's survival does).
    """
    table = life_table(hours, worn_out)
    below = table[table["share"] <= 0.5 + 1e-12]
    if below.empty:
        return float("nan")
    first = below.iloc[0]
    if abs(first["share"] - 0.5) <= 1e-12 and len(below) > 1:
        return float((first["hours"] + below.iloc[1]["hours"]) / 2)
    return float(first["hours"])


def restricted_mean(hours: npt.ArrayLike, worn_out: npt.ArrayLike, upto: float) -> float:
    """Return the mean life up to a limit: the area under the Kaplan-Meier curve.

    Raises
    ------
    InputError
        The last unit was lost sight of before it, so the curve does not reach.
    """
    t, e = _lives(hours, worn_out)
    table = life_table(t, e)
    if t.max() < upto and (table.empty or table["share"].iloc[-1] > 1e-12):
        raise InputError(tr("`upto` is {upto:g} but no unit was watched beyond {max:g}; choose less.").format(
                             upto=upto, max=t.max()))
    table = table[table["hours"] < upto]
    edges = np.r_[0.0, table["hours"].to_numpy(), upto]
    return float((np.diff(edges) * np.r_[1.0, table["share"].to_numpy()]).sum())


def log_rank(hours: npt.ArrayLike, worn_out: npt.ArrayLike, arm: npt.ArrayLike) -> LogRank:
    """Return the log-rank test of two habits.

    nan where no unit wore out while both habits were at risk, or all that were left wore out at once.
    """
    from statsmodels.duration.survfunc import survdiff

    t, e = _lives(hours, worn_out)
    groups = pd.factorize(np.asarray(arm), sort=True)[0]
    if not _informative(t, e, groups):
        return LogRank(float("nan"), float("nan"))
    chi, p = survdiff(t, e.astype(int), groups)
    return LogRank(float(chi), float(p))


def _lives(hours: npt.ArrayLike, worn_out: npt.ArrayLike) -> tuple[FloatArray, BoolArray]:
    return np.asarray(hours, dtype=float), np.asarray(worn_out, dtype=bool)


def _informative(t: FloatArray, e: BoolArray, b: IntArray) -> bool:
    both = min(t[b == 0].max(), t[b == 1].max())
    # where all that are left end at once, one habit says no more than the other
    return any((t > at).any() or (~e & (t == at)).any() for at in t[e] if at <= both)
