"""Does a rating lean on the reed's rating before? Blind to the habits; one trial or many.

A player who rates a reed by what it got last time pulls its days together, and a gap from day to day goes under. What
is left of the ratings once each day's mean and each reed's own slow course are taken away is compared with itself
one sitting before. Against it stand all orders of the reed's sittings, equally likely (Wald and Wolfowitz 1943, Ann.
Math. Stat. 14, 378-388; from memory): mean and variance of the sum of products are exact, its shape taken as normal.
The course is a straight line, and bends where a reed has 16 sittings or more: a slow drift is no leaning.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from ...trial.arrays import FloatArray, IntArray

__all__ = ["LEANS_P", "leaning_p", "leaning_sums", "p_of_sums"]


#: Sameness is held back at this one-sided p: by simulation about 1 in 25 sound claims is lost by it.
LEANS_P: Final = 0.03
_FEWEST = 5  # rated sittings of a reed
_BENDS = 16


def leaning_p(ratings: npt.ArrayLike, reed: npt.ArrayLike, day: npt.ArrayLike) -> FloatArray:
    """Return the one-sided p that ratings lean on the one before.

    Parameters
    ----------
    ratings : (..., s) float
        In playing order; nan where not rated.
    reed, day : (s,) int

    Returns
    -------
    (...,) float; 1 where no reed has five ratings.
    """
    above, var = leaning_sums(ratings, reed, day)
    return p_of_sums(above, var).reshape(np.shape(ratings)[:-1])


def p_of_sums(above: npt.ArrayLike, var: npt.ArrayLike) -> FloatArray:
    """Return the p of `leaning_sums`, which may be added up over trials first."""
    v = np.asarray(var, dtype=float)
    some = v > 1e-12
    out: FloatArray = np.where(some, ndtr(-np.asarray(above) / np.sqrt(np.where(some, v, 1.0))), 1.0)
    return out


def leaning_sums(ratings: npt.ArrayLike, reed: npt.ArrayLike, day: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return how far the sum of products lies above its mean over all orders, and its variance, (k,) each."""
    y = np.array(ratings, dtype=float, ndmin=2)
    of, on = np.asarray(reed), np.asarray(day)
    y = _less_days(y, on)
    above, var = np.zeros(len(y)), np.zeros(len(y))
    for r in np.unique(of):
        t, mean, v = _products(y[:, of == r])
        above += t - mean
        var += v
    return above, var


def _less_days(y: FloatArray, day: IntArray) -> FloatArray:
    """Take each day's mean away where two or more reeds were rated on it."""
    _, code = np.unique(day, return_inverse=True)
    on = (code[:, None] == np.arange(int(code.max(initial=0)) + 1)).astype(float)
    known = np.isfinite(y)
    count = known.astype(float) @ on
    mean = np.where(count > 1, (np.where(known, y, 0.0) @ on) / np.maximum(count, 1), 0.0)
    out: FloatArray = y - mean[:, code]
    return out


def _products(y: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the sum of products of neighbours of one reed, and its mean and variance over all orders, (k,) each."""
    missing = np.isnan(y)
    n = (~missing).sum(axis=1)
    e = np.take_along_axis(y, np.argsort(missing, axis=1, kind="stable"), axis=1)
    place = np.arange(y.shape[1])
    here = (place < n[:, None]) & (n >= _FEWEST)[:, None]
    size = np.maximum(n, 2).astype(float)
    e = np.where(here, e, 0.0)
    e = np.where(here, e - (e.sum(axis=1) / size)[:, None], 0.0)
    line = np.where(here, 2 * place / (size - 1)[:, None] - 1, 0.0)
    bend = np.where(here, line**2 - ((line**2).sum(axis=1) / size)[:, None], 0.0) * (n >= _BENDS)[:, None]
    for shape in (line, bend):
        across = (shape**2).sum(axis=1)
        e = e - shape * ((e * shape).sum(axis=1) / np.where(across > 0, across, 1.0))[:, None]
    two, four = (e**2).sum(axis=1), (e**4).sum(axis=1)
    square = (two**2 - four) / size + (two**2 - 2 * four) / (size * (size - 1))
    return (e[:, 1:] * e[:, :-1]).sum(axis=1), -two / size, np.maximum(square - (two / size) ** 2, 0.0)
