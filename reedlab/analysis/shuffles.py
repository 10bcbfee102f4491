"""Sums over the units dealt B, for every way the plan could have dealt them.

With w = n_A·n_B/(n_A+n_B) in each block, Σ w·(mean_B − mean_A) equals the sum, over the units dealt B,
of their distance from their block's mean. So one sum per arrangement is all a test needs, and the sums
over all arrangements are outer sums over blocks: no arrangement is ever written out.
"""

from __future__ import annotations

import math
from typing import Final, TypeAlias

import numpy as np
import numpy.typing as npt

from ..dealing import BoolArray, Layout, draw_from

__all__ = ["DEFAULT_SEED", "EXACT_LIMIT", "SAMPLES", "FloatArray", "Shuffles", "block_centred", "subset_sums", "tie_of"]

FloatArray: TypeAlias = npt.NDArray[np.float64]

#: Up to this many arrangements all are counted; it takes about a second.
EXACT_LIMIT: Final = 2**22
#: Beyond it, this many are drawn.
SAMPLES: Final = 100_000
#: Used when no seed is given, so that the same data always give the same answer.
DEFAULT_SEED: Final = 1935


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


class Shuffles:
    """The arrangements a test runs through: all of them, or the observed one and a fixed draw.

    Parameters
    ----------
    layout : Layout
        Blocks and how many B's each holds.
    observed : (n,) bool
        The arrangement that was dealt.
    limit, samples, seed
        Above `limit` arrangements, `samples` are drawn with `seed` and the observed one is added.
    """

    def __init__(self, layout: Layout, observed: BoolArray, *, limit: int = EXACT_LIMIT,
                 samples: int = SAMPLES, seed: int | None = None) -> None:
        self.layout = layout
        self.observed = observed
        self.total = layout.count
        self.exact = self.total <= limit
        self._drawn: FloatArray | None = None
        if not self.exact:
            draws = draw_from(layout, samples, DEFAULT_SEED if seed is None else seed)
            self._drawn = np.vstack([observed[None, :], draws]).astype(float).T
        self.size = self.total if self._drawn is None else self._drawn.shape[1]

    def sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units dealt B, (k, n) -> (k, size); the order is always the same."""
        if self._drawn is not None:
            return values @ self._drawn
        out = np.zeros((len(values), 1))
        for members, k in zip(self.layout.members, self.layout.n_b, strict=True):
            ways = subset_sums(values[:, members], k)
            # the long axis last: the inner loop of the addition is long
            out = (ways[:, :, None] + out[:, None, :]).reshape(len(values), -1)
        return out

    def observed_sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units that were dealt B, (k, n) -> (k,)."""
        return values[:, self.observed].sum(axis=1)


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
    grown = [np.zeros((m, math.comb(s - k + j, j))) for j in range(k + 1)]
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
