"""Sums over the units dealt B, for every way the plan could have dealt them.

With w = n_A·n_B/(n_A+n_B) in each block, Σ w·(mean_B − mean_A) equals the sum, over the units dealt B,
of their distance from their block's mean. So one sum per arrangement is all a test needs, and the sums
over all arrangements are outer sums over blocks: no arrangement is ever written out.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Final

import numpy as np

from ...trial.dealing import BoolArray, IntArray, Layout, draw_from
from .halves import Halves
from .sums import FloatArray, outer_sums, subset_sums

__all__ = ["DEFAULT_SEED", "EXACT_LIMIT", "SAMPLES", "Shuffles"]

#: Up to this many arrangements all are counted; it takes about a second.
EXACT_LIMIT: Final = 2**22
#: Beyond it, this many are drawn.
SAMPLES: Final = 100_000
#: Used when no seed is given, so that the same data always give the same answer.
DEFAULT_SEED: Final = 1935
_FEW = 100  # units up to which draws are made as deals are
_CELLS = 4_000_000  # numbers held at once


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
        self._drawn: BoolArray | None = None  # (n, size)
        self._rough: BoolArray | None = None
        if not self.exact:
            draws = _draws(layout, samples, DEFAULT_SEED if seed is None else seed)
            self._drawn = np.hstack([observed[:, None], draws])
        self.size = self.total if self._drawn is None else self._drawn.shape[1]

    @cached_property
    def halves(self) -> Halves:
        """The arrangements in two halves, where all are counted."""
        return Halves(self.layout)

    @property
    def steps(self) -> int:
        """About how many numbers one count of the tails goes through."""
        return self.halves.width if self._drawn is None else self._drawn.size

    def sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units dealt B, (k, n) -> (k, size); the order is always the same."""
        if self._drawn is not None:
            return np.hstack([values @ part for part in self._parts(self._drawn)])
        out = np.zeros((len(values), 1))
        for members, k in zip(self.layout.members, self.layout.n_b, strict=True):
            out = outer_sums(out, subset_sums(values[:, members], k))
        return out

    def observed_sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units that were dealt B, (k, n) -> (k,)."""
        return values[:, self.observed].sum(axis=1)

    def tails(self, values: FloatArray, tie: FloatArray) -> tuple[IntArray, IntArray]:
        """Count the arrangements at least as high, and at least as low, as the observed one: (k,) each.

        `tie` (k,) says how close a sum must be to count as equal.
        """
        if self._drawn is None:
            return self.halves.tails(values, self.observed_sums(values), tie)
        return self._drawn_tails(values, tie, self._drawn)

    def rough_tails(self, values: FloatArray, tie: FloatArray, draws: int) -> tuple[IntArray, IntArray]:
        """Count in a few draws only: the first of those that are counted, where arrangements are drawn."""
        drawn = self._drawn[:, 1:] if self._drawn is not None else self._few(draws)
        return self._drawn_tails(values, tie, drawn[:, :draws])

    def _few(self, draws: int) -> BoolArray:
        if self._rough is None:
            self._rough = _draws(self.layout, draws, DEFAULT_SEED)
        return self._rough

    def _drawn_tails(self, values: FloatArray, tie: FloatArray, drawn: BoolArray) -> tuple[IntArray, IntArray]:
        observed = self.observed_sums(values)
        upper, lower = np.zeros(len(values), dtype=np.intp), np.zeros(len(values), dtype=np.intp)
        for part in self._parts(drawn, len(values)):
            sums = values @ part
            upper += np.count_nonzero(sums >= (observed - tie)[:, None], axis=1)
            lower += np.count_nonzero(sums <= (observed + tie)[:, None], axis=1)
        return upper, lower

    @staticmethod
    def _parts(drawn: BoolArray, rows: int = 1) -> Iterator[FloatArray]:
        step = max(1, _CELLS // max(len(drawn), rows))
        for start in range(0, drawn.shape[1], step):
            yield drawn[:, start:start + step].astype(float)


def _draws(layout: Layout, draws: int, seed: int) -> BoolArray:
    """Return allowed arrangements, independent and equally likely, (n, draws); the same seed gives the same."""
    if layout.units <= _FEW:
        return np.ascontiguousarray(draw_from(layout, draws, seed).T)
    rng = np.random.Generator(np.random.PCG64(seed))
    out = np.zeros((layout.units, draws), dtype=bool)
    for members, k in zip(layout.members, layout.n_b, strict=True):
        left = np.full(draws, k)  # B's still to be dealt in this block
        for i, unit in enumerate(members):
            out[unit] = rng.random(draws) * (len(members) - i) < left
            left -= out[unit]
    return out
