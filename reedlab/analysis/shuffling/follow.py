"""Follow two habits by numbers, block by block, for as long as one likes: the answer is valid at every look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.result import Verdict
from ._units import check_options, columns, gather, numbers
from .always_valid import Path, followed_verdict, range_of, winning_side

__all__ = ["EFFECTS", "Followed", "block_bets", "follow"]


#: Gaps tried, in spreads of the units of a block: doublings, so that the truth is never far from one of them.
EFFECTS: Final = (0.25, 0.5, 1.0, 2.0, 4.0)
_PLAIN = 600.0  # exp of it and of its negative are still plain numbers


@dataclass(frozen=True)
class Followed:
    """The answer of `follow` and `follow_lives`.

    `e_value` is how many times better than shuffling alone the bets on the deal have done, `e_values` its path
    (one for each block of `follow`, one for each hour at which units of a block wore out of `follow_lives`).
    `most` is its highest point: a winner is named once that reaches 1/(1 − level), and stays named.
    `estimate`, `low`, `high` are differences B minus A, or ratios of B's life over A's; the range holds what was
    never ruled out at 1/(1 − level) (±inf, or 0 and inf: no end; nan: nothing is left). `events` counts the
    worn-out units of A and of B (None for numbers).
    """

    labels: tuple[Any, Any]
    estimate: float
    e_value: float
    e_values: tuple[float, ...]
    most: float
    low: float
    high: float
    level: float
    units: tuple[int, int]
    blocks_used: int
    blocks_dropped: int
    dropped: tuple[str, ...]
    events: tuple[int, int] | None = None
    matters: float | None = None
    verdict: Verdict | None = None

    @property
    def ratio(self) -> float:
        """The estimate, under the name that lives have for it."""
        return self.estimate

    def __repr__(self) -> str:
        a, b = self.labels
        lines = [f"{b} {'minus' if self.events is None else 'over'} {a}: {self.estimate:.4g}",
                 f"{self.level:.0%} range, valid at every look, {self.low:.4g} to {self.high:.4g}",
                 f"e {self.e_value:.4g} now, {self.most:.4g} at most; a winner is named at {1 / (1 - self.level):.4g}",
                 f"{self.units[0]} v {self.units[1]} units, blocks {self.blocks_used}"
                 + (f", left out {self.blocks_dropped}" if self.blocks_dropped else "")]
        if self.events is not None:
            lines.insert(3, f"worn out {self.events[0]} v {self.events[1]}")
        if self.verdict is not None:
            lines.append(f"verdict: {self.verdict}")
        return "<Followed\n  " + "\n  ".join(lines) + ">"


def follow(outcome: npt.ArrayLike, arm: npt.ArrayLike, block: npt.ArrayLike, *, level: float = 0.95,
           matters: float | None = None, data: pd.DataFrame | None = None) -> Followed:
    """Follow two habits by a test that may be looked at after every block.

    Parameters
    ----------
    outcome, arm, data
        As in `compare`.
    block : (n,) labels
        Blocks within which the arms were dealt, in the order in which they were completed.
    level : float
        Of the range; a winner is named at 1/(1 − level).
    matters : float or None
        The smallest difference that matters; gives a `verdict`.

    Returns
    -------
    Followed
        Where no block holds both arms: estimate nan, e 1, range without ends.

    Raises InputError, which names every argument that cannot be used.

    Notes
    -----
    For a gap of δ spreads the bet on a block is exp(λ Σ y in B), λ = δ/s, over its mean over every deal of the
    block: what a normal model with that gap says of the deal, given the block's numbers. The spread s is that of
    all numbers so far about the mean of their block, without a look at the arms, so the mean of the bet over the
    deals is exactly 1. The bets multiply over the blocks, for each of `EFFECTS` and its negative, and the
    e-value is the mean of the ten products: a test martingale, which reaches 1/α in at most α of all trials
    without a difference, however often it is looked at (Ville 1939; Howard, Ramdas, McAuliffe & Sekhon 2021).
    A block that has lost an arm bets nothing. The range is the hull of the differences d for which the same
    test, with d taken from B's numbers, has never reached 1/(1 − level): the hull over a fine grid, each end
    drawn in. `estimate` is the mean difference of `compare`.
    """
    faults: list[str] = []
    outcome, arm, block = columns(data, faults, outcome=outcome, arm=arm, block=block)
    y = numbers(outcome, "outcome", faults)
    check_options(level, matters, 0.0, None, faults)
    units = gather(~np.isnan(y), arm, block, faults)
    bar = 1 / (1 - level)
    here = ~np.isnan(y)
    count = int(units.every_block.max(initial=-1)) + 1
    y, is_b, codes = y[here], units.every_b[here], units.every_block[here]
    path = _path(y, is_b, codes, count, np.zeros(1))
    estimate, low, high = float("nan"), -np.inf, np.inf
    if units.keep.size:
        estimate = _estimate(y, is_b, codes)
        low, high = range_of(estimate, float(np.ptp(y)), lambda d: _path(y, is_b, codes, count, d).most,
                             2 * len(EFFECTS) * y.size, bar)
    e = path.e_values[0]
    return Followed(
        labels=units.labels, estimate=estimate, e_value=float(e[-1]) if e.size else 1.0,
        e_values=tuple(map(float, e)), most=float(path.most[0]), low=low, high=high, level=level, units=units.counts,
        blocks_used=units.blocks_used, blocks_dropped=len(units.dropped), dropped=units.dropped, matters=matters,
        verdict=None if matters is None else followed_verdict(
            winning_side(path, bar), low, high, -matters, matters))


def block_bets(y: FloatArray, is_b: BoolArray, spread: FloatArray) -> FloatArray:
    """Return the logarithms of the bets on one block's deal, (k, 10): first for B higher, then for B lower.

    Parameters
    ----------
    y : (k, n) float
        The block's numbers in k versions.
    is_b : (n,) bool
    spread : (k,) float
        Of the units of a block; 0: all bets are 1.
    """
    k, n = y.shape
    b = int(is_b.sum())
    if not 0 < b < n:
        return np.zeros((k, 2 * len(EFFECTS)))
    effects = np.array(EFFECTS)
    scaled = (y - y.mean(axis=1, keepdims=True)) / np.where(spread > 0, spread, np.inf)[:, None]
    tilt = scaled[:, None, :] * np.concatenate([effects, -effects])[None, :, None]
    bets: FloatArray = tilt[:, :, is_b].sum(axis=2) - _log_mean(tilt, b)
    return bets


def _log_mean(tilt: FloatArray, b: int) -> FloatArray:
    """Return log of the mean of exp(Σ tilt over a subset) over all subsets of b of the n, (..., n) to (...).

    Units are taken in one by one: after i of them, `means[j]` is the mean over the subsets of j of those i; the
    share of subsets that hold the newest unit is j/i. In logarithms where plain numbers would run out.
    """
    n = tilt.shape[-1]
    plain = np.maximum(tilt, 0.0).sum(axis=-1).max() < _PLAIN and -np.minimum(tilt, 0.0).sum(axis=-1).min() < _PLAIN
    means = np.full((*tilt.shape[:-1], b + 1), 0.0 if plain else -np.inf)
    means[..., 0] = 1.0 if plain else 0.0
    lift = np.exp(tilt) if plain else tilt
    for i in range(1, n + 1):
        top = min(i, b)
        share = np.arange(1, top + 1) / i
        old, grown = means[..., 1:top + 1], means[..., :top]
        newest = lift[..., i - 1, None]
        if plain:
            means[..., 1:top + 1] = old * (1 - share) + grown * share * newest
        else:
            with np.errstate(divide="ignore"):
                means[..., 1:top + 1] = np.logaddexp(old + np.log1p(-share), grown + np.log(share) + newest)
    out: FloatArray = np.log(means[..., b]) if plain else means[..., b]
    return out


def _path(y: FloatArray, is_b: BoolArray, codes: IntArray, count: int, differences: FloatArray) -> Path:
    """Return the path of the bets, with each difference taken from B's numbers: (differences, blocks, effects)."""
    logs = np.zeros((differences.size, count, 2 * len(EFFECTS)))
    squares, freedom = np.zeros(differences.size), 0
    floor = 1e-9 * np.maximum(1.0, np.abs(y).max(initial=0.0) + np.abs(differences))
    for c in range(count):
        mine = codes == c
        shifted = y[mine] - differences[:, None] * is_b[mine]
        if 0 < is_b[mine].sum() < mine.sum():
            squares = squares + ((shifted - shifted.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
            freedom += int(mine.sum()) - 1
            spread = np.sqrt(squares / freedom)
            logs[:, c] = block_bets(shifted, is_b[mine], np.where(spread > floor, spread, 0.0))
    return Path.of(logs)


def _estimate(y: FloatArray, is_b: BoolArray, codes: IntArray) -> float:
    gaps, weights = [], []
    for c in np.unique(codes):
        b, a = y[(codes == c) & is_b], y[(codes == c) & ~is_b]
        if b.size and a.size:
            gaps.append(b.mean() - a.mean())
            weights.append(a.size * b.size / (a.size + b.size))
    return float(np.average(gaps, weights=weights))
