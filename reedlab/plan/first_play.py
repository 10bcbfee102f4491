"""The first play of a new box: a few new reeds a day, short, in a shuffled order."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from ..wording import tr

__all__ = ["FIRST_PLAY_STEPS", "first_play_order"]

#: What to do; common practice, no published source.
FIRST_PLAY_STEPS: Final = (
    tr("Warm up on an old reed."),
    tr("Play each new reed of the day for 3 to 5 minutes, in the order given."),
    tr("Rate it at once: overall from 0 to 10, and stiffness from -3 (too soft) to +3 (too hard)."),
    tr("Set aside the reeds you would not play on, and those you want for a concert. You can take them back."),
)


def first_play_order(codes: Iterable[str], *, seed: int) -> list[str]:
    """Return new reeds in the order of their first play, shuffled from the seed alone."""
    return [str(r) for r in np.random.default_rng([seed, 9]).permutation(sorted(set(codes)))]
