"""The unit values of one trial that stands in a logbook: what every reading of it, and every remark, goes by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .blind import BlindTrial, Cells
from .rating_values import Rated, values_of

__all__ = ["UnitValues", "rating_values"]



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
    left_out: tuple[tuple[str, str], ...] = ()
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


def rating_values(trial: BlindTrial, outcome: str, adjust: Sequence[str] = ()) -> UnitValues:
    """Return the units' values of a rating outcome, as the one trial of `values_of`; InputError if it is not one."""
    cells, n = trial.cells(), len(trial.units)
    total, before = np.zeros((1, n)), np.full((1, n), np.nan)
    unit = trial.units_of(cells.reed, cells.day)
    if trial.design == "reed_by_reed":
        total[0, trial.unit_of_reed], before[0, trial.unit_of_reed] = trial.hours, trial.before
    squares = trial.unit_kind == "diagonal"
    found = values_of(Rated(
        units=trial.units, squares=squares, reed=cells.reed, unit=unit, rating=cells.rating[None],
        count=cells.count[None].astype(float), hours=cells.hours[None], total=total, before=before,
        facts={"day": cells.day.astype(float), "age_hours": cells.hours, "humidity": cells.humidity,
               "order": cells.order},
        half=None if trial.halves is None else trial.halves.of(cells.day)), outcome, adjust)
    keep, present = found.there[0], found.present[0]
    rated = np.bincount(unit[keep], minlength=n)
    why = {name: str(reason[0]) for name, reason in found.why.items()}
    return UnitValues(
        outcome=outcome, units=tuple(u.unit for u in trial.units), blocks=trial.blocks, cells=cells.take(keep),
        unit_of_cell=unit[keep], matrix=found.of(np.eye(len(cells)))[keep].T,
        gain=np.broadcast_to(found.gain, (1, len(cells)))[0][keep], present=present,
        plain=np.where(present, found.plain(cells.rating[None])[0], np.nan),
        used=tuple(name for name, reason in why.items() if not reason),
        left_out=tuple((name, reason) for name, reason in why.items() if reason),
        windows=() if found.window is None else _windows(trial, found.window[0]),
        gaps=tuple(dict.fromkeys(u.block for i, u in enumerate(trial.units) if squares and rated[i] < len(u.cells))))


def _windows(trial: BlindTrial, window: FloatArray) -> tuple[tuple[str, float], ...]:
    """Return the window of each block in which a reed was rated enough, in order of the reeds."""
    by_reed = sorted(zip((u.reeds[0] for u in trial.units), trial.blocks, window, strict=True))
    return tuple({b: float(h) for _, b, h in by_reed if np.isfinite(h)}.items())
