"""Day by day, what each coin of a trial turned round: the two units of a block, in the order in which blocks end.

For one trial or for many of one plan. Whether a block is complete is known without a look at the habits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Unit

__all__ = ["Coins", "coins_of"]



@dataclass(frozen=True)
class Coins:
    """The m blocks of k trials.

    Attributes
    ----------
    last : (m,) int
        Trial day on which each block ends; they rise.
    gap, turn : (k, m) float
        The value of the unit dealt B less that of the other, as rated, and how much of it one unit of difference makes;
        nan where one of the two is missing.
    full : (k, m) bool
        Every planned rating is there.
    final : (k, m) float
        The gap evened out, as the planned end has it.
    """

    last: IntArray
    gap: FloatArray
    turn: FloatArray
    full: BoolArray
    final: FloatArray

    def closed(self, day: int) -> Coins:
        """Return the same where only blocks count that can change no more: those that ended by `day`, or are full."""
        open_ = (self.last > day) & ~self.full
        return Coins(self.last, np.where(open_, np.nan, self.gap), self.turn, self.full, self.final)


def coins_of(units: Sequence[Unit], is_b: BoolArray, present: BoolArray, plain: FloatArray, effect: FloatArray,
             values: FloatArray, rated: FloatArray) -> Coins:
    """Set the two units of each block against each other.

    Parameters
    ----------
    units : sequence of Unit
        The plan's n units, two to a block.
    is_b, present : (k, n) bool
    plain, effect, values, rated : (k, n) float
        Values as rated, how they move when B adds one, values evened out, and how many planned ratings are there.
    """
    pairs: dict[str, list[int]] = {}
    for i, u in enumerate(units):
        pairs.setdefault(u.block, []).append(i)
    last = np.array([max(d for i in pair for _, d in units[i].cells) for pair in pairs.values()], dtype=np.intp)
    order = np.argsort(last, kind="stable")
    one, two = np.array(list(pairs.values()), dtype=np.intp)[order].T
    sign = np.where(is_b[:, one], 1.0, -1.0)
    there = present[:, one] & present[:, two]
    planned = np.array([len(u.cells) for u in units])
    complete = rated >= planned

    def gap(x: FloatArray) -> FloatArray:
        out: FloatArray = np.where(there, sign * (x[:, one] - x[:, two]), np.nan)
        return out

    return Coins(last[order], gap(plain), gap(effect), there & complete[:, one] & complete[:, two], gap(values))
