"""The plain day-by-day test of many simulated runs at once (no adjustment): the engine's own, batched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..analysis.randomise import linear_test_batch
from ..errors import InputError
from .simulate import Batch

__all__ = ["DayTests", "day_tests", "unit_means"]

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DayTests:
    """One test for each run, (n,): gap of the second habit over the first, two-sided p, ends of the range.

    A run in which every set lost a habit has no gap (nan), p 1 and an open range.
    """

    estimate: _Floats
    p_value: _Floats
    low: _Floats
    high: _Floats

    def claims(self, at: float = 0.05) -> int:
        """Return in how many runs a difference would have been claimed."""
        return int(np.sum(self.p_value <= at + 1e-12))


def unit_means(batch: Batch) -> _Floats:
    """Return the mean rating of each unit's rated cells, (n, units); nan where none is rated.

    Sittings where the player was not sure of the reed are left out, as in the analysis.
    """
    unit = batch.plan.slot_unit
    member = (unit[:, None] == np.arange(len(batch.plan.blocks))).astype(float)
    rated = np.isfinite(batch.rating) & ~batch.unsure_reed
    count = rated @ member
    total = np.where(rated, batch.rating, 0.0) @ member
    with np.errstate(invalid="ignore"):
        return np.where(count > 0, total / count, np.nan)


def day_tests(batch: Batch, *, level: float = 0.95, ranges: bool = False) -> DayTests:
    """Judge every run of a day-by-day plan by the shuffling test of its unit means.

    A set that lost one of its units leaves, as in `compare`. Runs with the same sets left are judged
    together. Raises InputError for another design.
    """
    if batch.protocol.design != "day_by_day":
        raise InputError("`day_tests` judges day-by-day plans only.")
    n = len(batch)
    blocks = np.asarray(batch.plan.blocks)
    values = _in_the_plans_order(unit_means(batch), batch.dealt_b, batch.plan.dealt_b, blocks)
    out = {name: np.full(n, fill) for name, fill in
           (("estimate", np.nan), ("p_value", 1.0), ("low", -np.inf), ("high", np.inf))}
    names = np.array(list(dict.fromkeys(blocks.tolist())))
    whole = np.stack([np.isfinite(values[:, blocks == b]).all(axis=1) for b in names], axis=1)
    patterns, which = np.unique(whole, axis=0, return_inverse=True)
    for k, kept in enumerate(patterns):
        here = np.flatnonzero(which.ravel() == k)
        units = np.isin(blocks, names[kept])
        if not units.any():
            continue
        is_b = batch.plan.dealt_b[units]
        found = linear_test_batch(values[np.ix_(here, units)], is_b.astype(float), is_b, blocks[units].tolist(),
                                  level=level, ranges=ranges)
        out["estimate"][here], out["p_value"][here] = found.estimate, found.p_value
        if ranges:
            out["low"][here], out["high"][here] = found.low, found.high
    return DayTests(**out)


def _in_the_plans_order(values: _Floats, dealt: NDArray[np.bool_], plan: NDArray[np.bool_],
                        blocks: NDArray[np.str_]) -> _Floats:
    """Move units about within their sets until each run's deal reads as the plan's: the test is the same."""
    out = np.empty_like(values)
    for b in np.unique(blocks):
        here = np.flatnonzero(blocks == b)
        source = np.argsort(dealt[:, here], axis=1, kind="stable")
        target = here[np.argsort(plan[here], kind="stable")]
        out[:, target] = np.take_along_axis(values[:, here], source, axis=1)
    return out
