"""What was not written down in time, or given up by choice, counted in each unit: blind to the habits.

From a logbook's frames; those of simulated trials come through `analysis.batch.left_out`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from ...rows.tables import Frames
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Protocol
from .blind import BlindTrial
from .evening import counts_by
from .life_values import Lives
from .progress import due_cells
from .unit_values import planned_units

__all__ = ["GIVEN_UP", "Counted", "counted", "missing_and_due", "unrated_low"]

#: Reasons for retiring a reed that are the player's own choice.
GIVEN_UP = ("by_choice", "given_away")


@dataclass(frozen=True)
class Counted:
    """How many of how many in each of n units before the habits are looked at; `kind` as in `Uneven`.

    (n,) each, or (k, n) for k trials.
    """

    kind: str
    count: IntArray | FloatArray
    of: IntArray | FloatArray


def counted(protocol: Protocol, frames: Frames, trial: BlindTrial, lives: Lives | None, *,
            today: date) -> tuple[Counted, ...]:
    """Return every kind that can be compared; reeds given up only where each keeps to one way."""
    out = [Counted("missing", *_missing(trial, today)), Counted("memory", *_from_memory(frames, trial))]
    if trial.design == "reed_by_reed":
        ended = lives.ended if lives is not None else tuple(
            trial.retired.get(u.reeds[0], (None, ""))[1] for u in protocol.units)
        gone = np.array([e in GIVEN_UP for e in ended], dtype=np.int64)
        out.append(Counted("given_up", gone, np.ones_like(gone)))
    return tuple(out)


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


def _unit_of(trial: BlindTrial) -> dict[tuple[str, int], int]:
    """Return the unit of every planned (reed, day)."""
    if trial.design == "day_by_day":
        return {(trial.reeds[r], d): i for (r, d), i in planned_units(trial).items()}
    of = {u.reeds[0]: i for i, u in enumerate(trial.units)}
    return {(reed, day): of[reed] for day, reed in trial.slots if reed in of}


def _missing(trial: BlindTrial, today: date) -> tuple[IntArray, IntArray]:
    """Return ratings missing and due of each unit, (n,) each."""
    due, done = due_cells(trial, today)
    of = _unit_of(trial)
    flags = [np.array([[c in cells for c in of]], dtype=bool) for cells in (due, done)]
    missing, asked = missing_and_due(
        flags[0], flags[1], np.array(list(of.values()), dtype=np.int64),
        np.array([d for _, d in of], dtype=np.int64), len(trial.units), by_day=trial.unit_kind == "sitting")
    return missing[0].astype(np.int64), asked[0].astype(np.int64)


def _from_memory(frames: Frames, trial: BlindTrial) -> tuple[IntArray, IntArray]:
    rows = trial.sittings[trial.sittings["rated"].to_numpy()]
    told = frames.sittings["from_memory"].to_numpy()[rows["row"].to_numpy()]
    of_reed = {r: i for i, u in enumerate(trial.units) for r in u.reeds}
    unit_of = _unit_of(trial) if trial.design == "day_by_day" else None
    count, of = np.zeros(len(trial.units), dtype=np.int64), np.zeros(len(trial.units), dtype=np.int64)
    for reed, day, late in zip(rows["reed"], rows["day"], told, strict=True):
        i = of_reed[reed] if unit_of is None else unit_of.get((reed, day), -1)
        if i >= 0:
            of[i] += 1
            count[i] += bool(late)
    return count, of


def unrated_low(trial: BlindTrial) -> BlindTrial:
    """Return the trial with every unrated sitting rated below any mark."""
    return replace(trial, sittings=trial.sittings.assign(overall=trial.sittings["overall"].fillna(-1.0)))
