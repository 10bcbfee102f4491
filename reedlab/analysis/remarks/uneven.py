"""What was not written down in time, or given up by choice, compared by habit: blind to the ratings.

A rating that is never written, or written later from memory, and a reed given up by choice can bend an answer in a
way that no test of the ratings sees. So their shares, one for each unit, go through the same reshuffle as the answer.

When it holds an answer back was set by simulation (`tests/benchmarks/awkward_worlds.py`): at most about 1 in 100
ordinary trials. Only the way that looks better can have gained by it, so p is one-sided for a winner, and two-sided
for sameness. And the answer must fall if what is missing was low. A mean of ratings: had the ratings that one way has
missing beyond the other's share been `depth` below the mean, the gap would move by depth · (share of B − share of A).
Lives that end by ratings: had every unrated sitting been below the mark.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames
from ...trial.dealing import Labels
from ...trial.protocol import Protocol
from ...trial.result import Finding, Uneven
from ..shuffling.linear import linear_test
from ..units.blind import BlindTrial
from ..units.life_values import Lives
from ..units.progress import due_cells
from ..units.unit_values import planned_units

__all__ = ["CHOICE_BAR", "GIVEN_UP", "Bars", "Counted", "bars_of", "compared", "counted", "depth",
           "gap_moved", "holds_back", "stands", "unrated_low", "worth_telling"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Reasons for retiring a reed that are the player's own choice.
GIVEN_UP = ("by_choice", "given_away")
_MANY = 0.25  # missing in all: chance alone makes wide gaps
_SURE = 0.01  # p that is enough by itself where the answer cannot be read again in full
CHOICE_BAR = 1 / 16  # p for reeds given up by choice
_LOW = 0.05  # the lowest twentieth of all ratings given
_TELL, _TELL_APART = 0.01, 0.15  # told though nothing is held back: two-sided p, and shares so far apart
_SLACK = 1e-12


@dataclass(frozen=True)
class Bars:
    """The p (one-sided for a winner) at which an answer is held back: `checked` if it falls too, `sure` in any case.

    `many` takes the place of `checked` where more than a quarter is missing in all.
    """

    checked: float
    many: float
    sure: float

    def holds(self, p: npt.ArrayLike, missing: npt.ArrayLike, falls: npt.ArrayLike) -> BoolArray:
        """Say where to hold back, for one trial or many; `missing` is the share missing in all."""
        limit = np.where(np.asarray(missing) > _MANY, self.many, self.checked)
        at = np.asarray(p, dtype=float)
        out: BoolArray = (at <= self.sure + _SLACK) | ((at <= limit + _SLACK) & np.asarray(falls, dtype=bool))
        return out

    def may(self, p: npt.ArrayLike) -> BoolArray:
        """Say where it could come to holding back, before the answer is read again."""
        out: BoolArray = np.asarray(p, dtype=float) <= max(self.checked, self.many, self.sure) + _SLACK
        return out


_BARS: Final = {"mean": Bars(1 / 10, 1 / 32, -1.0), "life": Bars(1 / 8, 1 / 32, _SURE), "wear": Bars(-1.0, -1.0, _SURE),
                "none": Bars(-1.0, -1.0, -1.0)}


@dataclass(frozen=True)
class Counted:
    """How many of how many in each of n units, (n,) each, before the habits are looked at; `kind` as in `Uneven`."""

    kind: str
    count: IntArray
    of: IntArray


def bars_of(protocol: Protocol) -> Bars:
    """Return the bars for ratings missing; none where a life is the player's word, whatever the ratings.

    In points, ratings missing would have moved the gap by a known amount had they been low.
    """
    if protocol.card.of_points:
        return _BARS["mean"]
    if not protocol.card.lives:
        return _BARS["wear"]
    return _BARS["life" if protocol.ends_by_ratings else "none"]


def depth(ratings: FloatArray) -> FloatArray:
    """Return how far the lowest ratings given lie below the mean, (..., s) -> (...); nan is not given, 0 if none is."""
    y = np.atleast_2d(np.asarray(ratings, dtype=float))
    known = np.isfinite(y)
    some = known.any(axis=-1)
    out = np.zeros(y.shape[:-1])
    if some.any():
        out[some] = np.nanmean(y[some], axis=-1) - np.nanquantile(y[some], _LOW, axis=-1)
    return out.reshape(np.shape(ratings)[:-1])


def compared(told: Counted, is_b: BoolArray, block: Labels, *, seed: int | None = None) -> Uneven:
    """Compare counts by habit: a unit's share is what is reshuffled, 0 where there are none.

    `is_b`, `block` (n,) are the deal.
    """
    n, total = told.count.astype(float), told.of.astype(float)
    share = n / np.maximum(total, 1)
    counts = (int(n[~is_b].sum()), int(n[is_b].sum()))
    out_of = (int(total[~is_b].sum()), int(total[is_b].sum()))
    if not n.any():
        return Uneven(told.kind, counts, out_of, 1.0, (1.0, 1.0))
    t = linear_test(share, is_b.astype(float), is_b, block, seed=seed)
    return Uneven(told.kind, counts, out_of, t.p_value, (t.p_lower, t.p_upper))


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


def _unit_of(trial: BlindTrial) -> dict[tuple[str, int], int]:
    """Return the unit of every planned (reed, day)."""
    if trial.design == "day_by_day":
        return {(trial.reeds[r], d): i for (r, d), i in planned_units(trial).items()}
    of = {u.reeds[0]: i for i, u in enumerate(trial.units)}
    return {(reed, day): of[reed] for day, reed in trial.slots if reed in of}


def _missing(trial: BlindTrial, today: date) -> tuple[IntArray, IntArray]:
    """Return ratings missing and due of each unit. A day without any counts only where each day is its own unit."""
    due, done = due_cells(trial, today)
    played = {d for _, d in done}
    missing, of = np.zeros(len(trial.units), dtype=np.int64), np.zeros(len(trial.units), dtype=np.int64)
    for cell, i in _unit_of(trial).items():
        if cell in due and (trial.unit_kind == "sitting" or cell[1] in played):
            of[i] += 1
            missing[i] += cell not in done
    return missing, of


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


def gap_moved(found: Uneven, below: float) -> float:
    """Return by how much the gap B − A would shrink had the ratings missing beyond the other way's been low ones."""
    a, b = found.shares
    return below * (b - a)


def stands(found: Finding, moved: float, matters: float) -> bool:
    """Say whether a verdict still stands once `moved` is taken from the gap."""
    if found.verdict == "b_better":
        return found.low - moved > 0
    if found.verdict == "a_better":
        return found.high - moved < 0
    return -matters < found.low90 - moved and found.high90 - moved < matters


def unrated_low(trial: BlindTrial) -> BlindTrial:
    """Return the trial with every unrated sitting rated below any mark."""
    return replace(trial, sittings=trial.sittings.assign(overall=trial.sittings["overall"].fillna(-1.0)))


def holds_back(found: Finding, uneven: Uneven, bars: Bars, falls: Callable[[Finding, Uneven], bool]) -> bool:
    """Say whether a claim must be held back.

    Parameters
    ----------
    found : Finding
        With its verdict.
    bars : Bars
        For ratings missing.
    falls : callable
        Whether the claim falls if what is missing was low; asked only where it decides.
    """
    if uneven.kind == "memory" or found.verdict in (None, "cannot_tell", "hint_only"):
        return False
    more_a, more_b = uneven.p_more
    p = {"a_better": more_a, "b_better": more_b}.get(str(found.verdict), uneven.p_value)
    if uneven.kind == "given_up":
        return p <= CHOICE_BAR + _SLACK
    return bool(bars.may(p)) and bool(bars.holds(p, sum(uneven.count) / max(1, sum(uneven.of)), falls(found, uneven)))


def worth_telling(uneven: Uneven) -> bool:
    """Say whether it is so uneven that the page says so, whatever the answer."""
    a, b = uneven.shares
    return uneven.p_value <= _TELL + _SLACK and abs(a - b) >= _TELL_APART
