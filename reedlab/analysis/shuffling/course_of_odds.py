"""The odds of a standing trial as they stood at each day: `follow_lives` read again and again in calendar order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.result import Verdict
from .always_valid import winning_side
from .follow_lives import LifeBlock, path_of

__all__ = ["Stand", "excluded", "stands"]



@dataclass(frozen=True)
class Stand:
    """How the odds stood on a day: the e-value, worn-out reeds so far, and who had won by then ("cannot_tell")."""

    on: date
    e_value: float
    ends: int
    side: Verdict


def stands(dates: Sequence[date], hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray,
           bar: float) -> tuple[Stand, ...]:
    """Return how the odds stood on each of m days.

    Parameters
    ----------
    dates : (m,) date, rising
    hours, worn_out : (m, n)
        Of each unit as on that day; 0 hours: not begun.
    is_b, block : (n,)
        The deal, and the number of each unit's block in the order in which they were begun.
    bar : float
        At which a winner is named; once named it stays.
    """
    out: list[Stand] = []
    side: Verdict = "cannot_tell"
    for on, t, worn in zip(dates, hours, worn_out, strict=True):
        path = path_of(_blocks(t, worn, is_b, block)).last
        e = path.e_values[0]
        side = winning_side(path, bar) if side == "cannot_tell" else side
        out.append(Stand(on, float(e[-1]) if e.size else 1.0, int(worn.sum()), side))
    return tuple(out)


def excluded(ratio: float, hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray, bar: float, *,
             share: FloatArray | None = None) -> bool:
    """Say whether a ratio of lives is ruled out; each life is divided by it to the power of its share of B.

    `share` (n,) is what was done; None: as dealt.
    """
    part = is_b.astype(float) if share is None else share
    return bool(path_of(_blocks(hours / ratio**part, worn_out, is_b, block)).last.most[0] >= bar)


def _blocks(hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray) -> list[LifeBlock]:
    return [LifeBlock(np.log(hours[mine]), worn_out[mine], is_b[mine])
            for c in np.unique(block) if (mine := (block == c) & (hours > 0)).any()]
