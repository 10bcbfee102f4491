"""The one verdict rule, for one trial or many. A trial's own reasons to hold back are in `judge`."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["SAMENESS_P", "decide", "inside", "two_sided"]

#: Each of the two one-sided tests (Schuirmann 1987) is judged at this p.
SAMENESS_P: Final = 0.05
_SLACK: Final = 1e-12


def two_sided(upper: npt.ArrayLike, lower: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Return the two-sided p of counted tails: twice the smaller one, at most 1."""
    out: npt.NDArray[np.float64] = np.minimum(1.0, 2 * np.minimum(upper, lower))
    return out


def inside(p_above: npt.ArrayLike, p_below: npt.ArrayLike, p: float = SAMENESS_P) -> npt.NDArray[np.bool_]:
    """Say where both one-sided tests, judged at `p`, put the gap inside the margins; nan (not needed) never is."""
    worse = np.maximum(np.asarray(p_above, dtype=float), np.asarray(p_below, dtype=float))
    out: npt.NDArray[np.bool_] = np.nan_to_num(worse, nan=1.0) <= p + _SLACK
    return out


def decide(p_value: npt.ArrayLike, above: npt.ArrayLike, below: npt.ArrayLike, same: npt.ArrayLike,
           held: npt.ArrayLike, *, alpha: float | npt.NDArray[np.float64],
           finished: npt.ArrayLike = True) -> npt.NDArray[np.str_]:
    """Return the verdicts of trials that were shuffled, one or many (arrays of one shape).

    Parameters
    ----------
    p_value : two-sided p of no difference
    above, below : bool
        The whole range lies above, or below, no difference.
    same, held : bool
        Both one-sided tests put the gap inside what matters; there is a reason not to say so.
    alpha : float
        p that a winner needs.
    finished : bool
        False where a trial that must run until all its reeds are done was stopped sooner.
    """
    side = np.where(above, "b_better", np.where(below, "a_better", "cannot_tell"))
    found = np.where(np.asarray(p_value) <= alpha + _SLACK, side, "cannot_tell")
    found = np.where(np.logical_and(same, np.logical_not(held)), "no_real_difference", found)
    return np.where(finished, found, "cannot_tell")
