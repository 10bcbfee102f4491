"""First one way, then the other: the two halves of such a trial, and which of its days count.

Half of the reeds have the one way first, the others the other way (a crossover, AB/BA). What is dealt to a reed is the
way that it has first. The days that begin each half are left out: what the way before them did wears off meanwhile.
The first half begins like the second, for before the trial every reed was kept in some way, too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .arrays import BoolArray, FloatArray, IntArray

__all__ = ["Halves", "half_groups", "planned_b"]


@dataclass(frozen=True)
class Halves:
    """The two halves of a crossover of `days` trial days, whose ways go on for `effect_days` after they end.

    The odd day of an odd number is the last one of the second half. So many days are left out as the player declares,
    no more: with a third of each half left out in any case, over 56 days a gap was found 12 times less in 100, and
    hardly anything was wrong less often (`tests/benchmarks/crossover.py`). Who is wrong about the days is met where
    sameness is judged.
    """

    days: int
    effect_days: int

    @property
    def first(self) -> int:
        """Days of the first half."""
        return self.days // 2

    @property
    def counted(self) -> int:
        """Days of the first half whose ratings count; the second has as many, or one more."""
        return self.first - self.effect_days

    @property
    def change(self) -> int:
        """The trial day on which every reed changes to its other way."""
        return self.first + 1

    def second(self, day: npt.ArrayLike) -> BoolArray:
        """Say of each trial day whether it is of the second half."""
        out: BoolArray = np.asarray(day) >= self.change
        return out

    def of(self, day: npt.ArrayLike) -> IntArray:
        """Return 0 or 1 for days that count in the first or second half, -1 for those left out."""
        number = np.asarray(day)
        second = self.second(number)
        within = number - self.first * second
        out: IntArray = np.where(within > self.effect_days, second.astype(np.int64), -1)
        return out

    def makes_up(self, day: int, missed: int) -> bool:
        """Say whether a rating on a day can stand for one missed: both count, in the same half."""
        return bool(self.of(day) == self.of(missed) >= 0)


def half_groups(unit: IntArray, half: IntArray) -> IntArray:
    """Number the halves of units: 2·unit and half (0 or 1); -1 where either is -1."""
    out: IntArray = np.where((unit >= 0) & (half >= 0), 2 * unit + half, -1)
    return out


def planned_b(halves: Halves | None, is_b: npt.ArrayLike, day: npt.ArrayLike) -> FloatArray:
    """Return 1 where the second way was to be used on a trial day by a unit dealt it (`is_b` 1), or not; else 0.

    The last axes of both fit together. `halves` is None where a unit keeps to what it was dealt.
    """
    flags = np.asarray(is_b, dtype=float)
    out: FloatArray = flags if halves is None else np.where(halves.second(day), 1 - flags, flags)
    return out
