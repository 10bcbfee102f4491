"""What the two always-valid readings share: the path of a mixture of bets, the ends of a range, the verdict.

A bet has a mean of exactly 1 over the deals that the plan allowed, given all that was seen before; so has a
product of bets, and a mean of such products: a test martingale. It reaches 1/α in at most α of all trials
(Ville 1939; ter Schure, Perez-Ortiz, Ly & Grünwald, arXiv 2011.06931).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...trial.arrays import BoolArray, FloatArray
from ...trial.result import Verdict

__all__ = ["Path", "followed_verdict", "hull", "mixed", "range_of", "winning_side"]

_SLACK = 1e-12
_PARTS, _ROUNDS = 8, 12  # an end is drawn in to 8^-12 of the step it lies in
_STEPS = 60  # differences tried on each side of the estimate before the ends are drawn in
_NEAR, _FAR = 1e-3, 1e3  # the nearest and the furthest of them, in ranges of the outcome
_CELLS = 2_000_000  # numbers held at once


@dataclass(frozen=True)
class Path:
    """The paths of k mixtures of bets over m steps. `e_values` and `share_up` are (k, m).

    `share_up` is the part of the e-value that comes from bets on B being better.
    """

    e_values: FloatArray
    share_up: FloatArray

    @classmethod
    def of(cls, logs: FloatArray) -> Path:
        """Multiply up logs of bets, (k, m, 2h): the first h bet on B being better, the last h on A; equal weights."""
        return cls(*mixed(logs.cumsum(axis=1)))

    @property
    def last(self) -> Path:
        """Only where each path stands now."""
        return Path(self.e_values[:, -1:], self.share_up[:, -1:])

    @property
    def most(self) -> FloatArray:
        """The highest point of each path, at least 1: where it starts."""
        out: FloatArray = self.e_values.max(axis=1, initial=1.0)
        return out


def mixed(sums: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the e-values and the share of bets on B from logs of products of bets, (..., 2h) to (...) each."""
    half = sums.shape[-1] // 2
    top = sums.max(axis=-1, initial=-np.inf, keepdims=True)
    lifted = np.exp(sums - top)
    total = lifted.sum(axis=-1)
    e: FloatArray = np.exp(np.minimum(top[..., 0], 700.0)) * total / sums.shape[-1]
    return e, lifted[..., :half].sum(axis=-1) / total


def winning_side(path: Path, bar: float) -> Verdict:
    """Return the side named by the first of the paths: "a_better" or "b_better"; "cannot_tell" below the bar."""
    over = np.flatnonzero(path.e_values[0] >= bar * (1 - _SLACK))
    if not over.size:
        return "cannot_tell"
    return "b_better" if path.share_up[0, over[0]] > 0.5 else "a_better"


def followed_verdict(winner: Verdict, low: float, high: float, least: float, most: float) -> Verdict:
    """Return the verdict: sameness where the range lies inside what matters, else what `winning_side` says."""
    if least < low and high < most:
        return "no_real_difference"
    return winner


def range_of(estimate: float, spread: float, highest: Callable[[FloatArray], FloatArray], cells: int,
             bar: float) -> tuple[float, float]:
    """Return the hull of the differences at which the odds never reached the bar.

    Parameters
    ----------
    estimate, spread : float
        Where to seek from, and the range of the outcome (0: 1 instead).
    highest : callable
        Differences (d,) -> the highest point of the path at each.
    cells : int
        How many numbers one difference takes.
    bar : float
    """
    def open_at(d: FloatArray) -> BoolArray:
        step = max(1, _CELLS // max(1, cells))
        return np.concatenate([highest(d[i:i + step]) for i in range(0, len(d), step)]) < bar

    out = (spread or 1.0) * np.geomspace(_NEAR, _FAR, _STEPS)
    return hull(np.sort(np.concatenate([[0.0, estimate], estimate - out, estimate + out])), open_at)


def hull(tried: FloatArray, open_at: Callable[[FloatArray], BoolArray]) -> tuple[float, float]:
    """Return the ends of what is still open among sorted values; inf where the last value tried is open.

    Each end is drawn in between the last open and the first closed value; nan where none is open.
    """
    still = np.flatnonzero(open_at(tried))
    if not still.size:
        return float("nan"), float("nan")
    ends = []
    for at, side in ((int(still[0]), -1), (int(still[-1]), +1)):
        if not 0 <= at + side < tried.size:
            ends.append(side * np.inf)
            continue
        inside, outside = float(tried[at]), float(tried[at + side])
        for _ in range(_ROUNDS):
            between = np.linspace(inside, outside, _PARTS + 1)
            closed = np.flatnonzero(~open_at(between[1:-1]))
            first = int(closed[0]) + 1 if closed.size else _PARTS
            inside, outside = float(between[first - 1]), float(between[first])
        ends.append(inside)
    return ends[0], ends[1]
