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

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames
from ...trial.dealing import Labels
from ...trial.protocol import Protocol
from ...trial.result import Uneven
from ..shuffling.deals import Deals
from ..shuffling.linear import Linear
from ..units.blind import BlindTrial
from ..units.life_values import Lives
from ..units.progress import due_cells
from ..units.unit_values import planned_units

__all__ = ["CHOICE_BAR", "GIVEN_UP", "Bars", "Counted", "Falls", "bars_of", "compared", "counted", "depth", "held_back",
           "p_made", "p_more", "unrated_low", "worth_telling"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
#: (how far the gap is to move in shares missing, which trials) -> whether their claims fall.
Falls = Callable[[FloatArray, npt.NDArray[np.intp]], BoolArray]

#: Reasons for retiring a reed that are the player's own choice.
GIVEN_UP = ("by_choice", "given_away")
_MANY = 0.25  # missing in all: chance alone makes wide gaps
_SURE = 0.01  # p that is enough by itself where the answer cannot be read again in full
CHOICE_BAR = 1 / 16  # p for reeds given up by choice
_LOW = 0.05  # the lowest twentieth of all ratings given
_TELL, _TELL_APART = 0.01, 0.15  # told though nothing is held back: two-sided p, and shares so far apart
_SLACK = 1e-12
_CLAIMS: Final = ("a_better", "b_better", "no_real_difference")


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
    """How many of how many in each of n units before the habits are looked at; `kind` as in `Uneven`.

    (n,) each, or (k, n) for k trials.
    """

    kind: str
    count: IntArray | FloatArray
    of: IntArray | FloatArray


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
    counts = (int(n[~is_b].sum()), int(n[is_b].sum()))
    out_of = (int(total[~is_b].sum()), int(total[is_b].sum()))
    if not n.any():
        return Uneven(told.kind, counts, out_of, 1.0, (1.0, 1.0))
    more_a, more_b = (float(p[0]) for p in p_more((n / np.maximum(total, 1))[None], is_b[None], block, seed=seed))
    return Uneven(told.kind, counts, out_of, min(1.0, 2 * min(more_a, more_b)), (more_a, more_b))


def p_more(share: FloatArray, is_b: BoolArray, block: Labels, **how: Any) -> tuple[FloatArray, FloatArray]:
    """Return the one-sided p that A has more, and that B has, of shares (k, n) dealt (k, n); `how` as in `Deals`."""
    if not len(share):
        return np.zeros(0), np.zeros(0)
    upper, lower = Linear(share, np.zeros(share.shape), Deals.whole(is_b, block, **how)).tails(0.0)
    return lower, upper


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


def unrated_low(trial: BlindTrial) -> BlindTrial:
    """Return the trial with every unrated sitting rated below any mark."""
    return replace(trial, sittings=trial.sittings.assign(overall=trial.sittings["overall"].fillna(-1.0)))


def held_back(verdict: npt.NDArray[np.str_], told: Sequence[Counted], is_b: BoolArray, block: Labels, bars: Bars,
              falls: Falls, **how: Any) -> npt.NDArray[np.str_]:
    """Return for which kind each of k claims must be held back, (k,); "" where none.

    Parameters
    ----------
    verdict : (k,) str
    told : sequence of Counted
        With (k, n) counts, or (n,) for one trial.
    is_b : (k, n) bool
    block : (n,) labels
    bars : Bars
        For ratings missing.
    falls : callable
        (B's share missing less A's, which trials) -> whether their claims fall if what is missing was low; asked
        only where it decides.
    **how
        As in `Deals`.
    """
    out = np.full(len(verdict), "", dtype="U8")
    for c in told:
        if c.kind == "memory":
            continue
        count, of = np.atleast_2d(c.count).astype(float), np.atleast_2d(c.of).astype(float)
        at = np.flatnonzero(np.isin(verdict, _CLAIMS) & (out == "") & count.any(axis=1))
        p = p_made(verdict[at], *p_more((count / np.maximum(of, 1))[at], is_b[at], block, **how))
        if c.kind == "given_up":
            out[at[p <= CHOICE_BAR + _SLACK]] = c.kind
            continue
        at, p = at[bars.may(p)], p[bars.may(p)]
        if len(at):
            a, b = ((count * who).sum(axis=1) / np.maximum((of * who).sum(axis=1), 1) for who in (~is_b, is_b))
            missing = count[at].sum(axis=1) / np.maximum(of[at].sum(axis=1), 1)
            out[at[bars.holds(p, missing, falls((b - a)[at], at))]] = c.kind
    return out


def p_made(verdict: npt.NDArray[np.str_], more_a: FloatArray, more_b: FloatArray) -> FloatArray:
    """Return the p of what could have made a claim: the winner's way has more; of sameness either way, two-sided."""
    either = np.minimum(1.0, 2 * np.minimum(more_a, more_b))
    out: FloatArray = np.where(verdict == "b_better", more_b, np.where(verdict == "a_better", more_a, either))
    return out


def worth_telling(uneven: Uneven) -> bool:
    """Say whether it is so uneven that the page says so, whatever the answer."""
    a, b = uneven.shares
    return uneven.p_value <= _TELL + _SLACK and abs(a - b) >= _TELL_APART
