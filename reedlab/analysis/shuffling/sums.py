"""Sums of chosen columns, block means taken off, and how close two sums must be to count as equal. Arrays only."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ...trial.arrays import FloatArray
from ...trial.dealing import Layout

__all__ = ["block_centred", "outer_sums", "subset_sums", "tie_of"]


_TIE: Final = 1e-9
_ROUNDING: Final = 4 * np.finfo(float).eps  # of what was given: digits that a large common level has cost


def tie_of(centred: FloatArray, raw: FloatArray) -> FloatArray:
    """Return how close two sums must be to count as equal, (k, n) and (k, n) -> (k,).

    1e-9·max(1, Σ|centred|): the level that all units share tells nothing of a difference, so adding a number to
    every outcome moves no tie. The second part is what rounding to 16 digits did to the outcomes as given.
    """
    out: FloatArray = np.maximum(_TIE * np.maximum(1.0, np.abs(centred).sum(axis=1)),
                                 _ROUNDING * np.abs(raw).sum(axis=1))
    return out


def outer_sums(one: FloatArray, two: FloatArray) -> FloatArray:
    """Return every sum of one column of each, (m, a) and (m, b) -> (m, b·a)."""
    # the long axis last: the inner loop of the addition is long
    return (two[:, :, None] + one[:, None, :]).reshape(len(one), -1)


def subset_sums(values: FloatArray, k: int) -> FloatArray:
    """Sums of every k-subset of the columns, (m, s) -> (m, C(s, k)), grown one column at a time."""
    m, s = values.shape
    if 2 * k > s:
        return values.sum(axis=1, keepdims=True) - subset_sums(values, s - k)
    if k == 0:
        return np.zeros((m, 1))
    if k == 1:
        return values
    # grown[j] holds the sums of j-subsets that can still grow to k
    grown = [np.zeros((m, 1)), *(np.empty((m, math.comb(s - k + j, j))) for j in range(1, k + 1))]
    filled = [1] + [0] * k
    for i in range(s):
        for j in range(min(k, i + 1), 0, -1):
            if i > s - k + j - 1:
                continue
            new = filled[j - 1]
            np.add(grown[j - 1][:, :new], values[:, i, None], out=grown[j][:, filled[j]:filled[j] + new])
            filled[j] += new
    return grown[k]


def block_centred(values: FloatArray, layout: Layout) -> FloatArray:
    """Return values minus their block's mean, (k, n) -> (k, n)."""
    out = values.copy()
    for members in layout.members:
        out[:, members] -= values[:, members].mean(axis=1, keepdims=True)
    return out
