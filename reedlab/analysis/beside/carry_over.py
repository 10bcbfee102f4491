"""First one way, then the other: what may have stayed of the way before. Told beside the answer; it chooses nothing.

What stays of a way counts in the second half for the way after it. Then the two orders differ in what their reeds are
rated over both halves together (Grizzle 1965, Biometrics 21, 467-480). That contrast lies between reeds, so it sees
little, and it leans on the gap that it is to guard: choosing the analysis by it makes it worse, not better (Freeman
1989, Stat. Med. 8, 1421-1432; Senn 2002, Cross-over Trials in Clinical Research).
"""

from __future__ import annotations

import numpy as np

from ...trial.arrays import BoolArray
from ...trial.crossover import half_groups
from ...trial.protocol import Protocol
from ..shuffling.in_full import InFull
from ..shuffling.linear import linear_test
from ..units.unit_values import UnitValues

__all__ = ["carry_over"]


def carry_over(protocol: Protocol, values: UnitValues, used: BoolArray, *, level: float) -> InFull:
    """Return the contrast of the two orders in what their reeds were rated in both halves together, and its range.

    Each half is a reed's mean rating on the days that count, so the contrast is in points: what would have stayed, in
    full, of the second way (above 0) or the first (below) in the half after it.

    Parameters
    ----------
    protocol, values
        Of a crossover.
    used : (n,) bool
        The units that counted.
    level : float
        Of the range.
    """
    if protocol.halves is None or not used.any():
        return InFull.nothing(0.0)
    group, n = half_groups(values.unit_of_cell, protocol.halves.of(values.cells.day)), 2 * len(values.units)
    mean = np.bincount(group, values.cells.rating, n) / np.maximum(np.bincount(group, minlength=n), 1)
    is_b = protocol.dealt_b[used]
    blocks = np.asarray(values.blocks)[used].tolist()
    return linear_test(mean.reshape(-1, 2).sum(axis=1)[used], is_b.astype(float), is_b, blocks, level=level,
                       seed=protocol.seed)
