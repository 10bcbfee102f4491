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

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ...errors import InputError
from ...trial.dealing import IntArray, Labels, counts_of_b, layout_of
from ...wording import tr
from .shuffles import EXACT_LIMIT, SAMPLES, Shuffles
from .sums import FloatArray, block_centred, tie_of
from .verdict import SAMENESS_P

__all__ = ["LinearTest", "linear_test", "rejected_count"]

_TIE = 1e-9  # of Σ|effect|: turns this close to 0 are none
_SLACK = 1e-12  # rejected means p <= 1 - level + this
_LISTED = 4096  # arrangements above which they are counted in halves


@dataclass(frozen=True)
class LinearTest:
    """One test. Differences are B minus A.

    `p_upper`, `p_lower` are the one-sided p at no difference (B higher, B lower). `p_above` tests that
    the difference is above −margin, `p_below` that it is below +margin (nan without a margin).
    `arrangements` is the number the plan allows, `exact` whether all were counted.
    """

    estimate: float
    p_value: float
    p_upper: float
    p_lower: float
    low: float
    high: float
    low90: float
    high90: float
    p_above: float
    p_below: float
    least_p: float
    exact: bool
    arrangements: int


def rejected_count(alpha: float, size: int) -> int:
    """Return the largest tail count that is rejected two-sided at `alpha` among `size` arrangements."""
    return int(np.floor((alpha + _SLACK) * size / 2))


def linear_test(values: npt.ArrayLike, effect: npt.ArrayLike, is_b: npt.ArrayLike,
                block: Labels | None = None, *, level: float = 0.95, margin: float | None = None,
                seed: int | None = None, limit: int = EXACT_LIMIT, samples: int = SAMPLES,
                same_p: float = SAMENESS_P) -> LinearTest:
    """Test, estimate and range for unit values that are linear in the difference.

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
    seed, limit, samples
        Above `limit` arrangements, `samples` are drawn with `seed` (a fixed one if None).
    same_p : float
        p of each one-sided test of sameness: `low90` to `high90` is the range at 1 - 2 `same_p`, usually 90 %.

    Raises
    ------
    InputError
        Shapes differ or a value is missing.
    """
    u, v, shuffles = _prepare(values, effect, is_b, block, limit, samples, seed)
    if u.shape[0] != 1 or v.shape[0] != 1:
        raise InputError(tr("`values` and `effect` must be single columns."))
    tests = _Steps(u, v, shuffles)
    upper, lower = (int(c[0]) for c in tests.tails(0.0))
    p = min(1.0, 2 * min(upper, lower) / shuffles.size)
    (low, high), (low90, high90) = tests.hulls(0, (1 - level, 2 * same_p))
    above, below = tests.margin_p(margin)
    if p > 1 - level + _SLACK:
        low, high = min(low, 0.0), max(high, 0.0)  # rounding must not put 0 outside its own set
    return LinearTest(
        estimate=float(tests.estimates()[0]) + 0.0, p_value=p,
        p_upper=upper / shuffles.size, p_lower=lower / shuffles.size,
        low=low + 0.0, high=high + 0.0, low90=low90 + 0.0, high90=high90 + 0.0,  # no -0.0
        p_above=float(above[0]), p_below=float(below[0]),
        least_p=shuffles.layout.least_p, exact=shuffles.exact, arrangements=shuffles.total)


def _prepare(values: npt.ArrayLike, effect: npt.ArrayLike, is_b: npt.ArrayLike,
             block: Labels | None, limit: int, samples: int,
             seed: int | None) -> tuple[FloatArray, FloatArray, Shuffles]:
    u = np.atleast_2d(np.asarray(values, dtype=float))
    v = np.atleast_2d(np.asarray(effect, dtype=float))
    flags = np.asarray(is_b, dtype=bool)
    labels = np.zeros(flags.size, dtype=int) if block is None else block
    n = flags.size
    if u.shape[1] != n or v.shape[1] != n or len(labels) != n or len(v) not in (1, len(u)):
        raise InputError(tr("`values` {shape}, `effect` {shape2}, `is_b` {shape3} and `block` ({n},) do not fit "
                            "together; give one value for each unit.").format(
                             shape=u.shape, shape2=v.shape, shape3=flags.shape, n=len(labels)))
    if not (np.isfinite(u).all() and np.isfinite(v).all()):
        raise InputError(tr("`values` and `effect` must be numbers; leave missing units out first."))
    layout = layout_of(labels, counts_of_b(labels, flags))
    return u, v, Shuffles(layout, flags, limit=limit, samples=samples, seed=seed)


class _Steps:
    """Differences from the observed arrangement: its S(d) is `gap + d·turn` below each other's.

    `gap` is (k, N), `turn` (1, N) or (k, N); neither is written out where the halves can be counted instead.
    """

    def __init__(self, u: FloatArray, v: FloatArray, shuffles: Shuffles) -> None:
        layout = shuffles.layout
        self.shuffles, self.size = shuffles, shuffles.size
        self.u = block_centred(u, layout)  # centred first: a large common level costs no digits
        self.v = v
        self.top = shuffles.observed_sums(self.u)
        self.slope = shuffles.observed_sums(block_centred(v, layout))
        self.tie = tie_of(self.u, u)
        self.level_tie = _TIE * np.abs(v).sum(axis=1)
        self.in_halves = shuffles.exact and self.size > _LISTED

    @cached_property
    def gap(self) -> FloatArray:
        return self.shuffles.sums(self.u) - self.top[:, None]

    @cached_property
    def turn(self) -> FloatArray:
        return self.shuffles.observed_sums(self.v)[:, None] - self.shuffles.sums(self.v)

    def tails(self, d: float) -> tuple[IntArray, IntArray]:
        """Count the arrangements at least as high and at least as low as the observed one, at d."""
        if self.in_halves:
            return self.shuffles.tails(self.u if d == 0 else self.u - d * self.v, self.tie)
        diff = self.gap if d == 0 else self.gap + d * self.turn
        return ((diff >= -self.tie[:, None]).sum(axis=1), (diff <= self.tie[:, None]).sum(axis=1))

    def margin_p(self, margin: float | None) -> tuple[FloatArray, FloatArray]:
        if margin is None:
            return np.full(len(self.u), np.nan), np.full(len(self.u), np.nan)
        return self.tails(-margin)[0] / self.size, self.tails(margin)[1] / self.size

    def estimates(self) -> FloatArray:
        """Return the d at which the statistic equals its reshuffling mean (0, once centred)."""
        flat = np.abs(self.slope) <= np.maximum(self.level_tie, 1e-300)
        return np.where(flat, np.nan, self.top / np.where(flat, 1.0, self.slope))

    def hulls(self, i: int, alphas: tuple[float, ...]) -> list[tuple[float, float]]:
        """Return the hull of the d's not rejected, trial i, for each alpha."""
        if self.in_halves and self._overtaken(i):
            return self._in_order(i, [rejected_count(a, self.size) for a in alphas])
        gap, turn = self.gap[i], self.turn[min(i, len(self.turn) - 1)]
        level_tie = self.level_tie[min(i, len(self.level_tie) - 1)]
        moves = np.abs(turn) > level_tie
        still = gap[~moves]
        up0, down0 = int((still >= -self.tie[i]).sum()), int((still <= self.tie[i]).sum())
        gap, turn = gap[moves], turn[moves]
        ends = [rejected_count(a, self.size) for a in alphas]
        if (turn > 0).all():
            return _one_way(-gap / turn, ends, up0, down0)
        return _both_ways(-gap / turn, turn > 0, ends, up0, down0)

    def _overtaken(self, i: int) -> bool:
        """Say whether every other arrangement passes the observed one as d grows: the set of d's has no holes."""
        v, tie = self.v[min(i, len(self.v) - 1)], self.level_tie[min(i, len(self.v) - 1)]
        b = self.shuffles.observed
        return all(v[m[b[m]]].min() > v[m[~b[m]]].max() + tie for m in self.shuffles.layout.members)

    def _in_order(self, i: int, ends: list[int]) -> list[tuple[float, float]]:
        """The range ends where the first arrangement too many has passed the observed one, or is left to pass."""
        ranks = [r for e in ends if e for r in (e, self.size - e)]
        found = iter(self.shuffles.halves.critical(
            self.u[i], self.v[min(i, len(self.v) - 1)], self.shuffles.observed, ranks, float(self.estimates()[i])))
        return [(next(found), next(found)) if e else (-np.inf, np.inf) for e in ends]


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
    order = np.argsort(critical, kind="stable")
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
