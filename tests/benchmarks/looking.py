"""A player who looks early: each look is judged and paid for, the first winner stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from reedlab.analysis.batch import BatchTrials, judge_batch

__all__ = ["judge_with_looks"]

_WINNERS = ("a_better", "b_better")


def judge_with_looks(trials: BatchTrials, days: Sequence[int], **more: Any) -> npt.NDArray[np.str_]:
    """Return what k players claim who look at the end of each of `days` and stop at the first winner.

    Parameters
    ----------
    trials : BatchTrials
    days : sequence of int
        Trial days, each counted once.
    **more
        As for `judge_batch` (`samples`, `seed`).

    Returns
    -------
    (k,) str
        The winner of the first look that names one, else the verdict at the planned end.
    """
    looks = sorted(set(days))
    claimed = judge_batch(trials, looks=len(looks), **more).verdict
    for i, day in reversed(list(enumerate(looks, start=1))):
        seen = judge_batch(trials, looks=i, early=True, day=day, **more).verdict
        claimed = np.where(np.isin(seen, _WINNERS), seen, claimed)
    return claimed
