"""How much of each unit was really done on habit B: the one place that looks at what was logged.

A sitting that names neither habit is read as done as dealt.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...rows.tables import Frames
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.crossover import half_groups, planned_b
from ...trial.protocol import Protocol
from .blind import BlindTrial
from .evening import counts_by
from .unit_values import UnitValues

__all__ = ["AsDone", "as_done", "planned_share", "share_by_cell", "share_by_unit", "share_done",
           "share_of_halves"]



@dataclass(frozen=True)
class AsDone:
    """The trial's sittings that had a habit dealt, one row each in `rows`: place, day, rated, unit, done, dealt.

    `done` and `dealt` are 1 for B and 0 for A. `logged` counts the sittings that name one of the two
    habits, `off` those of them that name the other one, `silent` those that name none.
    """

    rows: pd.DataFrame
    logged: int
    off: int
    silent: int

    @property
    def share(self) -> float | None:
        """Share of the sittings with a logged habit that used the dealt one; None if none is logged."""
        return 1 - self.off / self.logged if self.logged else None


def as_done(protocol: Protocol, frames: Frames, trial: BlindTrial) -> AsDone:
    """Set what was dealt beside what was done, for every sitting of the blind trial on a trial day."""
    a, b = (h.key for h in protocol.habits)
    rows = trial.sittings.loc[trial.sittings["day"].to_numpy() > 0, ["row", "place", "day", "rated"]]
    units = trial.units_of(rows["place"], rows["day"])
    habit = frames.sittings["habit"].to_numpy()[rows["row"].to_numpy()]
    said = np.where(habit == b, 1.0, np.where(habit == a, 0.0, np.nan))
    rows = rows.assign(unit=units)[units >= 0]
    said = said[units >= 0]
    dealt = planned_b(protocol.halves, protocol.dealt_b[rows["unit"].to_numpy()], rows["day"].to_numpy())
    named = ~np.isnan(said)
    rows = rows.assign(dealt=dealt, done=np.where(named, said, dealt)).reset_index(drop=True)
    return AsDone(rows, int(named.sum()), int((said[named] != dealt[named]).sum()), int((~named).sum()))


def planned_share(protocol: Protocol, values: UnitValues) -> FloatArray:
    """Return (c,) 1 where a cell was to be done with B and 0 elsewhere."""
    return planned_b(protocol.halves, protocol.dealt_b[values.unit_of_cell], values.cells.day)


def share_by_unit(protocol: Protocol, done: AsDone) -> FloatArray:
    """Return the share of each unit's sittings done on B; as dealt where it has no sitting."""
    on_b = done.rows["done"].to_numpy()[None] > 0
    return share_done(done.rows["unit"].to_numpy(dtype=np.int64), np.ones_like(on_b), on_b,
                      protocol.dealt_b[None])[0]


def share_done(unit: IntArray, counted: BoolArray, on_b: BoolArray, dealt_b: npt.ArrayLike) -> FloatArray:
    """Return the share of each unit's sittings done on B, (k, n); as dealt where it has none.

    `unit` (s,) is the unit of each sitting (-1: none); `counted`, `on_b` (k, s); `dealt_b` (k, n).
    """
    n = np.shape(dealt_b)[1]
    count, done = counts_by(counted, unit, n), counts_by(counted & on_b, unit, n)
    return np.where(count > 0, done / np.maximum(count, 1.0), dealt_b)


def share_of_halves(protocol: Protocol, unit: IntArray, day: IntArray, counted: BoolArray, on_b: BoolArray,
                    n: int) -> FloatArray:
    """Return the share done on B in each half of each unit of a crossover, (k, n, 2), on the days that count.

    `unit`, `day` (s,) of each sitting; `counted`, `on_b` (k, s). Without a sitting it is 0.
    """
    assert protocol.halves is not None
    group = half_groups(unit, protocol.halves.of(day))
    return share_done(group, counted, on_b, np.zeros((len(counted), 2 * n))).reshape(-1, n, 2)


def share_by_cell(protocol: Protocol, done: AsDone, values: UnitValues) -> FloatArray:
    """Return (c,) the share done on B: of the reed's sittings reed by reed, of the day's rated ones day by day.

    Of a crossover it is that of the reed's sittings in the same half.
    """
    if protocol.halves is not None:
        unit, day = (done.rows[x].to_numpy(dtype=np.int64) for x in ("unit", "day"))
        on_b = done.rows["done"].to_numpy()[None] > 0
        share = share_of_halves(protocol, unit, day, np.ones_like(on_b), on_b, len(protocol.units))[0]
        return share[values.unit_of_cell, protocol.halves.of(values.cells.day)]
    if protocol.design == "reed_by_reed":
        return share_by_unit(protocol, done)[values.unit_of_cell]
    rated = done.rows[done.rows["rated"].to_numpy()]
    mean = rated.groupby(["place", "day"])["done"].mean()
    keys = list(zip(values.cells.reed, values.cells.day, strict=True))
    return np.array([mean[k] for k in keys], dtype=float)
