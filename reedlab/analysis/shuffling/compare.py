"""Compare two habits by numbers, one per randomised unit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from ._units import check_options, columns, gather, numbers
from .compared import Compared
from .in_full import InFull
from .linear import linear_test

__all__ = ["Comparison", "compare"]


@dataclass(frozen=True, repr=False, kw_only=True)
class Comparison(Compared):
    """The answer of `compare`. Differences are B minus A, in the outcome's unit; `low`, `high` are ±inf without end."""

    estimate: float

    def __repr__(self) -> str:
        a, b = self.labels
        return self._lines(f"{b} minus {a}: {self.estimate:.4g}", "", self.least_p)


def compare(outcome: npt.ArrayLike, arm: npt.ArrayLike, block: npt.ArrayLike | None = None, *,
            level: float = 0.95, matters: float | None = None, seed: int | None = None,
            data: pd.DataFrame | None = None) -> Comparison:
    """Compare two habits by a randomisation test of one number per randomised unit.

    Parameters
    ----------
    outcome : (n,) float
        One number per unit; higher is better. nan or empty: the unit is missing and leaves.
    arm : (n,) labels
        Exactly two; the first in sorted order is A.
    block : (n,) labels or None
        Blocks within which the arms were dealt. A block that has lost an arm leaves.
    level : float
        Of the range `low` to `high`.
    matters : float or None
        The smallest difference that matters; gives a `verdict`.
    seed : int or None
        For drawing arrangements where there are too many to count (above 2^22); None: a fixed one.
    data : DataFrame, optional
        One row per unit; `outcome`, `arm` and `block` are then names of its columns.

    Returns
    -------
    Comparison
        Where no block holds both arms: estimate nan, p 1, range without ends.

    Raises
    ------
    InputError
        Names every argument that cannot be used.

    Notes
    -----
    Every way to deal the same number of each arm within each block is equally likely. The estimate is
    Σ w·(mean_B − mean_A) / Σ w with w = n_A·n_B/(n_A+n_B); p is twice the smaller tail, at most 1, the
    observed arrangement counted; sums within 1e-9·max(1, Σ|outcome|) are equal, each outcome taken from its
    block's mean first, so that a number added to all of them changes nothing. `least_p` is the design's,
    2 / arrangements. Sources: Fisher 1935; Schuirmann 1987 for the two one-sided tests.

    Examples
    --------
    Six invented pairs of reeds, one mean rating a reed:

    >>> import pandas as pd
    >>> from reedlab import compare
    >>> reeds = pd.DataFrame({
    ...     "rating": [6.0, 7.5, 5.5, 6.5, 7.0, 8.0, 4.5, 6.5, 6.0, 7.0, 5.0, 7.5],
    ...     "way": ["mouth", "water"] * 6,
    ...     "pair": [1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6]})
    >>> compare("rating", "way", "pair", data=reeds, matters=1.0)
    <Comparison
      water minus mouth: 1.5
      95% range 1 to 2.5
      p 0.03125 (exact; least possible 0.03125)
      6 v 6 units, blocks 6
      verdict: b_better>
    """
    faults: list[str] = []
    outcome, arm, block = columns(data, faults, outcome=outcome, arm=arm, block=block)
    y = numbers(outcome, "outcome", faults)
    check_options(level, matters, 0.0, seed, faults)
    units = gather(~np.isnan(y), arm, block, faults)
    t = InFull.nothing(0.0)
    if units.keep.size:
        t = linear_test(y[units.keep], units.is_b.astype(float), units.is_b, units.block,
                        level=level, margin=matters, seed=seed)
    return Comparison(labels=units.labels, level=level, units=units.counts, blocks_used=units.blocks_used,
                      blocks_dropped=len(units.dropped), dropped=units.dropped, matters=matters,
                      **Comparison.judged(t, level, matters), **t.told())
