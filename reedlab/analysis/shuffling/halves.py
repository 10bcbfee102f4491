"""Every arrangement as one of a left half and one of a right half: counting them without listing them.

The sum over the units dealt B is a sum over the left half plus one over the right half. With the right half's sums
sorted among what each sum of the left lacks, all arrangements at least as high as the observed one are counted: some
thousand steps where there are millions of arrangements (Horowitz & Sahni 1974, J. ACM 21, 277-292; from memory).
Where sums are linear in a difference d, such counts at a few d's close in on the d at which a given number of
arrangements has passed the observed one; the few left between are then listed, so that the answer is exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import reduce
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from ...trial.arrays import FloatArray, IntArray
from ...trial.dealing import Layout
from .sums import outer_sums, subset_sums

__all__ = ["Halves", "count_pairs", "shared_out"]

_Parts: TypeAlias = list[tuple[FloatArray, FloatArray]]

_LISTED = 2_000  # arrangements that are listed rather than told apart by further counts
_STEPS = 60
_ROUNDING = 1e-12


class Halves:
    """The arrangements of a layout in two halves of about equal size.

    Whole blocks go left or right; where one block holds most of the ways, its units are shared between the halves,
    and each number of B's on its left side makes a group of its own.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        ways = [math.comb(len(m), k) for m, k in zip(layout.members, layout.n_b, strict=True)]
        self.split: tuple[int, int] | None = None
        self.left, self.right = shared_out(ways)
        width = math.prod(ways[b] for b in self.left) + math.prod(ways[b] for b in self.right)
        if ways:
            big = int(np.argmax(np.array(ways, dtype=float)))
            size, k = len(layout.members[big]), layout.n_b[big]
            left, right = shared_out(ways, big, math.comb(size // 2, k // 2))
            in_left, in_right = (math.prod(ways[b] for b in half) for half in (left, right))
            cut = sum(math.comb(size // 2, j) * in_left + math.comb(size - size // 2, k - j) * in_right
                      for j in range(max(0, k - (size - size // 2)), min(k, size // 2) + 1))
            if cut < width:
                width = cut
                self.left, self.right, self.split = left, right, (big, size // 2)

        self.width = width  # how many sums both halves hold

    def parts(self, values: FloatArray) -> _Parts:
        """Return the sums of both halves, group by group: (r, n) -> [((r, L), (r, R)), ...]."""
        left, right = self._sums(self.left, values), self._sums(self.right, values)
        if self.split is None:
            return [(left, right)]
        block, half = self.split
        k, mine = self.layout.n_b[block], values[:, self.layout.members[block]]
        one, two = mine[:, :half], mine[:, half:]
        return [(outer_sums(left, subset_sums(one, j)), outer_sums(right, subset_sums(two, k - j)))
                for j in range(max(0, k - two.shape[1]), min(k, half) + 1)]

    def _sums(self, blocks: Sequence[int], values: FloatArray) -> FloatArray:
        each = [subset_sums(values[:, self.layout.members[b]], self.layout.n_b[b]) for b in blocks]
        return reduce(outer_sums, each) if each else np.zeros((len(values), 1))

    def tails(self, values: FloatArray, observed: FloatArray, tie: FloatArray,
              side: int = 0) -> tuple[IntArray, IntArray]:
        """Count the arrangements at least as high, and at least as low, as the observed sums.

        Parameters
        ----------
        values : (r, n) float
        observed, tie : (r,) float
            The observed sum, and how close a sum must be to count as equal.
        side : int
            As in `Deals.tails`.
        """
        upper, lower = np.zeros(len(observed), dtype=np.intp), np.zeros(len(observed), dtype=np.intp)
        for left, right in self.parts(values):
            high, low = count_pairs(left, right, observed, tie, side)
            upper, lower = upper + high, lower + low
        return upper, lower

    def critical(self, u: FloatArray, v: FloatArray, observed: npt.NDArray[np.bool_], ranks: Sequence[int],
                 start: float) -> list[float]:
        """Return the differences at which the rank-th arrangement passes the observed one, for ranks from 1 up.

        Parameters
        ----------
        u, v : (n,) float
            The sum of an arrangement at the difference d is Σ (u − d·v) over its B's. Every arrangement but the
            observed one must have a Σ v that is smaller by more than rounding, so that it passes it upwards, once.
        observed : (n,) bool
        ranks : sequence of int
            From 1 to arrangements − 1.
        start : float
            A difference to begin at, best the estimate.
        """
        search = _Search(self.parts(u[None, :]), self.parts(v[None, :]), u, v, observed, start)
        return [search.critical(rank) for rank in ranks]


class _Search:
    """Counts, at some d's, how many arrangements have passed the observed one, and closes in on a rank."""

    def __init__(self, u: _Parts, v: _Parts, units_u: FloatArray, units_v: FloatArray,
                 observed: npt.NDArray[np.bool_], start: float) -> None:
        self.u, self.v = [(a[0], b[0]) for a, b in u], [(a[0], b[0]) for a, b in v]
        self.top, self.turn = float(units_u[observed].sum()), float(units_v[observed].sum())
        self.size_u, self.size_v = float(np.abs(units_u).sum()), float(np.abs(units_v).sum())
        self.widest = self.turn - min(float(a.min() + b.min()) for a, b in self.v)
        self.start = start
        self.step = max(math.sqrt(float(units_u @ units_u)) / self.widest, 1e-9 * max(1.0, abs(start)))
        self.seen: dict[float, int] = {}

    def critical(self, rank: int) -> float:
        low, high = self._bracket(rank)
        for step in range(_STEPS):
            before, upto = self._passed(low), self._passed(high)
            if upto - before <= _LISTED:
                break
            # false position; halved now and then, lest one end should stand still where many arrangements tie
            share = 0.5 if step % 3 == 2 else (rank - before) / (upto - before)
            middle = low + (high - low) * min(max(share, 0.02), 0.98)
            if high - low <= 1e-10 * max(abs(low), abs(high)) or not low < middle < high:
                break
            low, high = (middle, high) if self._passed(middle) < rank else (low, middle)
        return self._listed(low, high, rank)

    def _rounding(self, d: float) -> float:
        return _ROUNDING * (self.size_u + abs(d) * self.size_v)

    def _passed(self, d: float) -> int:
        if d not in self.seen:
            aim = self.top - d * self.turn - self._rounding(d)
            total = -1  # the observed one is no other
            for (a, b), (c, e) in zip(self.u, self.v, strict=True):
                one, two = np.sort(aim - (a - d * c)), np.sort(b - d * e)
                total += len(a) * len(b) - int(two.searchsorted(one).sum())
            self.seen[d] = total
        return self.seen[d]

    def _bracket(self, rank: int) -> tuple[float, float]:
        """Return two d's, with fewer than `rank` passed at the first and at least as many at the second."""
        step = self.step
        self._passed(self.start)
        while True:
            low = max((d for d, n in self.seen.items() if n < rank), default=None)
            high = min((d for d, n in self.seen.items() if n >= rank), default=None)
            if low is not None and high is not None:
                return low, high
            self._passed(low + step if low is not None else (high or 0.0) - step)
            step *= 2

    def _listed(self, low: float, high: float, rank: int) -> float:
        aim, tiny = self.top - low * self.turn, self._rounding(low)
        reach = (high - low) * self.widest + 4 * self._rounding(high) + 4 * tiny
        below, found = 0, []
        for (a, b), (c, e) in zip(self.u, self.v, strict=True):
            here, gap = b - low * e, aim - (a - low * c)
            order = np.argsort(here)
            here = here[order]
            first, last = here.searchsorted(gap - reach), here.searchsorted(gap + 4 * tiny, "right")
            count = last - first
            i = np.repeat(np.arange(len(a)), count)
            place = np.arange(len(i)) - np.repeat(np.cumsum(count) - count - first, count)
            j = order[place]
            turn = self.turn - (c[i] + e[j])
            moves = turn > 1e-9 * self.size_v
            below += int(((here[place] >= gap[i] - tiny) & moves).sum())
            found.append((self.top - (a[i] + b[j]))[moves] / turn[moves])
        critical = np.concatenate(found)
        place = below + rank - self._passed(low) - 1
        return float(np.partition(critical, place)[place])


def count_pairs(left: FloatArray, right: FloatArray, observed: FloatArray, tie: FloatArray,
                side: int = 0) -> tuple[IntArray, IntArray]:
    """Count the pairs, one of (r, L) and one of (r, R), whose sum is at least, and at most, the observed one: (r,).

    `side` as in `Deals.tails`.
    """
    pairs = np.full(len(left), left.shape[1] * right.shape[1])
    below = _pairs_below(left, right, observed - tie) if side >= 0 else 0 * pairs
    return pairs - below, _pairs_below(left, right, observed + tie) if side <= 0 else 0 * pairs


def _pairs_below(left: FloatArray, right: FloatArray, bound: FloatArray) -> IntArray:
    """Count the pairs whose sum is below a bound: for each of the left, the ones of the right before what it lacks.

    One sort for all rows tells them: the last binary digit, far below any tie, marks the numbers of the left.
    """
    many = left.shape[1]
    both = np.concatenate([bound[:, None] - left, right], axis=1)
    bits = both.view(np.int64)
    bits &= -2
    bits[:, :many] |= 1
    both.sort(axis=1)
    bits &= 1
    place: IntArray = bits @ np.arange(both.shape[1])
    return place - many * (many - 1) // 2


def shared_out(ways: Sequence[int], but: int | None = None, size: int = 1) -> tuple[list[int], list[int]]:
    """Share the blocks out so that both halves have about as many ways; `but` one, which gave each half `size`."""
    halves: tuple[list[int], list[int]] = ([], [])
    sizes = [size, size]
    for b in sorted((b for b in range(len(ways)) if b != but), key=lambda b: -ways[b]):
        to = int(sizes[1] < sizes[0])
        halves[to].append(b)
        sizes[to] *= ways[b]
    return halves
