"""Unit values that are linear in the raw ratings, and the pieces they are built from.

A unit's value is ``matrix @ ratings``. If one habit adds d to every raw rating it was used for, the values
move by ``d * effect(share)``: the engine takes d away again without computing anything anew, adjustment
included.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .adjust import LeftOut, Sweep, unit_sweep
from .blind import Cells

__all__ = ["UnitValues", "assemble", "mean_map", "slope_map", "unit_means"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class UnitValues:
    """One outcome, computed blind: n units from c rated cells.

    `matrix` (n, c) gives the adjusted values of the units that are `present` (n,); rows of missing units are
    zero. `plain` (n,) are the values without adjustment, nan where missing. `gain` (c,) is how much one unit
    of the outcome moves a cell's rating (1, or its playing hours for wear). `unit_of_cell` (c,).
    `used` and `left_out` say which adjustments were made; `windows` holds (block, hours) where a window
    was cut; `gaps` the squares in which some planned rating is missing.
    """

    outcome: str
    units: tuple[str, ...]
    blocks: tuple[str, ...]
    cells: Cells
    unit_of_cell: IntArray
    matrix: FloatArray
    gain: FloatArray
    present: BoolArray
    plain: FloatArray
    used: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    windows: tuple[tuple[str, float], ...] = ()
    gaps: tuple[str, ...] = ()

    @property
    def values(self) -> FloatArray:
        """Adjusted values (n,), nan where the unit is missing."""
        out: FloatArray = np.where(self.present, self.matrix @ self.cells.rating, np.nan)
        return out

    def effect(self, share: FloatArray) -> FloatArray:
        """Return how the values move when B adds one unit; `share` (c,) of each cell that was done on B."""
        out: FloatArray = self.matrix @ (self.gain * share)
        return out


def mean_map(unit_of_cell: IntArray, n_units: int) -> FloatArray:
    """Return the (n_units, c) map to unit means; a unit without cells has a row of zeros."""
    rows = (np.arange(n_units)[:, None] == unit_of_cell[None, :]).astype(float)
    count = rows.sum(axis=1, keepdims=True)
    out: FloatArray = rows / np.maximum(count, 1.0)
    return out


def unit_means(ratings: FloatArray, unit_of_cell: IntArray, n_units: int, *, fewest: int = 1) -> FloatArray:
    """Return the unit means of many simulated trials of one plan at once.

    Parameters
    ----------
    ratings : ndarray (k, c)
        One row per trial; nan where a rating is missing.
    unit_of_cell : ndarray (c,)
        The unit of each cell.
    n_units : int
    fewest : int
        A unit with fewer ratings is missing.

    Returns
    -------
    ndarray (k, n_units), nan where missing.
    """
    there = np.isfinite(ratings)
    rows = (unit_of_cell[:, None] == np.arange(n_units)[None, :]).astype(float)
    count = there.astype(float) @ rows
    total = np.where(there, ratings, 0.0) @ rows
    out: FloatArray = np.where(count >= max(fewest, 1), total / np.maximum(count, 1.0), np.nan)
    return out


def slope_map(unit_of_cell: IntArray, hours: FloatArray, n_units: int) -> FloatArray:
    """Return the (n_units, c) map to least-squares slopes on `hours` (c,); zeros where hours do not differ."""
    rows = np.zeros((n_units, len(hours)))
    for u in range(n_units):
        mine = unit_of_cell == u
        if mine.any():
            centred = hours[mine] - hours[mine].mean()
            size = float(centred @ centred)
            if size > 0:
                rows[u, mine] = centred / size
    return rows


def assemble(
    outcome: str, units: Sequence[str], blocks: Sequence[str], cells: Cells, unit_of_cell: IntArray,
    base: FloatArray, gain: FloatArray, present: BoolArray, swept: Sweep, *,
    first_play: FloatArray | None = None, windows: tuple[tuple[str, float], ...] = (), gaps: tuple[str, ...] = (),
) -> UnitValues:
    """Put an outcome together from its plain map `base` (n, c), the cells' sweep and the units' first play."""
    matrix = swept.onto(base)
    used, left = list(swept.used), list(swept.left_out)
    if first_play is not None:
        here = [int(i) for i in np.flatnonzero(present)]
        labels = [blocks[i] for i in here]
        turn, why = unit_sweep(first_play[here], labels, room=len(here) - len(set(labels)))
        matrix = matrix.copy()
        matrix[here] = turn @ matrix[here]
        if why:
            left.append(("first_play", why))
        else:
            used.append("first_play")
    matrix = np.where(present[:, None], matrix, 0.0)
    return UnitValues(
        outcome=outcome, units=tuple(units), blocks=tuple(blocks), cells=cells, unit_of_cell=unit_of_cell,
        matrix=matrix, gain=gain, present=present, plain=np.where(present, base @ cells.rating, np.nan),
        used=tuple(used), left_out=tuple(left), windows=windows, gaps=gaps)
