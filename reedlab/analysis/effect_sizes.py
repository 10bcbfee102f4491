"""Sizes of a gap that stand beside the answer: Hedges' g and the default Bayes factor. NumPy alone.

Kept here and not asked of a library that loads two plotting libraries for it; the tests hold both against pingouin.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["bayes_factor", "hedges_g"]

FloatArray = npt.NDArray[np.float64]

_SCALE: Final = 0.707  # of the Cauchy prior on the effect: the usual "medium" one
_LOG_G: Final = np.linspace(-30.0, 60.0, 9001)


def hedges_g(a: FloatArray, b: FloatArray, *, paired: bool) -> float:
    """Return how far B's mean is from A's in standard deviations, corrected for few values.

    Parameters
    ----------
    a, b : (n,), (m,) float
    paired : bool
        The standard deviation is the root mean square of both; else the pooled one.

    References
    ----------
    .. [1] Hedges & Olkin, Statistical Methods for Meta-Analysis, 1985; the correction 1 - 3 / (4 (n + m) - 9).
    """
    n, m = len(a), len(b)
    squares = (a.var(ddof=1), b.var(ddof=1))
    spread = math.sqrt(sum(squares) / 2 if paired else ((n - 1) * squares[0] + (m - 1) * squares[1]) / (n + m - 2))
    return float((b.mean() - a.mean()) / spread * (1 - 3 / (4 * (n + m) - 9)))


def bayes_factor(t: float, pairs: float, freedom: float) -> float:
    """Return how much likelier t is with some gap than with none, under the default (JZS) prior on the effect.

    Parameters
    ----------
    t : float
        Statistic of the t test.
    pairs : float
        Number of pairs; for two groups n m / (n + m).
    freedom : float
        Degrees of freedom.

    References
    ----------
    .. [1] Rouder, Speckman, Sun, Morey & Iverson 2009, Psychonomic Bulletin & Review 16, 225-237, equation 1, with
       the scale of the prior as in their r.
    """
    g = np.exp(_LOG_G)  # the integral over g, on a logarithmic scale, where it falls off fast at both ends
    wide = 1 + pairs * g * _SCALE**2
    log_h1 = (-0.5 * np.log(wide) - (freedom + 1) / 2 * np.log1p(t * t / (wide * freedom))
              - 0.5 * math.log(2 * math.pi) - 0.5 * _LOG_G - 1 / (2 * g))  # g^(-3/2) times dg = g d(log g)
    log_h0 = -(freedom + 1) / 2 * math.log1p(t * t / freedom)
    return float(np.sum(np.exp(log_h1 - log_h0)) * (_LOG_G[1] - _LOG_G[0]))
