"""Sums over the units dealt B, for every way the plan could have dealt them.

With w = n_A·n_B/(n_A+n_B) in each block, Σ w·(mean_B − mean_A) equals the sum, over the units dealt B,
of their distance from their block's mean. So one sum per arrangement is all a test needs, and the sums
over all arrangements are outer sums over blocks: no arrangement is ever written out.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property, lru_cache
from typing import Final

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.dealing import Layout, draw_by_unit
from .halves import Halves
from .sums import outer_sums, subset_sums

__all__ = ["DEFAULT_SEED", "EXACT_LIMIT", "FEW", "ROUGH_DRAWS", "SAMPLES", "Shuffles"]

#: Up to this many arrangements all are counted; it takes about a second.
EXACT_LIMIT: Final = 2**22
#: Beyond it, this many are drawn.
SAMPLES: Final = 100_000
#: Used when no seed is given, so that the same data always give the same answer.
DEFAULT_SEED: Final = 1935
#: Units up to which draws are made as deals are.
FEW: Final = 100
#: Draws that tell roughly.
ROUGH_DRAWS: Final = 5_000
_CELLS = 4_000_000  # numbers held at once
_AS_NUMBERS = 200_000  # a draw up to this size is kept as the numbers that it is multiplied as


class Shuffles:
    """The arrangements a test runs through: all of them, or the observed one and a fixed draw.

    Parameters
    ----------
    layout : Layout
        Blocks and how many B's each holds.
    observed : (n,) bool or None
        The arrangement that was dealt; None where each row of values has its own (`tails`).
    limit, samples, seed
        Above `limit` arrangements, `samples` are drawn with `seed` and the observed one is added.
    """

    def __init__(self, layout: Layout, observed: BoolArray | None = None, *, limit: int = EXACT_LIMIT,
                 samples: int = SAMPLES, seed: int | None = None) -> None:
        self.layout = layout
        self.observed = np.zeros(layout.units, dtype=bool) if observed is None else observed
        self.total = layout.count
        self.exact = self.total <= limit
        self.size = self.total if self.exact else samples + 1
        self._samples, self._seed = samples, DEFAULT_SEED if seed is None else seed

    @cached_property
    def halves(self) -> Halves:
        """The arrangements in two halves, where all are counted."""
        return Halves(self.layout)

    @cached_property
    def _drawn(self) -> BoolArray:
        return _draws(self.layout, self._samples, self._seed)  # (n, samples), beside the observed one

    @cached_property
    def _few(self) -> BoolArray:
        return _draws(self.layout, ROUGH_DRAWS, DEFAULT_SEED)

    @property
    def steps(self) -> int:
        """About how many numbers one count of the tails goes through."""
        return self.halves.width if self.exact else self.layout.units * self.size

    def sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units dealt B, (k, n) -> (k, size); the order is always the same."""
        if not self.exact:
            return np.hstack([self.observed_sums(values)[:, None],
                              *(values @ part for part in self._parts(self._drawn))])
        out = np.zeros((len(values), 1))
        for members, k in zip(self.layout.members, self.layout.n_b, strict=True):
            out = outer_sums(out, subset_sums(values[:, members], k))
        return out

    def observed_sums(self, values: FloatArray) -> FloatArray:
        """Return Σ values over the units that were dealt B, (k, n) -> (k,)."""
        return values[:, self.observed].sum(axis=1)

    def tails(self, values: FloatArray, tie: FloatArray, observed: FloatArray | None = None,
              side: int = 0) -> tuple[IntArray, IntArray]:
        """Count the arrangements at least as high, and at least as low, as the observed one: (k,) each.

        `tie` (k,) says how close a sum must be to count as equal, `observed` (k,) what the observed sums are where
        the rows were not all dealt alike, `side` is as in `Deals.tails`.
        """
        observed = self.observed_sums(values) if observed is None else observed
        if self.exact:
            return self.halves.tails(values, observed, tie, side)
        upper, lower = self._drawn_tails(values, observed, tie, self._drawn, side)
        return upper + 1, lower + 1

    def rough_tails(self, values: FloatArray, tie: FloatArray) -> tuple[IntArray, IntArray]:
        """Count in a few draws only: the first of those that are counted, where arrangements are drawn."""
        drawn = self._few if self.exact else self._drawn
        return self._drawn_tails(values, self.observed_sums(values), tie, drawn[:, :ROUGH_DRAWS])

    def _drawn_tails(self, values: FloatArray, observed: FloatArray, tie: FloatArray,
                     drawn: BoolArray, side: int = 0) -> tuple[IntArray, IntArray]:
        upper, lower = np.zeros(len(values), dtype=np.intp), np.zeros(len(values), dtype=np.intp)
        for part in self._parts(drawn, len(values)):
            sums = values @ part
            if side >= 0:
                upper += np.count_nonzero(sums >= (observed - tie)[:, None], axis=1)
            if side <= 0:
                lower += np.count_nonzero(sums <= (observed + tie)[:, None], axis=1)
        return upper, lower

    @staticmethod
    def _parts(drawn: BoolArray, rows: int = 1) -> Iterator[FloatArray]:
        step = max(1, _CELLS // max(len(drawn), rows))
        for start in range(0, drawn.shape[1], step):
            yield np.ascontiguousarray(drawn[:, start:start + step], dtype=float)


def _draws(layout: Layout, draws: int, seed: int) -> BoolArray:
    """Return allowed arrangements, independent and equally likely, (n, draws); the same seed gives the same."""
    if layout.units <= FEW:
        return _draws_of_few(tuple(tuple(m.tolist()) for m in layout.members), layout.n_b, draws, seed)
    rng = np.random.Generator(np.random.PCG64(seed))
    out = np.zeros((layout.units, draws), dtype=bool)
    for members, k in zip(layout.members, layout.n_b, strict=True):
        left = np.full(draws, k)  # B's still to be dealt in this block
        for i, unit in enumerate(members):
            out[unit] = rng.random(draws) * (len(members) - i) < left
            left -= out[unit]
    return out


@lru_cache(maxsize=4)
def _draws_of_few(members: tuple[tuple[int, ...], ...], n_b: tuple[int, ...], draws: int, seed: int) -> BoolArray:
    """The same, kept: one answer reads the same draw several times."""
    layout = Layout(tuple(range(len(members))), tuple(np.array(m, dtype=np.intp) for m in members), n_b)
    out = draw_by_unit(layout, draws, seed)
    if out.size <= _AS_NUMBERS:
        out = out.astype(float)
    out.flags.writeable = False
    return out
