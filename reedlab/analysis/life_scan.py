"""One set of lives along the ratio: which ratios are ruled out, and where the statistic crosses its mean."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..dealing import BoolArray, draw_from
from .life_scores import critical_ratios, evaluation_points, scores_at
from .randomise import rejected_count
from .shuffles import DEFAULT_SEED, FloatArray, Shuffles

__all__ = ["Scan", "tails"]

_TIE = 1e-9
_SCREEN_FROM = 30_000  # arrangements from which a drawn sample spares exact counts
_SCREEN_DRAWS = 20_000
_CELLS = 4_000_000


class Scan:
    """All steps of one set of lives along the ratio, counted only where needed.

    Parameters
    ----------
    hours : (n,) float, above 0
    worn : (n,) bool
    shuffles : Shuffles
        Of the deal that was made.
    share : (n,) float or None
        How much of the ratio each unit's time is divided by, ratio ** share; None: 1 for B, 0 for A.
    critical : (m,) float or None
        Every ratio at which an order of scores can change, sorted; None: all t_B / t_A.
    strata : (n,) int or None
        Units are scored among those of their own stratum (a trial, where several are combined); None: among all.
    """

    def __init__(self, hours: FloatArray, worn: BoolArray, shuffles: Shuffles, *,
                 share: FloatArray | None = None, critical: FloatArray | None = None,
                 strata: npt.NDArray[np.intp] | None = None) -> None:
        self.hours, self.worn, self.shuffles = hours, worn, shuffles
        self.is_b = shuffles.observed
        self.share = self.is_b.astype(float) if share is None else share
        if critical is None:
            critical = critical_ratios(hours, worn, self.is_b)
        self.critical = critical
        self.points = evaluation_points(critical)
        self._strata = [np.arange(len(hours))] if strata is None else [
            np.flatnonzero(strata == s) for s in np.unique(strata)]
        self.scores = self._scores(self.points)
        self._tails: dict[int, tuple[float, float]] = {}
        self._rough: FloatArray | None = None

    def tails_at(self, ratios: Sequence[float]) -> list[tuple[float, float]]:
        """Return (upper, lower) tail shares of Σ scores in B at each ratio."""
        return [tails(row, self.shuffles) for row in self._scores(ratios)]

    def hull(self, alpha: float) -> tuple[float, float]:
        """Return the hull of the ratios not rejected, scanned from outside inwards."""
        last = len(self.points) - 1
        left = next((i for i in range(last + 1) if self._kept(i, alpha)), None)
        if left is None:
            return float("nan"), float("nan")
        right = next(i for i in range(last, left - 1, -1) if self._kept(i, alpha))
        return self._edge(left, -1), self._edge(right, +1)

    def crossing(self) -> float:
        """Return the ratio at which the observed Σ scores in B crosses its reshuffling mean."""
        centre = self.scores.copy()
        for members in self.shuffles.layout.members:
            centre[:, members] -= centre[:, members].mean(axis=1, keepdims=True)
        excess = centre[:, self.is_b].sum(axis=1)
        tie = _TIE * np.maximum(1.0, np.abs(self.scores).sum(axis=1))
        below, above = np.flatnonzero(excess < -tie), np.flatnonzero(excess > tie)
        lo = self._edge(int(below[-1]), +1) if below.size else 0.0
        hi = self._edge(int(above[0]), -1) if above.size else float("inf")
        if lo == 0.0:
            return float("nan") if hi == float("inf") else 0.0
        return lo if lo == hi else float(np.sqrt(lo * hi))  # inf where the statistic is never above

    def _scores(self, ratios: npt.ArrayLike) -> FloatArray:
        at = np.asarray(ratios, dtype=float)
        out = np.empty((at.size, len(self.hours)))
        for mine in self._strata:
            out[:, mine] = scores_at(self.hours[mine], self.worn[mine], self.share[mine], at)
        return out

    def _edge(self, i: int, side: int) -> float:
        """Return the end of step i on one side: the ratio itself, or the stretch's closing ratio."""
        if i % 2:
            return float(self.points[i])
        j = i + side
        if 0 <= j < len(self.points):
            return float(self.points[j])
        return 0.0 if side < 0 else float("inf")

    def _kept(self, i: int, alpha: float) -> bool:
        rough = self._screen()
        if rough is not None:
            slack = 6 * np.sqrt(alpha / 2 * (1 - alpha / 2) / _SCREEN_DRAWS)
            if rough[i] < alpha / 2 - slack:
                return False
            if rough[i] > alpha / 2 + slack:
                return True
        if i not in self._tails:
            self._tails[i] = tails(self.scores[i], self.shuffles)
        least = round(min(self._tails[i]) * self.shuffles.size)
        return least > rejected_count(alpha, self.shuffles.size)

    def _screen(self) -> FloatArray | None:
        """Return each step's smaller tail share in a drawn sample, where counting all would be slow."""
        if not self.shuffles.exact or self.shuffles.size < _SCREEN_FROM or len(self.points) == 1:
            return None
        if self._rough is None:
            drawn = draw_from(self.shuffles.layout, _SCREEN_DRAWS, DEFAULT_SEED).astype(float).T
            self._rough = _smaller_tails(self.scores, drawn, self.is_b)
        return self._rough


def tails(row: FloatArray, shuffles: Shuffles) -> tuple[float, float]:
    """Return the shares of arrangements whose Σ scores in B is at least as high, and at least as low."""
    diff = shuffles.sums(row[None, :])[0] - row[shuffles.observed].sum()
    tie = _TIE * max(1.0, float(np.abs(row).sum()))
    n = shuffles.size
    return int((diff >= -tie).sum()) / n, int((diff <= tie).sum()) / n


def _smaller_tails(rows_: FloatArray, drawn: FloatArray, is_b: BoolArray) -> FloatArray:
    out = np.empty(len(rows_))
    step = max(1, _CELLS // drawn.shape[1])
    for start in range(0, len(rows_), step):
        part = rows_[start:start + step]
        diff = part @ drawn - part[:, is_b].sum(axis=1)[:, None]
        tie = _TIE * np.maximum(1.0, np.abs(part).sum(axis=1))[:, None]
        out[start:start + step] = np.minimum((diff >= -tie).mean(axis=1), (diff <= tie).mean(axis=1))
    return out
