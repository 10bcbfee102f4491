"""Spreads held toward defaults: the best guess when the data are thin. Arrays only.

The prior says that the logarithm of a player's spread lies about that of the default with standard deviation
`prior_sd`; the data speak through the REML likelihood. The peak of the two together is found by Fisher
scoring, which needs nothing beyond what `split_variance` computes (Harville 1977, JASA 72, 320-338, for
the likelihood and its information).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .variance_parts import Part, Parts, split_variance

__all__ = ["Held", "hold_spreads"]

_Floats = NDArray[np.floating]


@dataclass(frozen=True)
class Held:
    """Held spreads in the order of `parts.names` (noise last).

    `error` is the standard error of log(sd) that is left; `weight` = 1 - (error / prior sd)² is the share
    of the data in the answer. `parts` are the unheld estimates with the held ones as weights.
    """

    sd: _Floats
    error: _Floats
    weight: _Floats
    parts: Parts
    rounds: int


def hold_spreads(y: _Floats, x: _Floats, blocks: Sequence[_Floats], parts: Sequence[Part],
                 default_sd: Sequence[float], prior_sd: float, *, rounding: float = 0.0) -> Held:
    """Estimate spreads, held toward the defaults.

    Parameters
    ----------
    y, x, blocks, parts
        As for `split_variance`.
    default_sd : sequence of float
        Default spreads of the parts, in their order, then of the noise; all above 0.
    prior_sd : float
        Spread of log(sd) between players.
    rounding : float
        Variance that rounding adds to the noise; the noise's sd is without it.
    """
    start = np.log(np.asarray(default_sd, dtype=float))
    log_sd, added = start.copy(), np.zeros(len(start))
    added[-1] = rounding
    precision = np.eye(len(start)) / prior_sd**2
    rounds, step = 0, np.ones(1)
    while True:
        variance = np.exp(2 * log_sd)
        result = split_variance(y, x, blocks, parts, (variance + added).tolist())
        slope = 2 * variance  # of the variance on log(sd)
        gradient = 0.5 * slope * (result.expected @ (result.variance - variance - added))
        information = 0.5 * np.outer(slope, slope) * result.expected
        if float(np.abs(step).max()) < 1e-4 or rounds >= 40:
            break
        step = np.linalg.solve(information + precision, gradient - (log_sd - start) / prior_sd**2)
        step = np.clip(step, -0.7, 0.7) * (1.0 if rounds < 10 else 0.5)
        log_sd = log_sd + step
        rounds += 1
    error = np.sqrt(np.diag(np.linalg.inv(information + precision)))
    return Held(np.exp(log_sd), error, np.clip(1 - (error / prior_sd) ** 2, 0, 1), result, rounds)
