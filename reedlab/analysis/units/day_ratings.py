"""Day by day: one value for each sitting, or for each diagonal of a square (the mean of its rated cells)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .adjust import dummies, sweep
from .blind import BlindTrial
from .unit_values import UnitValues, assemble, mean_map

__all__ = ["day_rating", "planned_units"]


def planned_units(trial: BlindTrial) -> dict[tuple[int, int], int]:
    """Return the unit of each planned (place of the reed, trial day)."""
    place = {r: i for i, r in enumerate(trial.reeds)}
    return {(place[r], d): i for i, u in enumerate(trial.units) for r, d in u.cells}


def day_rating(trial: BlindTrial, adjust: Sequence[str] = ()) -> UnitValues:
    """Return the rating of each unit, adjusted as asked.

    A diagonal with one of its two ratings missing is the other one; with both missing it is missing. When
    an adjustment is asked for and a square is not complete, the reeds' levels are evened out as well, since
    they no longer cancel within that square. Ratings of a reed on a day it was not dealt do not count.
    """
    unit_of = planned_units(trial)
    n = len(trial.units)
    every = trial.cells()
    found = np.array([unit_of.get((int(r), int(d)), -1) for r, d in zip(every.reed, every.day, strict=True)],
                     dtype=np.int64)
    cells, unit_of_cell = every.take(found >= 0), found[found >= 0]
    rated = np.bincount(unit_of_cell, minlength=n) if n else np.zeros(0)
    present = rated > 0
    squares = trial.unit_kind == "diagonal"
    gaps = tuple(dict.fromkeys(
        u.block for i, u in enumerate(trial.units) if squares and rated[i] < len(u.cells)))

    labels = np.asarray(trial.blocks)
    room = int(present.sum()) - len(np.unique(labels[present]))
    uneven = bool(adjust) and bool(gaps)
    swept = sweep(cells, adjust, dummies(labels[unit_of_cell]), room=room,
                  always=dummies(cells.reed) if uneven and len(cells) else None)
    return assemble(
        "day_rating", [u.unit for u in trial.units], trial.blocks, cells, unit_of_cell,
        mean_map(unit_of_cell, n), np.ones(len(cells)), present, swept, gaps=gaps)
