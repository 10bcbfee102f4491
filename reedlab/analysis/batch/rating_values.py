"""Rating outcomes of many trials at once: `day_ratings` and `reed_ratings`, redone in each trial's own cells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...errors import InputError
from ...trial.practice import value
from ..units.adjust import allowed_for
from ..units.blind import playing_hours
from ..units.reed_ratings import LEAST_HOURS, in_window, window_hours
from .evening import Evener, even_cells, even_units, group_means
from .trials import BatchTrials

__all__ = ["BatchValues", "batch_values"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int_]
BoolArray = npt.NDArray[np.bool_]
Cells = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class BatchValues:
    """Unit values of k trials, linear in the ratings.

    `there` (k, s) marks the cells that count, `present` (k, n) the units. `of(y)` gives what the units' values
    are, adjustment included, were the cells rated y (k, s): (k, n), 0 where missing. `gain` (k, s) is how
    much one unit of the outcome moves a cell's rating. `rated` (k, s) are the ratings the scale guard looks at.
    """

    there: BoolArray
    present: BoolArray
    of: Cells
    gain: FloatArray | float
    rated: FloatArray

    @property
    def values(self) -> FloatArray:
        """Adjusted values (k, n), 0 where missing."""
        return self.of(np.where(self.there, self.rated, 0.0))

    def effect(self, share: FloatArray) -> FloatArray:
        """Return how the values move when the second habit adds one unit, (k, n), for shares (k, s) or (k, n)."""
        return self.of(np.where(self.there, self.gain * share, 0.0))


def batch_values(trials: BatchTrials) -> BatchValues:
    """Return the plan's rating outcome for k trials, adjusted as the plan says."""
    protocol = trials.protocol
    allowed = allowed_for(protocol)
    adjust = [a for a in protocol.adjust if a in allowed]
    how = {"day_rating": _day, "mean_rating": _mean, "wear_rate": _wear}
    if protocol.outcome not in how:
        raise InputError(f"`outcome` is {protocol.outcome!r}, wanted one made of ratings: {', '.join(how)}.")
    return how[protocol.outcome](trials, adjust)


def _columns(trials: BatchTrials, adjust: Sequence[str], hours: FloatArray | None) -> list[FloatArray]:
    """Return the covariates of the sittings, (s,) or (k, s), in the order asked for."""
    out = []
    for name in adjust:
        if name == "day":
            out.append(trials.day.astype(float))
        elif name == "order":
            out.append(trials.order.astype(float))
        elif name == "humidity":
            out.append(trials.humidity[:, trials.day - 1])
        elif name == "age_hours":
            assert hours is not None
            out.append(hours)
    return out


def _codes(labels: Sequence[str]) -> tuple[IntArray, int]:
    names, code = np.unique(np.asarray(labels), return_inverse=True)
    return code, len(names)


def _free(present: BoolArray, block: IntArray, blocks: int) -> FloatArray:
    """Return the free comparisons between units: units less blocks that have any."""
    member = (block[:, None] == np.arange(blocks)).astype(float)
    here = present.astype(float) @ member
    out: FloatArray = here.sum(axis=1) - (here > 0).sum(axis=1)
    return out


def _day(trials: BatchTrials, adjust: Sequence[str]) -> BatchValues:
    units = trials.protocol.units
    n = len(units)
    rated = np.where(trials.unit >= 0, trials.scores, np.nan)
    there = np.isfinite(rated)
    weight = there.astype(float)
    count = weight @ (trials.unit[:, None] == np.arange(n)).astype(float)
    present = count > 0
    unit_mean = group_means(weight, trials.unit, n)
    even: Cells = Evener()
    columns = _columns(trials, adjust, playing_hours(trials.reed, trials.minutes)[0]
                       if "age_hours" in adjust else None)
    if columns:
        block, blocks = _codes([u.block for u in units])
        of_cell = np.where(trials.unit >= 0, block[trials.unit], -1)
        gaps = (count < np.array([len(u.cells) for u in units])).any(axis=1)
        reeds = ([(trials.reed == r).astype(float) for r in np.unique(trials.reed[trials.unit >= 0])]
                 if trials.protocol.unit_kind == "diagonal" and gaps.any() else [])
        even = even_cells(weight, columns, _centre(weight, of_cell, blocks), _free(present, block, blocks),
                          always=reeds, when=gaps)
    return BatchValues(there, present, lambda y: np.where(present, unit_mean(even(y)), 0.0), 1.0, rated)


def _centre(weight: FloatArray, group: IntArray, n: int) -> Cells:
    mean = group_means(weight, group, n)
    return lambda y: weight * (y - mean(y)[:, group])


def _reeds(trials: BatchTrials) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the reed of each unit, and playing hours (k, s) before and after each sitting."""
    place = {r: i for i, r in enumerate(trials.protocol.reeds)}
    before, after = playing_hours(trials.reed, trials.minutes)
    return np.array([place[u.reeds[0]] for u in trials.protocol.units]), before, after


def _with_first_play(trials: BatchTrials, adjust: Sequence[str], present: BoolArray, reed_of: IntArray,
                     values: Cells) -> Cells:
    if "first_play" not in adjust:
        return values
    block, blocks = _codes([u.block for u in trials.protocol.units])
    even = even_units(trials.first_play[:, reed_of], present, block, _free(present, block, blocks))
    return lambda y: np.where(present, even(values(y)), 0.0)


def _mean(trials: BatchTrials, adjust: Sequence[str]) -> BatchValues:
    reed_of, before, after = _reeds(trials)
    n, fewest = len(reed_of), int(value("fewest_rated"))
    unit_of = np.argsort(reed_of)
    unit = unit_of[trials.reed]
    member = (unit[:, None] == np.arange(n)).astype(float)
    scores = trials.scores
    rated = np.isfinite(scores)
    enough = rated.astype(float) @ member >= fewest
    total = np.zeros(enough.shape)
    for u in range(n):
        mine = unit == u
        if mine.any():
            total[:, u] = after[:, mine][:, -1]
    window = window_hours(total, enough, [u.block for u in trials.protocol.units])
    keep = rated & in_window(before, window[:, unit]) & enough[:, unit]
    present = enough & (keep.astype(float) @ member >= fewest)
    there = keep & present[:, unit]
    weight = there.astype(float)
    mean = group_means(weight, unit, n)
    even: Cells = Evener()
    columns = _columns(trials, adjust, before)
    if columns:
        even = even_cells(weight, columns, _centre(weight, unit, n),
                          weight.sum(axis=1) - present.sum(axis=1))
    of = _with_first_play(trials, adjust, present, reed_of, lambda y: np.where(present, mean(even(y)), 0.0))
    return BatchValues(there, present, of, 1.0, scores)


def _wear(trials: BatchTrials, adjust: Sequence[str]) -> BatchValues:
    reed_of, hours, _ = _reeds(trials)
    n, fewest = len(reed_of), int(value("fewest_rated"))
    unit = np.argsort(reed_of)[trials.reed]
    member = (unit[:, None] == np.arange(n)).astype(float)
    scores = trials.scores
    rated = np.isfinite(scores)
    span = np.full((len(trials), n), -np.inf)
    for u in range(n):
        mine = unit == u
        if mine.any():
            h = hours[:, mine]
            span[:, u] = (np.where(rated[:, mine], h, -np.inf).max(axis=1)
                          - np.where(rated[:, mine], h, np.inf).min(axis=1))
    # fewest rated sittings on as many days: a reed sits once a day
    present = (rated.astype(float) @ member >= max(fewest, 3)) & (span >= LEAST_HOURS - 1e-9)
    there = rated & present[:, unit]
    weight = there.astype(float)
    mean = group_means(weight, unit, n)
    centred = weight * (hours - mean(hours)[:, unit])
    size = (centred**2) @ member
    across = np.where(size > 0, size, 1.0)

    def slope(y: FloatArray) -> FloatArray:
        return ((centred * y) @ member) / across

    def within(y: FloatArray) -> FloatArray:
        return weight * (y - mean(y)[:, unit]) - centred * slope(y)[:, unit]

    even: Cells = Evener()
    columns = _columns(trials, adjust, hours)
    if columns:
        even = even_cells(weight, columns, within, weight.sum(axis=1) - 2 * present.sum(axis=1))
    of = _with_first_play(trials, adjust, present, reed_of, lambda y: np.where(present, slope(even(y)), 0.0))
    return BatchValues(there, present, of, hours, scores)
