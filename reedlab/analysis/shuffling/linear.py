"""The randomisation test, its range and its estimate, for unit values linear in the difference.

Let u(d) = values − d·effect be the units' values once a constant difference d is taken from B. For plain
numbers `effect` is 1 for B and 0 for A; where an adjustment is redone for each d it is the same linear
map applied to that indicator; as done it is the share of sittings on B, likewise mapped. The statistic
S(d) sums u(d), centred in its block, over the units dealt B. For each other arrangement the order of its
S(d) and the observed one changes at one critical d only, so p is a step function of d with known steps
and the range is exact.

Two-sided p: twice the smaller tail, at most 1, the observed arrangement counted (Fisher 1935; the range
by inversion, the estimate where the statistic equals its mean: Hodges & Lehmann 1963).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.dealing import Labels
from .deals import Deals
from .in_full import InFull
from .sums import tie_of
from .verdict import SAMENESS_P, two_sided

__all__ = ["Linear", "linear_test", "rejected_count"]

_TIE = 1e-9  # of Σ|effect|: turns this close to 0 are none
_SLACK = 1e-12  # rejected means p <= 1 - level + this
_LISTED = 4096  # arrangements above which they are counted in halves


def rejected_count(alpha: float, size: int) -> int:
    """Return the largest tail count that is rejected two-sided at `alpha` among `size` arrangements."""
    return int(np.floor((alpha + _SLACK) * size / 2))


def linear_test(values: npt.ArrayLike, effect: npt.ArrayLike, is_b: npt.ArrayLike, block: Labels | None = None, *,
                level: float = 0.95, margin: float | None = None, **how: Any) -> InFull:
    """Test, estimate and range for the n unit values of one trial.

    Parameters
    ----------
    values, effect : (n,) float
        Unit values at no difference, and what one unit of difference adds to each.
    is_b : (n,) bool
        The units dealt B.
    block : (n,) labels or None
        Blocks; None: one block.
    level : float
        Of the range `low` to `high`.
    margin : float or None
        The smallest difference that matters, for the two one-sided tests (Schuirmann 1987).
    **how
        `seed`, `limit` and `samples` as in `Deals`.
    """
    u, v = np.asarray(values, dtype=float), np.asarray(effect, dtype=float)
    flags = np.asarray(is_b, dtype=bool)
    deals = Deals.whole(flags, np.zeros(flags.size, dtype=int) if block is None else block, **how)
    return Linear(u[None], v[None], deals).in_full(0, level=level, margin=margin)


class Linear:
    """Unit values of k trials, linear in a difference d: tails at any d, and a range for a row that asks.

    Parameters
    ----------
    u, v : (r, n) float
        Values at no difference, and what one unit of difference adds to each.
    deals : Deals
    rows : (r,) int or None
        Which of its trials they belong to; None: all.
    """

    none = 0.0

    def __init__(self, u: FloatArray, v: FloatArray, deals: Deals, rows: IntArray | None = None) -> None:
        self.deals, self.rows = deals, np.arange(len(u)) if rows is None else rows
        used = deals.used[self.rows]
        self.v = np.where(used, v, 0.0)
        self.level_tie = _TIE * np.abs(self.v).sum(axis=1)
        # centred first: a large common level costs no digits
        self.u, self.turn = deals.centred(u, self.rows), deals.centred(v, self.rows)
        self.tie = tie_of(self.u, np.where(used, u, 0.0))
        self.top, self.slope = deals.observed(self.u, self.rows), deals.observed(self.turn, self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    @staticmethod
    def other_way(d: float | FloatArray) -> float | FloatArray:
        """Return the difference that is as large the other way round."""
        return -d

    def tails(self, d: float | FloatArray, where: IntArray | None = None,
              side: int = 0) -> tuple[FloatArray, FloatArray]:
        """Return both tails at d, one for all rows or one for each of `where`: shares (r,) as high, and as low.

        `side` as in `Deals.tails`.
        """
        i = np.arange(len(self.rows)) if where is None else where
        if not len(i):
            return np.zeros(0), np.zeros(0)
        each = np.broadcast_to(np.asarray(d, dtype=float), i.shape)
        values = self.u[i] - each[:, None] * self.turn[i] if each.any() else self.u[i]
        return self.deals.tails(values, self.top[i] - each * self.slope[i], self.tie[i], self.rows[i], side)

    def estimates(self) -> FloatArray:
        """Return the d at which the statistic equals its reshuffling mean (0, once centred)."""
        flat = np.abs(self.slope) <= np.maximum(self.level_tie, 1e-300)
        return np.where(flat, np.nan, self.top / np.where(flat, 1.0, self.slope))

    def monotone(self) -> BoolArray:
        """Say where every other arrangement passes the observed one as d grows: the range has no holes."""
        used, is_b = self.deals.used[self.rows], self.deals.is_b[self.rows]
        out = np.ones(len(self.rows), dtype=bool)
        for m in self.deals.members:
            v, b, here = self.v[:, m], is_b[:, m], used[:, m]
            least = np.where(here & b, v, np.inf).min(axis=1)
            most = np.where(here & ~b, v, -np.inf).max(axis=1)
            out &= (least > most + self.level_tie) | ~here.any(axis=1)
        return out

    def least_p(self) -> FloatArray:
        """Return the smallest p that any outcome of the units left could give, (r,)."""
        return np.minimum(1.0, 2 / self.deals.size[self.rows])

    def sides(self, where: IntArray, alpha: FloatArray, up: BoolArray) -> tuple[BoolArray, BoolArray]:
        """Say whether the whole range lies above 0, and below 0, for rows in which 0 is ruled out; `up`: B is ahead."""
        above, below = up.copy(), ~up
        for i in np.flatnonzero(~self.monotone()[where]):  # rare: an adjustment tangled with the deal may make holes
            low, high = self.hulls(int(where[i]), (float(alpha[i]),))[0]
            above[i], below[i] = low > 0, high < 0
        return above, below

    def in_full(self, i: int, *, level: float, margin: float | None = None,
                same_p: float = SAMENESS_P) -> InFull:
        """Return one row's test with its ranges."""
        at = np.array([i])
        upper, lower = (float(x[0]) for x in self.tails(0.0, at))
        p = float(two_sided(upper, lower))
        (low, high), (low90, high90) = self.hulls(i, (1 - level, 2 * same_p))
        if p > 1 - level + _SLACK:
            low, high = min(low, 0.0), max(high, 0.0)  # rounding must not put 0 outside its own set
        nan = float("nan")
        shuffles, _ = self.deals.one(int(self.rows[i]))
        return InFull(
            estimate=float(self.estimates()[i]) + 0.0, p_value=p, p_upper=upper, p_lower=lower,
            low=low + 0.0, high=high + 0.0, low90=low90 + 0.0, high90=high90 + 0.0,  # no -0.0
            p_above=nan if margin is None else float(self.tails(-margin, at)[0][0]),
            p_below=nan if margin is None else float(self.tails(margin, at)[1][0]),
            least_p=shuffles.layout.least_p, exact=shuffles.exact, arrangements=shuffles.total)

    def hulls(self, i: int, alphas: tuple[float, ...]) -> list[tuple[float, float]]:
        """Return the hull of the d's not rejected, row i, for each alpha."""
        shuffles, units = self.deals.one(int(self.rows[i]))
        ends = [rejected_count(a, shuffles.size) for a in alphas]
        u, v = self.u[i, units], self.v[i, units]
        if shuffles.exact and shuffles.size > _LISTED and self.monotone()[i]:
            ranks = [r for e in ends if e for r in (e, shuffles.size - e)]
            found = iter(shuffles.halves.critical(u, v, shuffles.observed, ranks, float(self.estimates()[i])))
            # the range ends where the first arrangement too many has passed the observed one, or is left to pass
            return [(next(found), next(found)) if e else (-np.inf, np.inf) for e in ends]
        # S(d) of the observed arrangement is gap + d·turn below each other's
        gap = shuffles.sums(u[None])[0] - u[shuffles.observed].sum()
        turn = v[shuffles.observed].sum() - shuffles.sums(v[None])[0]
        moves = np.abs(turn) > self.level_tie[i]
        still = gap[~moves]
        up0, down0 = int((still >= -self.tie[i]).sum()), int((still <= self.tie[i]).sum())
        gap, turn = gap[moves], turn[moves]
        if (turn > 0).all():
            return _one_way(-gap / turn, ends, up0, down0)
        return _both_ways(-gap / turn, turn > 0, ends, up0, down0)


def _one_way(critical: FloatArray, ends: list[int], up0: int, down0: int) -> list[tuple[float, float]]:
    """Every order changes the same way: the upper tail grows and the lower shrinks with d.

    The upper tail at d counts `up0` and the critical values up to d; it must exceed the rejected count.
    """
    n = critical.size
    places = [(e - up0, n - 1 - (e - down0)) for e in ends]
    kth = sorted({i for pair in places for i in pair if 0 <= i < n})
    if kth:
        critical = np.partition(critical, kth)
    out = []
    for first, last in places:
        low = -np.inf if first < 0 else np.nan if first >= n else float(critical[first])
        high = np.inf if last >= n else np.nan if last < 0 else float(critical[last])
        out.append((low, high) if low <= high else (np.nan, np.nan))
    return out


def _both_ways(critical: FloatArray, rises: npt.NDArray[np.bool_], ends: list[int], up0: int,
               down0: int) -> list[tuple[float, float]]:
    """Orders change either way: count both tails at every critical value and take the hull."""
    order = np.argsort(critical)
    c, rise = critical[order], rises[order]
    new = np.r_[True, np.diff(c) > 1e-12 * np.maximum(1.0, np.abs(c[1:]))]
    first = np.flatnonzero(new)  # critical values equal but for rounding are one
    last = np.r_[first[1:], c.size]
    rising, falling = np.r_[0, np.cumsum(rise)], np.r_[0, np.cumsum(~rise)]
    upper = up0 + rising[last] + falling[-1] - falling[first]
    lower = down0 + rising[-1] - rising[first] + falling[last]
    out = []
    for e in ends:
        kept = np.flatnonzero((upper > e) & (lower > e))
        open_low = up0 + falling[-1] > e and down0 + rising[-1] > e
        open_high = up0 + rising[-1] > e and down0 + falling[-1] > e
        low = -np.inf if open_low else float(c[first[kept[0]]]) if kept.size else np.nan
        high = np.inf if open_high else float(c[first[kept[-1]]]) if kept.size else np.nan
        out.append((low, high))
    return out
