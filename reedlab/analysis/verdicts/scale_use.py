"""How a player used the rating scale: ratings at an end of it cannot move, and a gap hides there.

A shift of every rating moves the mean of clipped ratings only by the share that is not clipped (the derivative of
a censored mean, Tobin 1958). So a gap as large as what matters would show smaller by that share: sameness is
judged against a margin made smaller by it, and not at all from a quarter on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["ScaleUse", "ratings_used"]

Flags = bool | np.bool_ | npt.NDArray[np.bool_]

_SLACK = 1e-12
_END_SHARE = 0.25
_FEWEST_VALUES = 3
_PILE, _PILED = 0.5, 3  # of the ratings at the next value; ratings


@dataclass(frozen=True)
class ScaleUse:
    """How the rating scale was used. Numbers, or arrays with one entry for each of many trials.

    `top`, `bottom` are the shares of ratings at the ends of the scale, `values` counts the different values used.
    `own_top`, `own_bottom` are the shares at the highest and lowest rating given where that is not an end of the
    scale and the ratings pile up there: three or more, and at least half as many as at the next rating (our rule).
    Ratings free to go on thin out towards their last value; those of a player who never leaves 6 to 9 do not: in
    simulated sets of 56 ratings 99 in 100 such players were seen, and of others at most 4 in 100 ratings counted.
    """

    top: Any
    bottom: Any
    values: Any
    ratings: Any
    own_top: Any = 0.0
    own_bottom: Any = 0.0
    fewest: int = _FEWEST_VALUES

    @property
    def squeezed(self) -> Any:
        """Share of the ratings that could not go further: a gap shows smaller by about this share."""
        return np.minimum(1.0, self.top + self.bottom + self.own_top + self.own_bottom)

    @property
    def at_an_end(self) -> Flags:
        """A quarter or more of the ratings could not go further, at one end or at the two together."""
        out: Flags = (self.ratings > 0) & (self.squeezed >= _END_SHARE - _SLACK)
        return out

    @property
    def alike(self) -> Flags:
        """Too few different values were used: fewer than three."""
        out: Flags = self.values < self.fewest
        return out


def ratings_used(ratings: npt.ArrayLike, column: str) -> ScaleUse:
    """Describe ratings (..., n) of a column: most run 0 to 10, closeness to just right -3 to 0, preference -5 to 5.

    A preference is a comparison already: "no difference" may be the answer each time, and "a little" the most that is
    ever said, so neither few values nor a pile of them is held against it.

    "Just right" counts as an end: nothing can come closer, so gaps are squeezed there as at a 10. Ratings
    not given are nan.
    """
    y = np.asarray(ratings, dtype=float)
    low, high = {"stiffness": (-3.0, 0.0), "preference": (-5.0, 5.0)}.get(column, (0.0, 10.0))
    count = np.isfinite(y).sum(axis=-1)
    of = np.maximum(count, 1)
    ordered = np.sort(y, axis=-1)  # nan last, and a step to nan is no step
    values = (np.diff(ordered, axis=-1) > 0).sum(axis=-1) + (count > 0)
    fewest = 1 if column == "preference" else _FEWEST_VALUES
    own = (values >= _FEWEST_VALUES) & (fewest > 1)
    found = ((y >= high).sum(axis=-1) / of, (y <= low).sum(axis=-1) / of, values, count,
             own * _piled(y, high) / of, own * _piled(-y, -low) / of)
    if y.ndim == 1:
        top, bottom, values, count, own_top, own_bottom = (x.item() for x in found)
        return ScaleUse(top, bottom, values, count, own_top, own_bottom, fewest)
    return ScaleUse(*found, fewest)


def _piled(y: npt.NDArray[np.float64], end: float) -> npt.NDArray[np.float64]:
    """Return (...,) how many ratings are the highest given, where they pile up below `end`, else 0."""
    known = np.where(np.isfinite(y), y, -np.inf)
    highest = known.max(axis=-1, initial=-np.inf)[..., None]
    at = ((known == highest) & np.isfinite(known)).sum(axis=-1)
    below = np.where(known < highest, known, -np.inf)
    following = below.max(axis=-1, initial=-np.inf)[..., None]
    at_next = ((below == following) & np.isfinite(below)).sum(axis=-1)
    out: npt.NDArray[np.float64] = np.where(
        (highest[..., 0] < end) & (at >= _PILED) & (at >= _PILE * at_next), at, 0).astype(float)
    return out
