"""What was not written down in time, or given up by choice, counted in each unit: blind to the habits.

From a logbook's frames; those of simulated trials come through `analysis.batch.by_unit`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.crossover import Halves, half_groups
from ...trial.protocol import Protocol
from .blind import BlindTrial
from .evening import counts_by
from .life_values import Lives
from .progress import due_cells

__all__ = ["GIVEN_UP", "Counted", "counted", "in_halves", "missing_and_due", "unit_groups", "unrated_low"]

#: Reasons for retiring a reed that are the player's own choice.
GIVEN_UP = ("by_choice", "given_away")


@dataclass(frozen=True)
class Counted:
    """How many of how many in each of n units before the habits are looked at; `kind` as in `Uneven`.

    (n,) each, or (k, n) for k trials. Of a crossover, whose reeds have both ways, they are counted in both halves:
    (..., 2n), first half and second half of each unit in turn.
    """

    kind: str
    count: IntArray | FloatArray
    of: IntArray | FloatArray
    halves: bool = False

    def shares(self) -> FloatArray:
        """Return what is reshuffled, (k, n): each unit's share, 0 where there are none, or half of how far that of its
        first half lies above that of its second."""
        share: FloatArray = np.atleast_2d(self.count).astype(float) / np.maximum(np.atleast_2d(self.of), 1)
        if not self.halves:
            return share
        first, second = np.moveaxis(share.reshape(len(share), -1, 2), 2, 0)
        out: FloatArray = (first - second) / 2
        return out

    def by_way(self, is_b: BoolArray) -> tuple[FloatArray, FloatArray]:
        """Return how many, and of how many, were done the first way and the second, (k, 2) each, for deals (k, n)."""
        who = np.stack([is_b, ~is_b], axis=2).reshape(len(is_b), -1) if self.halves else is_b
        count, of = (np.stack([(np.atleast_2d(x) * w).sum(axis=1) for w in (~who, who)], axis=1).astype(float)
                     for x in (self.count, self.of))
        return count, of


def counted(protocol: Protocol, frames: Frames, trial: BlindTrial, lives: Lives | None, *,
            today: date) -> tuple[Counted, ...]:
    """Return every kind that can be compared; reeds given up only where each keeps to one way."""
    out = [Counted("missing", *_missing(trial, today)), Counted("memory", *_from_memory(frames, trial))]
    if trial.design == "reed_by_reed":
        ended = lives.ended if lives is not None else tuple(
            trial.retired.get(u.reeds[0], (None, ""))[1] for u in protocol.units)
        gone = np.array([e in GIVEN_UP for e in ended], dtype=np.int64)
        if trial.halves is not None:
            number = {d: i for i, d in enumerate(trial.calendar, start=1)}
            left = [number.get(trial.retired[u.reeds[0]][0], 1) if g else 1
                    for u, g in zip(trial.units, gone, strict=True)]
            gone = in_halves(gone, trial.halves.second(left))
        out.append(Counted("given_up", gone, np.ones_like(gone)))
    return tuple(replace(c, halves=trial.halves is not None) for c in out)


def in_halves(gone: npt.NDArray[Any], second: BoolArray) -> npt.NDArray[Any]:
    """Return what happened to units (..., n) in the half in which it did, (..., 2n); `second` (..., n) says which."""
    return np.stack([gone * ~second, gone * second], axis=-1).reshape(*gone.shape[:-1], -1)


def unit_groups(halves: Halves | None, unit: IntArray, day: IntArray, n: int) -> tuple[IntArray, int]:
    """Return the group that each planned rating is counted in, and how many there are.

    Its unit (-1: none); of a crossover the half of the unit, and days that do not count are in none.
    """
    if halves is None:
        return unit, n
    return half_groups(unit, halves.of(day)), 2 * n


def missing_and_due(due: BoolArray, done: BoolArray, unit: IntArray, day: IntArray, n: int, *,
                    by_day: bool) -> tuple[FloatArray, FloatArray]:
    """Return ratings missing, and ratings due, of each of n units, (k, n) each.

    Parameters
    ----------
    due, done : (k, s) bool
        Of the planned ratings, which were due, and which of those there are.
    unit, day : (s,) int
        The unit (-1: none) and the trial day of each.
    by_day : bool
        Each day is its own unit. Where it is not, a day without any rating was no day of play, and none is missing.
    """
    if not by_day:
        _, code = np.unique(day, return_inverse=True)
        due = due & (counts_by(done, code, int(code.max(initial=-1)) + 1) > 0)[:, code]
    return counts_by(due & ~done, unit, n), counts_by(due, unit, n)


def _missing(trial: BlindTrial, today: date) -> tuple[IntArray, IntArray]:
    """Return ratings missing and due of each unit, (n,) each."""
    due, done = due_cells(trial, today)
    asked = list(dict.fromkeys(c for u in trial.units for c in u.cells) if trial.design == "day_by_day" else
                 dict.fromkeys((reed, day) for day, reed in trial.slots if reed in trial.place))
    flags = [np.array([[c in cells for c in asked]], dtype=bool) for cells in (due, done)]
    day = np.array([d for _, d in asked], dtype=np.int64)
    unit = trial.units_of([trial.place[r] for r, _ in asked], day)
    group, n = unit_groups(trial.halves, unit, day, len(trial.units))
    missing, wanted = missing_and_due(flags[0], flags[1], group, day, n, by_day=trial.unit_kind == "sitting")
    return missing[0].astype(np.int64), wanted[0].astype(np.int64)


def _from_memory(frames: Frames, trial: BlindTrial) -> tuple[IntArray, IntArray]:
    rows = trial.sittings[trial.sittings["rated"].to_numpy()]
    told = frames.sittings["from_memory"].to_numpy()[rows["row"].to_numpy()]
    unit, day = trial.units_of(rows["place"], rows["day"]), rows["day"].to_numpy(dtype=np.int64)
    group, n = unit_groups(trial.halves, unit, day, len(trial.units))
    here = group >= 0
    return np.bincount(group[here], told[here], n).astype(np.int64), np.bincount(group[here], minlength=n)


def unrated_low(trial: BlindTrial) -> BlindTrial:
    """Return the trial with every unrated sitting rated below any mark."""
    return replace(trial, sittings=trial.sittings.assign(overall=trial.sittings["overall"].fillna(-1.0)))
