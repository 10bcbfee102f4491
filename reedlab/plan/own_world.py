"""The world of this player: the defaults, replaced by their own numbers as far as the logbook holds them."""

from __future__ import annotations

import dataclasses
import math
from typing import Final

from ..analysis.player.spreads import OwnNumbers, own_numbers
from ..rows.tables import Frames
from ..worlds import World

__all__ = ["world_for"]

#: Ratings after which the step that the player rates in is believed.
_ENOUGH_FOR_STEP: Final = 10


def world_for(frames: Frames) -> tuple[World, OwnNumbers]:
    """Return the world to forecast this player's trials in, and the numbers it was made from.

    Parameters
    ----------
    frames : Frames
        The player's logbook. An empty one gives the default world itself.

    Notes
    -----
    What humidity does to this player is estimated with its sign, but a world has only its spread between
    players: it becomes the root mean square of what is still possible.

    Every number is told to two figures: no estimate is known better, and so a plan keeps its chance from day to day.
    """
    base = World()
    own = own_numbers(frames, base)
    fields = {f.name: f.metadata for f in dataclasses.fields(base)}
    changes = {
        e.name: min(max(_told(e.value), fields[e.name]["low"]), fields[e.name]["high"])
        for e in own.estimates.values() if e.weight > 0 and e.name in fields
    }
    air = own["air_points"]
    if air.weight > 0:
        changes["air_points_sd"] = _told(math.hypot(air.value, base.air_points_sd * math.sqrt(1 - air.weight)))
    if own.step > 0 and own.ratings >= _ENOUGH_FOR_STEP:
        changes["step"] = own.step
    return base.but(**changes), own


def _told(x: float) -> float:
    return float(f"{x:.2g}")
