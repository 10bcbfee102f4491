"""The verdict rule both comparisons share. Trials add their own reasons to hold back (`analysis.trial`)."""

from __future__ import annotations

from typing import Final

from ..result import Verdict

__all__ = ["SAMENESS_P", "verdict_of"]

#: Each of the two one-sided tests (Schuirmann 1987) is judged at this p.
SAMENESS_P: Final = 0.05
_SLACK: Final = 1e-12


def verdict_of(p_value: float, b_higher: bool, p_above: float, p_below: float, level: float) -> Verdict:
    """Return "no_real_difference", "b_better", "a_better" or "cannot_tell".

    Parameters
    ----------
    p_value : float
        Two-sided p of no difference.
    b_higher : bool
        Whether the smaller tail is B's side; higher is better.
    p_above, p_below : float
        One-sided p that the difference is above the lower margin and below the upper one.
    level : float
        A winner is called at p <= 1 - level.
    """
    if max(p_above, p_below) <= SAMENESS_P + _SLACK:
        return "no_real_difference"
    if p_value <= 1 - level + _SLACK:
        return "b_better" if b_higher else "a_better"
    return "cannot_tell"
