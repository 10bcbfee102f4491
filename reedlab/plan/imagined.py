"""Reeds that the player does not have yet, to see what more of them would bring."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..rows.tables import typed
from ..worlds import World
from ..worlds.reeds import draw_reeds

__all__ = ["box_of_new_reeds", "with_more_reeds"]

_BOX = 10


def box_of_new_reeds(name: str, world: World, seed: int, reeds: int = _BOX) -> pd.DataFrame:
    """Return a box of imagined reeds with first-play ratings drawn from the world."""
    drawn = draw_reeds(world, 1, [name] * reeds, np.random.default_rng([seed, len(name)]))
    return typed("reeds", [
        {"reed": f"{name}-{i + 1:02d}", "box": name, "first_play": float(drawn.first_play[i, 0]),
         "first_stiffness": float(drawn.first_stiffness[i, 0])} for i in range(reeds)])


def with_more_reeds(reeds: pd.DataFrame, more: int, world: World, seed: int) -> pd.DataFrame:
    """Return the reeds with `more` imagined ones added, in boxes of ten of their own."""
    parts = [reeds]
    for k, start in enumerate(range(0, more, _BOX), start=1):
        parts.append(box_of_new_reeds(f"new{k}", world, seed + k, min(_BOX, more - start)))
    return typed("reeds", pd.concat([p.astype(object) for p in parts], ignore_index=True))
