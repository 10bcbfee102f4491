"""One set of lives along the ratio: which ratios are ruled out, and where the statistic crosses its mean.

Up to some ten thousand steps all are looked at. Beyond, where lives are many, the ends are found by narrowing: a
coarse grid of steps, then finer ones from one cell outside the outermost that fits, down to single steps. A hole
there narrower than the grid can go unseen far outside the end; near the end every step is tried.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .life_scores import evaluation_points, limit_ratios, merged, score_tie, times_at
from .linear import rejected_count
from .past_lives import PastLives, scores_among
from .shuffles import ROUGH_DRAWS, Shuffles

__all__ = ["Scan", "farthest"]

_ROUGH_FROM = 30_000  # steps of a count from which a few draws spare it where they are clear
_WHOLE = 2_000_000  # numbers scored up to which every ratio is looked at
_CELLS = 4_000_000
_AT_ONCE = 300_000  # numbers scored at once along the whole span
_GRID, _FINER = 64, 32
_FARTHEST, _STEP = np.log(1000.0), 0.02  # where meetings with earlier reeds are sought, and how closely


class Scan:
    """All steps of one set of lives along the ratio, counted only where needed.

    Parameters
    ----------
    hours : (n,) float, above 0
    worn : (n,) bool
    shuffles : Shuffles
        Of the deal that was made.
    share : (n,) float
        How much of the ratio each unit's time is divided by, ratio ** share: 1 for B and 0 for A, as dealt.
    critical : (m,) float
        Every ratio at which an order of scores can change, sorted (`critical_ratios`, `meeting_ratios`).
    strata : (n,) int or None
        Units are scored among those of their own stratum (a trial, where several are combined); None: among all.
    watched : (n,) float or None
        Hours up to which each unit was, or would have been, watched, whatever its habit: lives are then read up to
        the hour that both habits could have been seen to (`life_scores.recensored`). The farther a ratio lies from 1,
        the less is left to tell by, so a ratio far out would fit for want of lives. If B's lives were stretched by
        more than a ratio, they speak against that ratio more strongly still; so what speaks against the ratio on
        either side at which the statistic lies farthest from its mean rules out all beyond, and the hull is sought
        from there inwards. None: censored times are scaled like all others.
    past : PastLives or None
        Earlier reeds at risk beside them; not with strata.
    """

    def __init__(self, hours: FloatArray, worn: BoolArray, shuffles: Shuffles, *, critical: FloatArray,
                 share: FloatArray, strata: IntArray | None, watched: FloatArray | None,
                 past: PastLives | None) -> None:
        self.hours, self.worn, self.shuffles, self.watched = hours, worn, shuffles, watched
        self.is_b, self.share, self.past, self.strata = shuffles.observed, share, past, strata
        if watched is not None:
            critical = merged(np.r_[critical, limit_ratios(hours, worn, self.share, watched)])
        if past is not None:
            grid = np.r_[np.log(evaluation_points(critical)), np.arange(-_FARTHEST, _FARTHEST, _STEP)]
            critical = merged(np.r_[critical, np.exp(past.meetings(self._times, np.unique(grid)))])
        self.points = evaluation_points(critical)
        self._least: dict[int, int] = {}
        self._rough: dict[int, float] = {}

    def scores(self, ratios: npt.ArrayLike) -> FloatArray:
        """Return the scores of every unit at each ratio, (len(ratios), n)."""
        return scores_among(*self._times(np.log(np.asarray(ratios, dtype=float))), self.strata, self.past)

    def _times(self, log_ratios: FloatArray) -> tuple[FloatArray, BoolArray]:
        return times_at(self.hours, self.worn, self.share, log_ratios, self.watched)

    def hull(self, alpha: float) -> tuple[float, float]:
        """Return the hull of the ratios not rejected, sought from outside inwards; with `watched`, see there."""
        first, last = (0, len(self.points) - 1) if self.watched is None else self.span
        left = self._first(lambda at: self._kept(at, alpha), -1, first, last)
        if left is None:
            return float("nan"), float("nan")
        right = self._first(lambda at: self._kept(at, alpha), +1, first, last)
        assert right is not None
        return (0.0 if left == first else self._edge(left, -1),
                float("inf") if right == last else self._edge(right, +1))

    @cached_property
    def span(self) -> tuple[int, int]:
        """The steps between which the hull is sought where what can be seen shrinks with the ratio."""
        n = len(self.points)
        at = np.arange(n) if n * len(self.hours) <= _WHOLE else np.unique(np.linspace(0, n - 1, 8 * _GRID).astype(int))
        parts = np.array_split(at, 1 + len(at) * len(self.hours) // _AT_ONCE)
        first, last = farthest(np.concatenate([self.standing(part)[1] for part in parts]))
        return int(at[first]), int(at[last])

    def crossing(self) -> float:
        """Return the ratio at which the observed Σ scores in B crosses its reshuffling mean."""
        last_below, first_above = self._crossing
        lo = self._edge(last_below, +1) if last_below is not None else 0.0
        hi = self._edge(first_above, -1) if first_above is not None else float("inf")
        if lo == 0.0:
            return float("nan") if hi == float("inf") else 0.0
        return lo if lo == hi else float(np.sqrt(lo * hi))  # inf where the statistic is never above

    @cached_property
    def _crossing(self) -> tuple[int | None, int | None]:
        """The last step with the statistic below its mean, and the first with it above."""
        return (self._first(lambda at: self._beyond(at, -1), +1), self._first(lambda at: self._beyond(at, +1), -1))

    def _beyond(self, at: IntArray, side: int) -> BoolArray:
        """Say at which steps the statistic lies above (+1) or below (-1) its reshuffling mean."""
        excess, _, tie = self.standing(at)
        out: BoolArray = side * excess > tie
        return out

    def standing(self, at: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return how far the statistic lies above its reshuffling mean, in scores and in deviations, and the tie."""
        s = self.scores(self.points[at])
        tie = score_tie(s)
        variance = np.zeros(len(s))
        for members, k in zip(self.shuffles.layout.members, self.shuffles.layout.n_b, strict=True):
            mine = s[:, members] - s[:, members].mean(axis=1, keepdims=True)
            s[:, members] = mine
            m = len(members)
            variance += k * (m - k) / (m * (m - 1)) * (mine**2).sum(axis=1)
        excess = s[:, self.is_b].sum(axis=1)
        return excess, np.where(variance > tie, excess / np.sqrt(np.maximum(variance, 1e-300)), 0.0), tie

    def _first(self, holds: Callable[[IntArray], BoolArray], side: int, first: int = 0,
               last: int | None = None) -> int | None:
        """Return the first step that `holds`, sought from the smallest ratio (-1) or from the largest (+1)."""
        last = len(self.points) - 1 if last is None else last
        turn = (lambda at: first + at) if side < 0 else (lambda at: last - at)
        rows = max(1, _CELLS // max(1, len(self.hours)))

        def at(places: IntArray) -> BoolArray:
            return np.concatenate([holds(turn(places[i:i + rows])) for i in range(0, len(places), rows)])

        whole = len(self.points) * len(self.hours) <= _WHOLE
        found = _first_true(at, last - first + 1, whole=whole)
        return None if found is None else int(turn(np.int64(found)))

    def _edge(self, i: int, side: int) -> float:
        """Return the end of step i on one side: the ratio itself, or the stretch's closing ratio."""
        if i % 2:
            return float(self.points[i])
        j = i + side
        if 0 <= j < len(self.points):
            return float(self.points[j])
        return 0.0 if side < 0 else float("inf")

    def _kept(self, at: IntArray, alpha: float) -> BoolArray:
        """Say which steps are not rejected."""
        most = rejected_count(alpha, self.shuffles.size)
        out = np.zeros(len(at), dtype=bool)
        unsure = np.ones(len(at), dtype=bool)
        if self.shuffles.steps >= _ROUGH_FROM and len(self.points) > 1:
            rough = self._looked_up(self._rough, at, rough=True) / ROUGH_DRAWS
            slack = 6 * np.sqrt(alpha / 2 * (1 - alpha / 2) / ROUGH_DRAWS)
            out = rough > alpha / 2 + slack
            unsure = ~out & (rough >= alpha / 2 - slack)
        where = np.flatnonzero(unsure)
        out[where] = self._looked_up(self._least, at[where], rough=False) > most
        return out

    def _looked_up(self, known: dict[int, Any], at: IntArray, *, rough: bool) -> npt.NDArray[Any]:
        """Return the smaller tail's count at each step, in a few draws or in all arrangements, once each."""
        new = np.array([i for i in dict.fromkeys(at.tolist()) if i not in known], dtype=np.intp)
        if len(new):
            s = self.scores(self.points[new])
            count = (self.shuffles.rough_tails(s, score_tie(s)) if rough
                     else self.shuffles.tails(s, score_tie(s)))
            known.update(zip(new.tolist(), np.minimum(*count).tolist(), strict=True))
        return np.array([known[i] for i in at.tolist()], dtype=np.intp)


def farthest(deviations: FloatArray) -> tuple[int, int]:
    """Return the outermost steps at which the statistic lies farthest below, and farthest above, its mean.

    Both are taken outwards to the next open stretch, an even place.
    """
    low, high = np.flatnonzero(deviations <= deviations.min() + 1e-9), np.flatnonzero(
        deviations >= deviations.max() - 1e-9)
    first, last = int(low[0]), int(high[-1])
    if first > last:
        return 0, len(deviations) - 1
    return first - first % 2, min(last + last % 2, len(deviations) - 1)


def _first_true(holds: Callable[[IntArray], BoolArray], n: int, *, whole: bool) -> int | None:
    """Return the first place 0..n-1 that `holds`: all of them tried in turn (`whole`), or by narrowing."""
    if not whole:
        return _narrowed(holds, n)
    start, size = 0, 8
    while start < n:
        found = np.flatnonzero(holds(np.arange(start, min(start + size, n))))
        if found.size:
            return start + int(found[0])
        start, size = start + size, min(4 * size, 512)
    return None


def _narrowed(holds: Callable[[IntArray], BoolArray], n: int) -> int | None:
    for cells in (_GRID, 8 * _GRID, 64 * _GRID):
        places = np.unique(np.linspace(0, n - 1, cells).astype(np.intp))
        found = np.flatnonzero(holds(places))
        if found.size:
            break
    else:
        return None
    first = int(found[0])
    low, high = int(places[first - 1]) if first else -1, int(places[first])
    while high > 0:
        outwards = max(high - low, _FINER)
        start = max(0, low + 1 - outwards)
        cell = max(1, (high - start) // _FINER)
        places = np.arange(start, high, cell)
        found = np.flatnonzero(holds(places))
        if not found.size:
            low = int(places[-1])
        else:
            high = int(places[found[0]])
            low = int(places[found[0] - 1]) if found[0] else max(-1, high - outwards)
        if high - low == 1 and cell == 1 and not (found.size and found[0] == 0):
            break
    return high
