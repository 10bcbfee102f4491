"""What these lives can reach: the smallest p that any way to deal them could give."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .life_scores import score_tie

__all__ = ["reachable_p"]


def reachable_p(scores: FloatArray, is_b: BoolArray, members: Sequence[IntArray],
                used: BoolArray | None = None) -> FloatArray:
    """Return the smallest two-sided p that any dealing of these lives could give, trial by trial.

    The plan's own smallest p, 2 / arrangements, takes outcomes that can be told apart. Few worn-out lives cannot:
    reeds that outlived them all have one score, and every way to deal those among themselves gives the same sum.

    Parameters
    ----------
    scores : (k, n) float
        At ratio 1, fixed; 0 where not used.
    is_b : (k, n) bool
        Says how many B's each block holds.
    members : sequence of (m,) int
        The units of each block.
    used : (k, n) bool or None
        The units that count; None: all.

    Returns
    -------
    (k,) float
        2·M / N, at most 1: N is the number of arrangements, M the number that share the most extreme sum, on the
        side where fewer do.

    Notes
    -----
    The highest sum takes each block's highest scores, so it is shared by the ways to choose among the scores tied
    at the edge, block by block; the lowest likewise. Any other sum has larger tails on both sides.
    """
    used = np.ones(scores.shape, dtype=bool) if used is None else used
    tie = score_tie(scores)[:, None]
    most, least, every = np.zeros((3, len(scores)))
    for m in members:
        here, n = used[:, m], used[:, m].sum(axis=1)
        n_b = (here & is_b[:, m]).sum(axis=1)
        low = np.sort(np.where(here, scores[:, m], np.inf), axis=1)
        high = -np.sort(np.where(here, -scores[:, m], np.inf), axis=1)
        every += _log_ways(n, n_b)
        least += _shared(low, n_b, tie, 1.0)
        most += _shared(high, n_b, tie, -1.0)
    out: FloatArray = np.minimum(1.0, 2 * np.exp(np.minimum(most, least) - every))
    return out


def _shared(ranked: FloatArray, n_b: IntArray, tie: FloatArray, side: float) -> FloatArray:
    """Return the logarithm of how many choices of the first `n_b` ranked scores have the same sum."""
    edge = np.take_along_axis(ranked, np.maximum(n_b - 1, 0)[:, None], axis=1)
    with np.errstate(invalid="ignore"):  # no unit left: infinite less infinite, never counted
        beyond = side * (ranked - edge)
    tied, before = (np.abs(beyond) <= tie).sum(axis=1), (beyond < -tie).sum(axis=1)
    return np.where(n_b > 0, _log_ways(tied, n_b - before), 0.0)


def _log_ways(n: npt.ArrayLike, k: npt.ArrayLike) -> FloatArray:
    from scipy.special import gammaln

    n, k = np.asarray(n, dtype=float), np.asarray(k, dtype=float)
    out: FloatArray = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return out
