"""Earlier reeds beside a test of lives: they stand among those at risk, are never dealt, and sharpen the scores.

How soon reeds of a kind wear out is known better with them. What a score is worth then rests on more reeds than the
few of a trial, while the test still shuffles those alone: any score that cannot see the ways keeps it exact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import brentq

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .life_scores import scores

__all__ = ["PastLives", "scores_among"]

_SHAPES = (0.5, 10.0)  # of the Weibull life that fits them; beyond it says nothing more
_HALVINGS = 44  # a step of the grid is drawn in to 1e-15 of itself
_CELLS = 2_000_000


@dataclass(frozen=True, eq=False)
class PastLives:
    """Lives of m earlier reeds: `hours` (m,) above 0, `worn_out` (m,), at least one of them worn out.

    Notes
    -----
    Where they lasted longer than the trial's own (another batch, another season), their hours are shortened until
    they fit: as many of the trial's reeds wear out as were to, by the hours they were played and a Weibull life like
    that of the earlier ones. Never are they made longer. The factor is reckoned from the trial's times as they stand
    at the ratio that is tested, which are the same however the ways were dealt if that ratio is the true one; so the
    test stays exact at every ratio. Simulated: `tests/benchmarks/past_reeds.py`.
    """

    hours: FloatArray
    worn_out: BoolArray

    @classmethod
    def of(cls, lives: Sequence[tuple[float, bool]]) -> PastLives | None:
        """Return them from a plan's rows; None where it has none."""
        if not lives:
            return None
        hours, worn = zip(*lives, strict=True)
        return cls(np.array(hours, dtype=float), np.array(worn, dtype=bool))

    @cached_property
    def _log(self) -> FloatArray:
        return np.log(self.hours)

    @cached_property
    def _rising(self) -> FloatArray:
        return np.sort(self._log)

    @cached_property
    def weibull(self) -> tuple[float, float]:
        """Shape and logarithm of the scale of the likeliest Weibull life, censored hours and all."""
        events, x = int(self.worn_out.sum()), self._log - self._log.max()

        def slope(k: float) -> float:
            w = np.exp(k * x)
            return float(events / k + x[self.worn_out].sum() - events * (w * x).sum() / w.sum())

        low, high = _SHAPES
        shape = low if slope(low) <= 0 else high if slope(high) >= 0 else float(brentq(slope, low, high))
        return shape, float(np.log(np.exp(shape * x).sum() / events) / shape + self._log.max())

    def shortened(self, log_hours: FloatArray, worn_out: BoolArray) -> FloatArray:
        """Return the logarithm of the factor on the earlier reeds' hours, at most 0, for k trials of n reeds, (k,).

        A reed that does not count has a logarithm far below all others.
        """
        shape, scale = self.weibull
        due = np.exp(np.minimum(shape * (log_hours - scale), 700.0)).sum(axis=1)
        out: FloatArray = np.minimum(np.log(np.maximum(due, 1e-300) / (worn_out.sum(axis=1) + 0.5)) / shape, 0.0)
        return out

    def scores(self, log_hours: FloatArray, worn_out: BoolArray) -> FloatArray:
        """Return the scores of k trials' reeds, (k, n), as `life_scores.scores` with the earlier ones at risk too."""
        worn = np.broadcast_to(worn_out, log_hours.shape)
        past = self._log + self.shortened(log_hours, worn)[:, None]
        every = np.broadcast_to(self.worn_out, past.shape)
        return scores(np.concatenate([log_hours, past], axis=1),
                      np.concatenate([worn, every], axis=1))[:, :log_hours.shape[1]]

    def meetings(self, at: Callable[[FloatArray], tuple[FloatArray, BoolArray]], grid: FloatArray) -> FloatArray:
        """Return where a reed of the trial meets an earlier one, as the trial's times change with the ratio.

        Parameters
        ----------
        at : callable
            Logarithms of ratios (r,) -> the trial's log hours and who wore out, (r, n) each.
        grid : (g,) float
            Logarithms of ratios, rising. Two times that meet twice between neighbours go unseen.

        Returns
        -------
        (c,) float
            Logarithms of ratios.
        """
        def moved(x: FloatArray) -> FloatArray:
            log_t, worn = at(x)
            return log_t - self.shortened(log_t, np.broadcast_to(worn, log_t.shape))[:, None]

        place = np.searchsorted(self._rising, moved(grid))
        first, last = place[:-1], place[1:]
        step, unit = np.nonzero(first != last)
        low, high = np.minimum(first, last)[step, unit], np.maximum(first, last)[step, unit]
        many = high - low
        step, unit = np.repeat(step, many), np.repeat(unit, many)
        past = self._rising[np.concatenate([np.arange(a, b) for a, b in zip(low, high, strict=True)])] if len(
            many) else np.zeros(0)
        left, right = grid[step], grid[step + 1] if len(step) else np.zeros(0)
        below = first[step, unit] < last[step, unit]  # the reed's time lies below the earlier one's, and rises past it
        rows = max(1, _CELLS // max(1, place.shape[1]))
        for _ in range(_HALVINGS):
            middle = (left + right) / 2
            here = np.concatenate([moved(middle[i:i + rows])[np.arange(len(middle[i:i + rows])), unit[i:i + rows]]
                                   for i in range(0, len(middle), rows)]) if len(middle) else middle
            before = (here < past) == below
            left, right = np.where(before, middle, left), np.where(before, right, middle)
        return (left + right) / 2


def scores_among(log_hours: FloatArray, worn_out: BoolArray, strata: IntArray | None,
                 past: PastLives | None) -> FloatArray:
    """Return the scores of k trials' reeds, (k, n), among those at risk with them.

    `strata` (n,): each among the reeds of its own stratum; `past`: with earlier ones, too; None of either: among all.
    """
    if past is not None:
        return past.scores(log_hours, worn_out)
    if strata is None:
        return scores(log_hours, worn_out)
    out = np.empty(log_hours.shape)
    for mine in (strata == s for s in np.unique(strata)):
        out[:, mine] = scores(log_hours[:, mine], worn_out[:, mine])
    return out
