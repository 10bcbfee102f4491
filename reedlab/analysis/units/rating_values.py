"""Rating outcomes: one number a unit, for one trial or for many of one plan, each in its own cells.

Everything is linear in the ratings: if one habit adds d to every rating it was used for, the values move by
``d * effect(share)``, adjustment included, so the engine takes d away again without computing anything anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np
import numpy.typing as npt

from ...errors import InputError
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.crossover import half_groups
from ...trial.practice import value
from ...trial.protocol import Unit
from ...wording import tr
from .adjust import BEFORE
from .evening import Evener, counts_by, even_cells, even_units, group_means

__all__ = ["LEAST_HOURS", "RATINGS", "Rated", "Values", "values_of", "window_hours"]

Cells = Callable[[FloatArray], FloatArray]

#: Playing hours there must be between a reed's first and last rating for a wear rate (our assumption).
LEAST_HOURS = 0.5


@dataclass(frozen=True)
class Rated:
    """What was rated in k trials of one plan: c cells, pairs of a reed and a day, blind to the habits.

    Attributes
    ----------
    units : tuple of Unit
        The plan's n units.
    squares : bool
        The units are diagonals of squares.
    reed, unit : (c,) int
        Which reed, and which unit the cell counts for (-1: none).
    rating : (k, c) float
        Higher is better; nan where there is none.
    count : (k, c) or (1, 1) float
        Ratings behind each.
    hours : (k, c) float
        Playing hours that the reed had before.
    total, before : (k, n) float
        Reed by reed: hours of each unit at the end, and what its reed was worth before
        the trial, nan where that is not known.
    facts : mapping of name to (k, c) or (c,) float
        What may be evened out, nan where not written down.
    half : (c,) int or None
        Of a crossover: 0 or 1 for the half in which a cell counts, -1 where it does not.
    """

    units: tuple[Unit, ...]
    squares: bool
    reed: IntArray
    unit: IntArray
    rating: FloatArray
    count: FloatArray
    hours: FloatArray
    total: FloatArray
    before: FloatArray
    facts: Mapping[str, FloatArray]
    half: IntArray | None = None


@dataclass(frozen=True)
class Values:
    """Unit values of k trials, linear in the ratings.

    `there` (k, c) marks the cells that count, `present` (k, n) the units. `of(y)` gives what the units' values
    are, adjustment included, were the cells rated y (k, c): (k, n), 0 where missing; `plain` the same without
    adjustment. `gain` (k, c) is how much one unit of the outcome moves a cell's rating. `rated` (k, c) are the
    ratings the scale guard looks at. `why` (k,) says by covariate why it was left out, "" where it was used;
    `window` (k, n) the hours up to which each unit is read.
    """

    there: BoolArray
    present: BoolArray
    plain: Cells
    of: Cells
    gain: FloatArray
    rated: FloatArray
    why: Mapping[str, npt.NDArray[np.str_]] = field(default_factory=dict)
    window: FloatArray | None = None

    @property
    def values(self) -> FloatArray:
        """Adjusted values (k, n), 0 where missing."""
        return self.of(np.where(self.there, self.rated, 0.0))

    def effect(self, share: FloatArray) -> FloatArray:
        """Return how the values move when the second habit adds one unit, (k, n), for shares (k, c) or (k, n)."""
        return self.of(np.where(self.there, self.gain * share, 0.0))


def values_of(rated: Rated, outcome: str, adjust: Sequence[str] = ()) -> Values:
    """Return the units' values of a rating outcome, adjusted as asked; InputError if `outcome` is not one."""
    if outcome not in RATINGS:
        raise InputError(tr("`outcome` is {outcome!r}, wanted one made of ratings: {ratings}.").format(
                             outcome=outcome, ratings=", ".join(RATINGS)))
    return RATINGS[outcome](rated, adjust)


def _day(r: Rated, adjust: Sequence[str]) -> Values:
    """The rating of each sitting, or of each diagonal of a square (the mean of its rated cells).

    A diagonal with one of its two ratings missing is the other one; with both missing it is missing. When an
    adjustment is asked for and a square is not complete, the reeds' levels are evened out as well, since they no
    longer cancel within that square. Ratings of a reed on a day it was not dealt do not count.
    """
    n = len(r.units)
    rated = np.where(r.unit >= 0, r.rating, np.nan)
    there = np.isfinite(rated)
    weight = there.astype(float)
    count = counts_by(there, r.unit, n)
    present = count > 0
    mean = group_means(weight, r.unit, n)
    even = Evener()
    names = [a for a in adjust if a in r.facts]
    if names:
        block, blocks = _codes([u.block for u in r.units])
        of_cell = np.where(r.unit >= 0, block[r.unit], -1)
        gaps: BoolArray = np.any(count < np.array([len(u.cells) for u in r.units]), axis=1)
        reeds = ([(r.reed == x).astype(float) for x in np.unique(r.reed[r.unit >= 0])]
                 if r.squares and gaps.any() else [])
        even = even_cells(weight, {a: r.facts[a] for a in names}, _centre(weight, of_cell, blocks),
                          _free(present, block, blocks), always=reeds, when=gaps)

    def plain(y: FloatArray) -> FloatArray:
        return np.where(present, mean(y), 0.0)

    return Values(there, present, plain, lambda y: plain(even(y)), np.ones((1, 1)), rated, even.why)


def _preference(r: Rated, adjust: Sequence[str]) -> Values:
    """Half of what each pair says: the first go over the second, in points.

    What a way adds counts for it where it goes first and against it where it goes second, so a gap of one point moves a
    pair by one point either way, and pairs that begin with the one way differ by twice the gap from those that begin
    with the other. Halved, they differ by the gap. What going second adds whatever the way is the same for both.
    """
    day = _day(r, ())
    return replace(day, plain=lambda y: day.plain(y) / 2, of=lambda y: day.of(y) / 2, gain=np.full((1, 1), 2.0))


def _mean(r: Rated, adjust: Sequence[str]) -> Values:
    """Each reed's mean rating over its block's window.

    A reed with fewer than three rated sittings, in all or in its window, is missing. Coefficients of day,
    hours, humidity and order are found within reeds and so take nothing from the gap between reeds.
    """
    n, fewest = len(r.units), int(value("fewest_rated"))
    member = _member(r.unit, n)
    rated = np.isfinite(r.rating)
    enough = (rated * r.count) @ member >= fewest
    window = window_hours(r.total, enough, [u.block for u in r.units])
    # a sitting counts that began before the window ended (a first sitting always does)
    inside = (r.hours < window[:, r.unit] - 1e-9) | (r.hours == 0)
    keep = rated & inside & enough[:, r.unit]
    present = enough & ((keep * r.count) @ member >= fewest)
    there = keep & present[:, r.unit]
    weight = there.astype(float)
    mean = group_means(weight, r.unit, n)
    even = even_cells(weight, {a: r.facts[a] for a in adjust if a in r.facts}, _centre(weight, r.unit, n),
                      weight.sum(axis=1) - present.sum(axis=1))

    def plain(y: FloatArray) -> FloatArray:
        return np.where(present, mean(y), 0.0)

    of, why = _with_before(r, adjust, present, lambda y: plain(even(y)))
    return Values(there, present, plain, of, np.ones((1, 1)), r.rating, even.why | why, window)


def _crossover(r: Rated, adjust: Sequence[str]) -> Values:
    """Half of how far each reed's mean rating in the first half lies above that in the second.

    What a way adds counts for it where a reed has it first and against it where it comes second, so reeds that begin
    with the one way differ from the others by the gap. What the second half adds whatever the way (wear, weather, a
    change of taste) is the same for both, and so is what a reed is worth. A reed without a rating on the days that
    count of either half is missing. Coefficients are found within reeds and halves.
    """
    n = len(r.units)
    assert r.half is not None
    group = half_groups(r.unit, r.half)
    rated: BoolArray = np.isfinite(r.rating) & (group >= 0)
    present: BoolArray = np.all((counts_by(rated, group, 2 * n) > 0).reshape(-1, n, 2), axis=2)
    there: BoolArray = rated & present[:, r.unit]
    weight = there.astype(float)
    mean = group_means(weight, group, 2 * n)
    even = even_cells(weight, {a: r.facts[a] for a in adjust if a in r.facts}, _centre(weight, group, 2 * n),
                      weight.sum(axis=1) - 2 * present.sum(axis=1))

    def plain(y: FloatArray) -> FloatArray:
        first, second = np.moveaxis(mean(y).reshape(-1, n, 2), 2, 0)
        return np.where(present, (first - second) / 2, 0.0)

    return Values(there, present, plain, lambda y: plain(even(y)), np.ones((1, 1)), r.rating, even.why)


def _wear(r: Rated, adjust: Sequence[str]) -> Values:
    """Each reed's change of rating per playing hour (least squares).

    A reed with fewer than three rated sittings, or less than half an hour of playing between the first and
    the last, is missing. Covariates' coefficients are found beside each reed's own level and slope.
    """
    n, fewest = len(r.units), int(value("fewest_rated"))
    member = _member(r.unit, n)
    rated = np.isfinite(r.rating)
    span = np.full((len(r.rating), n), -np.inf)
    order = np.argsort(r.unit, kind="stable")
    which, starts = np.unique(r.unit[order], return_index=True)
    last, first = (end.reduceat(np.where(rated, r.hours, none)[:, order], starts, axis=1)
                   for end, none in ((np.maximum, -np.inf), (np.minimum, np.inf)))
    span[:, which[which >= 0]] = (last - first)[:, which >= 0]
    present = (((rated * r.count) @ member >= fewest) & (rated.astype(float) @ member >= 3)
               & (span >= LEAST_HOURS - 1e-9))
    there = rated & present[:, r.unit]
    weight = there.astype(float)
    mean = group_means(weight, r.unit, n)
    centred = weight * (r.hours - mean(r.hours)[:, r.unit])
    size = (centred**2) @ member
    across = np.where(size > 0, size, 1.0)

    def slope(y: FloatArray) -> FloatArray:
        return ((centred * y) @ member) / across

    def within(y: FloatArray) -> FloatArray:
        return weight * (y - mean(y)[:, r.unit]) - centred * slope(y)[:, r.unit]

    def plain(y: FloatArray) -> FloatArray:
        return np.where(present, slope(y), 0.0)

    even = even_cells(weight, {a: r.facts[a] for a in adjust if a in r.facts}, within,
                      weight.sum(axis=1) - 2 * present.sum(axis=1))
    of, why = _with_before(r, adjust, present, lambda y: plain(even(y)))
    return Values(there, present, plain, of, r.hours, r.rating, even.why | why)


#: Outcomes made of ratings. Lives need no code of their own: a card's mark ends them (`life_values`).
RATINGS: Final[Mapping[str, Callable[[Rated, Sequence[str]], Values]]] = MappingProxyType(
    {"day_rating": _day, "preference": _preference, "mean_rating": _mean, "crossover": _crossover,
     "wear_rate": _wear})


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


def _member(group: IntArray, n: int) -> FloatArray:
    return (group[:, None] == np.arange(n)).astype(float)


def _codes(labels: Sequence[str]) -> tuple[IntArray, int]:
    names, code = np.unique(np.asarray(labels), return_inverse=True)
    return code, len(names)


def _free(present: BoolArray, block: IntArray, blocks: int) -> FloatArray:
    """Return the free comparisons between units: units less blocks that have any."""
    here = present.astype(float) @ _member(block, blocks)
    out: FloatArray = here.sum(axis=1) - (here > 0).sum(axis=1)
    return out


def _centre(weight: FloatArray, group: IntArray, n: int) -> Cells:
    mean = group_means(weight, group, n)
    return lambda y: weight * (y - mean(y)[:, group])


def _with_before(r: Rated, adjust: Sequence[str], present: BoolArray, values: Cells,
                     ) -> tuple[Cells, dict[str, npt.NDArray[np.str_]]]:
    known = [a for a in adjust if a in BEFORE]
    if not known:
        return values, {}
    block, blocks = _codes([u.block for u in r.units])
    even, why = even_units(r.before, present, block, _free(present, block, blocks))
    return lambda y: np.where(present, even(values(y)), 0.0), dict.fromkeys(known, why)
