"""How much players differ: the random-effects view of several gaps, each with its standard error. Arrays only.

The between-player spread by Paule and Mandel (1982) and by DerSimonian and Laird (1986), from statsmodels;
the mean's range by Hartung and Knapp (2001), never narrower than the plain one; the range for one more
player by Higgins, Thompson and Spiegelhalter (2009).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...trial.arrays import FloatArray
from ..shuffling.life_scan import Scan

__all__ = ["Between", "between", "gap_error", "ratio_error"]



@dataclass(frozen=True)
class Between:
    """Mean gap, spreads and ranges. `new_low`, `new_high` are nan with fewer than three gaps."""

    mean: float
    error: float
    low: float
    high: float
    tau: float
    tau_dl: float
    q: float
    q_p: float
    new_low: float
    new_high: float


def between(gaps: npt.ArrayLike, errors: npt.ArrayLike, *, level: float = 0.95) -> Between:
    """Combine gaps that may truly differ.

    Parameters
    ----------
    gaps : (k,) float
        Two or more: one gap per player or trial (logarithms, for ratios).
    errors : (k,) float, above 0
        Their standard errors.
    level : float
        Of the ranges.

    """
    from scipy import stats
    from statsmodels.stats.meta_analysis import combine_effects

    y, s = np.asarray(gaps, dtype=float), np.asarray(errors, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):  # gaps without any spread: its I-squared has no value
        pm = combine_effects(y, s**2, method_re="iterated")
        dl = combine_effects(y, s**2, method_re="chi2")
    k = len(y)
    tau2 = max(0.0, float(pm.tau2))
    weight = 1 / (s**2 + tau2)
    mean = float(weight @ y / weight.sum())
    scale = float(weight @ (y - mean) ** 2 / (k - 1))
    error = math.sqrt(max(1.0, scale) / weight.sum())
    reach = float(stats.t.ppf(0.5 + level / 2, k - 1)) * error
    new = math.nan if k < 3 else float(stats.t.ppf(0.5 + level / 2, k - 2)) * math.sqrt(tau2 + error**2)
    q = float(pm.q)
    return Between(mean, error, mean - reach, mean + reach, math.sqrt(tau2),
                   math.sqrt(max(0.0, float(dl.tau2))), q, float(stats.chi2.sf(q, k - 1)), mean - new, mean + new)


def gap_error(values: FloatArray, effect: FloatArray, is_b: npt.NDArray[np.bool_], block: npt.NDArray[np.intp],
              gap: float) -> float:
    """Return the standard error of a trial's gap: what shuffling alone does to it, once the gap is taken out.

    The variance of the statistic over all arrangements at d = `gap`, over its slope in d; times f/(f-1) for
    the gap that was fitted, f the free comparisons within blocks. For pairs this is the error of the paired
    mean, for one block that of two samples with a common variance. nan where it cannot be had.
    """
    left = values - gap * effect
    spread, slope, free = 0.0, 0.0, 0
    for b in np.unique(block):
        mine = block == b
        n, n_b = int(mine.sum()), int(is_b[mine].sum())
        u, v = left[mine] - left[mine].mean(), effect[mine] - effect[mine].mean()
        spread += n_b * (n - n_b) / (n * (n - 1)) * float(u @ u)
        slope += float(v[is_b[mine]].sum())
        free += n - 1
    if free < 2 or abs(slope) < 1e-12 or not math.isfinite(gap):
        return math.nan
    return math.sqrt(spread * free / (free - 1)) / abs(slope)


def ratio_error(scan: Scan, ratio: float) -> float:
    """Return the standard error of the logarithm of a ratio of lives.

    Half the distance between the ratios at which the statistic lies one standard deviation (over all
    arrangements) below and above its mean; where it reaches only one of them, the distance from the ratio
    itself. Unlike the ends of the 95 % range it is there for small trials too, so that what has an error is
    not only what has a clear gap. nan where it cannot be had.
    """
    if not 0 < ratio < math.inf:
        return math.nan
    # where lives are read up to a common end of watching, ratios beyond the span have too little left to go by
    at = np.arange(scan.span[0], scan.span[1] + 1) if scan.watched is not None else np.arange(len(scan.points))
    points, z = scan.points[at], scan.standing(at)[1]
    below, above = np.flatnonzero(z <= -1 + 1e-9), np.flatnonzero(z >= 1 - 1e-9)
    low = math.log(points[below[-1]]) if below.size else math.nan
    high = math.log(points[above[0]]) if above.size else math.nan
    if below.size and above.size:
        return max(0.0, high - low) / 2 or math.nan
    away = abs((low if below.size else high) - math.log(ratio))
    return away if away > 0 else math.nan
