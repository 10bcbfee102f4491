"""Reed by reed: the mean rating over a common window, and the change of rating per playing hour."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ...trial.practice import value
from .adjust import dummies, sweep
from .blind import BlindTrial, Cells
from .unit_values import UnitValues, assemble, mean_map, slope_map

__all__ = ["LEAST_HOURS", "in_window", "mean_rating", "wear_rate", "window_hours"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Playing hours there must be between a reed's first and last rating for a wear rate (our assumption).
LEAST_HOURS = 0.5


def window_hours(total: FloatArray, enough: BoolArray, blocks: Sequence[str]) -> FloatArray:
    """Return where each reed's window ends: the fewest hours any reed of its block reached.

    Parameters
    ----------
    total : ndarray (..., n)
        Playing hours of the n reeds at the end.
    enough : ndarray (..., n)
        Reeds with at least three rated sittings in all. The others are missing and shorten no window, so that
        a reed broken on its first day does not empty its block.
    blocks : sequence of str (n,)
        Each reed's block.
    """
    labels = np.asarray(blocks)
    reached = np.where(enough, total, np.inf)
    out = np.empty_like(reached)
    for b in np.unique(labels):
        mine = labels == b
        out[..., mine] = reached[..., mine].min(axis=-1, keepdims=True)
    return out


def in_window(hours: FloatArray, window: FloatArray) -> BoolArray:
    """Say which ratings lie in the window: the sitting began before it ended (a first sitting always does)."""
    out: BoolArray = (hours < window - 1e-9) | (hours == 0)
    return out


def _counts(cells: Cells, n: int) -> npt.NDArray[np.int64]:
    return np.bincount(cells.reed, weights=cells.count, minlength=n).astype(np.int64)


def _places(trial: BlindTrial) -> npt.NDArray[np.int64]:
    """Return the unit of each reed (units stand in the plan's order, reeds sorted)."""
    unit_of = {u.reeds[0]: i for i, u in enumerate(trial.units)}
    return np.array([unit_of[r] for r in trial.reeds], dtype=np.int64)


def mean_rating(trial: BlindTrial, adjust: Sequence[str] = ()) -> UnitValues:
    """Return each reed's mean rating over its block's window, adjusted as asked.

    A reed with fewer than three rated sittings, in all or in its window, is missing. Coefficients of day,
    hours, humidity and order are found within reeds and so take nothing from the gap between reeds.
    """
    unit_of_reed = _places(trial)
    n, fewest = len(trial.units), int(value("fewest_rated"))
    blocks_of_reed = [trial.units[u].block for u in unit_of_reed]
    every = trial.cells()
    enough = _counts(every, n) >= fewest
    total = trial.hours
    window = window_hours(total, enough, blocks_of_reed)
    keep = in_window(every.hours, window[every.reed]) & enough[every.reed]
    kept = every.take(keep)
    present = enough & (_counts(kept, n) >= fewest)
    cells = kept.take(present[kept.reed])

    unit_of_cell = unit_of_reed[cells.reed]
    here = np.zeros(n, dtype=bool)
    here[unit_of_reed] = present
    swept = sweep(cells, adjust, dummies(unit_of_cell), room=len(cells) - int(present.sum()))
    windows = []
    for b in dict.fromkeys(blocks_of_reed):
        mine = np.array([x == b for x in blocks_of_reed]) & enough
        if mine.any():
            windows.append((b, float(total[mine].min())))
    return assemble(
        "mean_rating", [u.unit for u in trial.units], trial.blocks, cells, unit_of_cell,
        mean_map(unit_of_cell, n), np.ones(len(cells)), here, swept,
        first_play=_first_play(trial, unit_of_reed) if "first_play" in adjust else None, windows=tuple(windows))


def wear_rate(trial: BlindTrial, adjust: Sequence[str] = ()) -> UnitValues:
    """Return each reed's change of rating per playing hour (least squares), adjusted as asked.

    A reed with fewer than three rated sittings, or less than half an hour of playing between the first and
    the last, is missing. Covariates' coefficients are found beside each reed's own level and slope.
    """
    unit_of_reed = _places(trial)
    n = len(trial.units)
    every = trial.cells()
    low, high = np.full(n, np.inf), np.full(n, -np.inf)
    np.minimum.at(low, every.reed, every.hours)
    np.maximum.at(high, every.reed, every.hours)
    days = np.bincount(every.reed, minlength=n)
    present = ((_counts(every, n) >= int(value("fewest_rated"))) & (days >= 3)
               & (high - low >= LEAST_HOURS - 1e-9))
    cells = every.take(present[every.reed])

    unit_of_cell = unit_of_reed[cells.reed]
    here = np.zeros(n, dtype=bool)
    here[unit_of_reed] = present
    levels = dummies(unit_of_cell)
    structure = np.hstack([levels, levels * cells.hours[:, None]])
    swept = sweep(cells, adjust, structure, room=len(cells) - 2 * int(present.sum()))
    return assemble(
        "wear_rate", [u.unit for u in trial.units], trial.blocks, cells, unit_of_cell,
        slope_map(unit_of_cell, cells.hours, n), cells.hours, here, swept,
        first_play=_first_play(trial, unit_of_reed) if "first_play" in adjust else None)


def _first_play(trial: BlindTrial, unit_of_reed: npt.NDArray[np.int64]) -> FloatArray:
    out = np.full(len(trial.units), np.nan)
    out[unit_of_reed] = trial.first_play
    return out
