"""The ways that trials of one plan could have been dealt, each trial with its own deal and its own units lost.

One trial that stands in a logbook is the case of one row. Trials that lost alike are counted together (`Shuffles`).
"""

from __future__ import annotations

import copy
import itertools
import math
from functools import cached_property
from typing import Any

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.dealing import Labels, Layout, layout_of
from .shuffles import EXACT_LIMIT, FEW, SAMPLES, Shuffles

__all__ = ["Deals", "used_units"]

_CELLS = 2_000_000  # numbers held at once
_MANY = 10**300


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
    """The ways k trials of one plan could have been dealt.

    Parameters
    ----------
    is_b, used : (k, n) bool
        Dealt the second habit; still counts (`used_units`).
    block : (n,) labels
    limit, samples, seed
        Above `limit` arrangements of a trial, `samples` are drawn with `seed` and the observed one is added.

    Notes
    -----
    A trial's units are sorted so that those that count stand first, block by block; among trials whose arrangements
    are all counted the order of the blocks is of no account, so blocks that lost alike come together.
    """

    def __init__(self, is_b: BoolArray, used: BoolArray, block: Labels, *, limit: int = EXACT_LIMIT,
                 samples: int = SAMPLES, seed: int | None = None) -> None:
        self.is_b, self.used, self.block = is_b, used, np.asarray(block)
        self._how = {"limit": limit, "samples": samples, "seed": seed}
        self.members = layout_of(list(block), 0).members
        left, left_b = (np.stack([here[:, m].sum(axis=1) for m in self.members], axis=1)
                        for here in (used, used & is_b))
        code = left * (used.shape[1] + 1) + left_b
        self.size = np.ones(len(is_b))
        for c in np.unique(code):
            ways = math.comb(*divmod(int(c), used.shape[1] + 1))
            with np.errstate(over="ignore"):  # years of an old diary: more than a number can say
                self.size *= float(min(ways, _MANY)) ** (code == c).sum(axis=1)
        self.exact = self.size <= limit
        # a sample is drawn block by block in the plan's order, one trial is read in it; counts do not mind the order
        free = self.exact & (len(is_b) > 1)
        order = np.where(free[:, None], np.argsort(-code, axis=1, kind="stable"), np.arange(len(self.members)))
        shape = np.column_stack([self.exact, np.take_along_axis(code, order, axis=1)])
        as_text = shape.astype(">i8").view(f"S{8 * shape.shape[1]}").ravel()  # sorts as the numbers do, but sooner
        _, first, self._shape_of = np.unique(as_text, return_index=True, return_inverse=True)
        self._shapes = shape[first]
        rank = np.empty_like(order)
        np.put_along_axis(rank, order, np.broadcast_to(np.arange(order.shape[1]), order.shape), axis=1)
        place = np.empty(used.shape[1], dtype=np.intp)
        for b, m in enumerate(self.members):
            place[m] = b
        self._columns = np.argsort(np.where(used, rank[:, place], len(self.members)), axis=1, kind="stable")
        self._there = np.take_along_axis(used, self._columns, axis=1)
        self._known: dict[int, Shuffles] = {}

    @classmethod
    def whole(cls, is_b: BoolArray, block: Labels, **how: Any) -> Deals:
        """Return the deals of one trial, (n,), or of several, (k, n), in which every unit counts; `how` as above."""
        flags = np.atleast_2d(is_b)
        return cls(flags, np.ones(flags.shape, dtype=bool), block, **how)

    def observed(self, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return Σ values over the used units dealt B, (r, n) -> (r,)."""
        mine = self.is_b[rows] & self.used[rows]
        if len(rows) == 1:  # without zeros between, which cost a last digit
            return values[:, mine[0]].sum(axis=1)
        return np.where(mine, values, 0.0).sum(axis=1)

    def centred(self, values: FloatArray, rows: IntArray) -> FloatArray:
        """Return values minus their block's mean over used units, 0 where not used: (r, n)."""
        used = self.used[rows]
        out = np.where(used, values, 0.0)
        for m in self.members:
            part, here = out[:, m], used[:, m]
            mean = part.sum(axis=1) / np.maximum(here.sum(axis=1), 1)
            out[:, m] = np.where(here, part - mean[:, None], 0.0)
        return out

    def tails(self, values: FloatArray, observed: FloatArray, tie: FloatArray, rows: IntArray,
              side: int = 0) -> tuple[FloatArray, FloatArray]:
        """Return the shares of arrangements at least as high, and at least as low, as the observed one.

        Parameters
        ----------
        values : (r, n) float
            Finite.
        observed, tie : (r,) float
            The observed sum, and how close a sum must be to count as equal.
        rows : (r,) int
            Which trials they belong to.
        side : int
            1 or -1 where only the first, or the second, is asked for: the other one then says nothing.
        """
        upper, lower = np.ones(len(rows)), np.ones(len(rows))
        packed = np.where(self._there[rows], np.take_along_axis(values, self._columns[rows], axis=1), 0.0)
        shape = self._drawn_as[self._shape_of[rows]]
        for one in np.unique(shape):
            mine = np.flatnonzero(shape == one)
            shuffles = self._shuffles(int(one))
            n = shuffles.layout.units
            if not n:
                continue
            step = max(1, _CELLS // (shuffles.halves.width if shuffles.exact else n))
            for start in range(0, len(mine), step):
                at = mine[start:start + step]
                high, low = shuffles.tails(packed[at, :n], tie[at], observed[at], side)
                upper[at], lower[at] = high / shuffles.size, low / shuffles.size
        return upper, lower

    @cached_property
    def _drawn_as(self) -> IntArray:
        """The shape whose draw each shape is counted in: its own, or that of the most pairs.

        A draw goes on block by block, so what is drawn for a few pairs is how the draw for many begins; the pairs that
        a trial lacks add nothing to a sum.
        """
        out = np.arange(len(self._shapes))
        pair = 2 * (self.used.shape[1] + 1) + 1
        blocks = self._shapes[:, 1:]
        pairs = (self._shapes[:, 0] == 0) & ((blocks == 0) | (blocks == pair)).all(axis=1)
        many = (blocks > 0).sum(axis=1)
        for drawn_alike in (2 * many <= FEW, 2 * many > FEW):
            these = np.flatnonzero(pairs & drawn_alike)
            if len(these):
                out[these] = these[np.argmax(many[these])]
        return out

    def one(self, row: int) -> tuple[Shuffles, IntArray]:
        """Return the arrangements of one trial, and its units (m,) in their order."""
        own = copy.copy(self._shuffles(int(self._shape_of[row])))  # what was drawn once serves all
        units = self._columns[row, :own.layout.units]
        own.observed = self.is_b[row, units]
        return own, units

    def _shuffles(self, shape: int) -> Shuffles:
        if shape not in self._known:
            pairs = [divmod(int(c), self.used.shape[1] + 1) for c in self._shapes[shape, 1:] if c]
            ends = np.cumsum([0, *(m for m, _ in pairs)])
            layout = Layout(tuple(range(len(pairs))),
                            tuple(np.arange(a, b) for a, b in itertools.pairwise(ends)),
                            tuple(k for _, k in pairs))
            self._known[shape] = Shuffles(layout, **self._how)  # type: ignore[arg-type]
        return self._known[shape]
