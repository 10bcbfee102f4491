"""How many arrangements sum as high or as low as the observed one, for many trials, without listing them.

The sums over all arrangements are every sum of one number from one half of the blocks and one from the other.
With the second half sorted, one search for each number of the first half counts them all: some hundreds of steps
where there are ten thousands of arrangements. The count is exact, as in the single test.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...trial.dealing import Labels, draw_from, layout_of
from ..shuffling.halves import count_pairs, shared_out
from ..shuffling.shuffles import DEFAULT_SEED, EXACT_LIMIT
from ..shuffling.sums import FloatArray, outer_sums, subset_sums

__all__ = ["Deals", "used_units"]

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int_]

_CELLS = 2_000_000  # numbers held at once


def used_units(present: BoolArray, is_b: BoolArray, block: Labels) -> BoolArray:
    """Return the units that count, (k, n): present, and in a block that still has both habits."""
    _, code = np.unique(np.asarray(block), return_inverse=True)
    member = (code[:, None] == np.arange(int(code.max()) + 1)).astype(float)
    b = (present & is_b).astype(float) @ member
    a = (present & ~is_b).astype(float) @ member
    whole = ((a > 0) & (b > 0)).astype(float) @ member.T > 0
    out: BoolArray = present & whole
    return out


class Deals:
    """The ways k trials of one plan could have been dealt, each with its own units lost.

    Parameters
    ----------
    is_b, used : (k, n) bool
        Dealt the second habit; still counts (`used_units`).
    block : (n,) labels
    limit, samples, seed
        Above `limit` arrangements of a trial, `samples` are drawn with `seed` and the observed one is added.

    Notes
    -----
    A block that is lost whole keeps its place with zeros: every count is multiplied by the same number. One that
    lost some units has fewer ways; the places of the missing ones are filled with minus infinity, which
    is never counted.
    """

    def __init__(self, is_b: BoolArray, used: BoolArray, block: Labels, *, limit: int = EXACT_LIMIT,
                 samples: int = 20_000, seed: int | None = None) -> None:
        self.is_b, self.used = is_b, used
        self.block = np.asarray(block)
        layout = layout_of(list(block), {b: int(is_b[0, self.block == b].sum()) for b in np.unique(self.block)}
                           if len(is_b) else 0)
        self.members, self.n_b = layout.members, layout.n_b
        self.partial = [_lost(used[:, m], is_b[:, m]) for m in self.members]
        self.size = np.ones(len(is_b))
        for m, k, states in zip(self.members, self.n_b, self.partial, strict=True):
            here = np.full(len(is_b), float(math.comb(len(m), k)))
            for i, (left, left_b) in enumerate(states.kinds, start=1):
                here[states.code == i] = math.comb(left, left_b)
            self.size *= here
        self.first, self.second = shared_out([math.comb(len(m), k)
                                              for m, k in zip(self.members, self.n_b, strict=True)])
        self.samples, self.seed = samples, DEFAULT_SEED if seed is None else seed
        self.exact = self.size <= limit
        self._drawn: dict[tuple[tuple[int, int], ...], FloatArray] = {}  # the latest only

    def observed(self, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return Σ values over the used units dealt B, (r, n) -> (r,)."""
        return np.where(self.is_b[rows] & self.used[rows], values, 0.0).sum(axis=1)

    def centred(self, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return values minus their block's mean over used units, 0 where not used: (r, n)."""
        used = self.used[rows]
        out = np.where(used, values, 0.0)
        for m in self.members:
            part, here = out[:, m], used[:, m]
            mean = part.sum(axis=1) / np.maximum(here.sum(axis=1), 1)
            out[:, m] = np.where(here, part - mean[:, None], 0.0)
        return out

    def deviations(self, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return how many standard deviations the observed sum lies above its mean over all arrangements, (r,)."""
        variance = np.zeros(len(rows))
        centred, used = self.centred(values, rows), self.used[rows]
        for m in self.members:
            n = used[:, m].sum(axis=1)
            k = (used[:, m] & self.is_b[rows][:, m]).sum(axis=1)
            variance += k * (n - k) / np.maximum(n * (n - 1), 1) * (centred[:, m] ** 2).sum(axis=1)
        tie = 1e-9 * np.maximum(1.0, np.abs(values).sum(axis=1))
        excess = self.observed(centred, rows)
        return np.where(variance > tie, excess / np.sqrt(np.maximum(variance, 1e-300)), 0.0)

    def tails(self, values: FloatArray, observed: FloatArray, tie: FloatArray,
              rows: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the shares of arrangements at least as high, and at least as low, as the observed one.

        Parameters
        ----------
        values : (r, n) float
            Finite; 0 where not used.
        observed, tie : (r,) float
            The observed sum, and how close a sum must be to count as equal.
        rows : (r,) int
            Which trials they belong to.
        """
        upper, lower = np.empty(len(rows)), np.empty(len(rows))
        whole = np.flatnonzero(self.exact[rows])
        width = self._width(self.first) + self._width(self.second)
        step = max(1, _CELLS // width)
        for start in range(0, len(whole), step):
            at = whole[start:start + step]
            high, low = self._count(values[at], observed[at], tie[at], rows[at])
            upper[at], lower[at] = high, low
        rest = np.flatnonzero(~self.exact[rows])
        if len(rest):
            upper[rest], lower[rest] = self._sample(values[rest], observed[rest], tie[rest], rows[rest])
        return upper, lower

    def _width(self, half: Sequence[int]) -> int:
        return math.prod(math.comb(len(self.members[b]), self.n_b[b]) for b in half)

    def _ways(self, b: int, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return the sums of every way to deal block b, (r, ways); -inf beyond the ways that are left."""
        mine = values[:, self.members[b]]
        out = subset_sums(mine, self.n_b[b])
        states = self.partial[b]
        if not states.kinds:
            return out
        out = out.copy()
        code = states.code[rows]
        for i, (left, left_b) in enumerate(states.kinds, start=1):
            at = np.flatnonzero(code == i)
            if not len(at):
                continue
            # the units still there first; zeros of the lost ones would stand in for nobody
            order = np.argsort(~self.used[np.ix_(rows[at], self.members[b])], axis=1, kind="stable")[:, :left]
            ways = subset_sums(np.take_along_axis(mine[at], order, axis=1), left_b)
            out[at] = -np.inf
            out[at, :ways.shape[1]] = ways
        return out

    def _half_sums(self, half: Sequence[int], values: FloatArray, rows: IntArray) -> FloatArray:
        out = np.zeros((len(rows), 1))
        for b in half:
            out = outer_sums(out, self._ways(b, values, rows))
        return out

    def _count(self, values: FloatArray, observed: FloatArray, tie: FloatArray,
               rows: IntArray) -> tuple[FloatArray, FloatArray]:
        one, two = self._half_sums(self.first, values, rows), self._half_sums(self.second, values, rows)
        high, low = count_pairs(one, two, observed, tie)
        size = self.size[rows]
        # the places of missing ways are minus infinity: below everything, and no arrangements
        return high / size, (low - (one.shape[1] * two.shape[1] - size)) / size

    def _sample(self, values: FloatArray, observed: FloatArray, tie: FloatArray,
                rows: IntArray) -> tuple[FloatArray, FloatArray]:
        """Count in a drawn sample, one for all trials that lost the same numbers of units."""
        upper, lower = np.empty(len(rows)), np.empty(len(rows))
        codes = np.stack([lost.code[rows] for lost in self.partial], axis=1)
        patterns, which = np.unique(codes, axis=0, return_inverse=True)
        for p, pattern in enumerate(patterns):
            at = np.flatnonzero(which.ravel() == p)
            sizes = [lost.kinds[c - 1] if c else (len(m), k)
                     for c, lost, m, k in zip(pattern, self.partial, self.members, self.n_b, strict=True)]
            drawn = self._draws(tuple(sizes))
            columns = []
            for m, c, (size, _) in zip(self.members, pattern, sizes, strict=True):
                mine = values[np.ix_(at, m)]
                if c:
                    order = np.argsort(~self.used[np.ix_(rows[at], m)], axis=1, kind="stable")[:, :size]
                    mine = np.take_along_axis(mine, order, axis=1)
                columns.append(mine)
            packed = np.hstack(columns)
            step = max(1, _CELLS // self.samples)
            for start in range(0, len(at), step):
                part = at[start:start + step]
                diff = packed[start:start + step] @ drawn - observed[part][:, None]
                upper[part] = 1 + np.count_nonzero(diff >= -tie[part][:, None], axis=1)
                lower[part] = 1 + np.count_nonzero(diff <= tie[part][:, None], axis=1)
        return upper / (self.samples + 1), lower / (self.samples + 1)

    def _draws(self, sizes: tuple[tuple[int, int], ...]) -> FloatArray:
        if sizes not in self._drawn:
            names = np.repeat(np.arange(len(sizes)), [m for m, _ in sizes])
            layout = layout_of(list(names), {b: k for b, (_, k) in enumerate(sizes)})
            self._drawn = {sizes: draw_from(layout, self.samples, self.seed).astype(float).T}
        return self._drawn[sizes]


@dataclass(frozen=True)
class _Lost:
    """How a block lost some, not all, of its units.

    `kinds` are the (units, B's) left; `code` (k,) is 1 + a place in `kinds`, 0 where it lost none or all.
    """

    code: IntArray
    kinds: tuple[tuple[int, int], ...]


def _lost(used: BoolArray, is_b: BoolArray) -> _Lost:
    left, left_b = used.sum(axis=1), (used & is_b).sum(axis=1)
    code = np.zeros(len(used), dtype=int)
    some = (left > 0) & (left < used.shape[1])
    if not some.any():
        return _Lost(code, ())
    kinds, which = np.unique(np.stack([left[some], left_b[some]], axis=1), axis=0, return_inverse=True)
    code[some] = which.ravel() + 1
    return _Lost(code, tuple((int(m), int(k)) for m, k in kinds))
