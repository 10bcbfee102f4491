"""What a player has for a trial: reeds, minutes, weeks, and the player as the logbook knows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Final

import pandas as pd

from ..analysis.units.first_plays import played_beyond_first
from ..rows.tables import Frames
from ..trial.practice import RAMP
from ..worlds import World
from .at_hand import ramp_left, reeds_at_hand
from .imagined import box_of_new_reeds
from .own_world import world_for

__all__ = ["Means", "means_of"]

_SEED: Final = 0
_NEW_BOX: Final = "new"


@dataclass(frozen=True, kw_only=True)
class Means:
    """What a player has for a trial.

    Attributes
    ----------
    reeds : DataFrame
        Those that may be dealt: rows of the logbook's reeds. `imagined`: a new box of ten, since there are none.
    boxes : DataFrame or None
        The logbook's boxes.
    minutes_a_day : float
    weeks : int
        The most that the player would give.
    world : World
        The player and the reeds.
    instrument : str
    played : tuple of str
        Reeds that are no longer new.
    ramps : mapping
        Minutes of the break-in days still to come, by reed.
    frames : Frames
        The logbook: its earlier trials of a question are looks at it.
    """

    reeds: pd.DataFrame
    minutes_a_day: float
    weeks: int
    world: World
    instrument: str = "clarinet"
    boxes: pd.DataFrame | None = None
    imagined: bool = False
    played: tuple[str, ...] = ()
    ramps: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    frames: Frames = field(default_factory=Frames.trusted)


def means_of(frames: Frames, today: date, *, minutes_a_day: float, weeks: int) -> Means:
    """Return what a player has for a trial, as their logbook says; a new box of ten where no reed is free.

    The instrument is the one with the most reeds at hand.
    """
    world = world_for(frames)[0]
    kinds = frames.boxes.set_index("box")["instrument"].reindex(reeds_at_hand(frames, today)["box"]).dropna()
    instrument = str(kinds.value_counts().index[0]) if len(kinds) else "clarinet"
    reeds = reeds_at_hand(frames, today, instrument)
    imagined = not len(reeds)
    if imagined:
        reeds = box_of_new_reeds(_NEW_BOX, world, _SEED)
    return Means(
        reeds=reeds, boxes=None if imagined else frames.boxes, minutes_a_day=minutes_a_day, weeks=weeks, world=world,
        instrument=instrument, imagined=imagined, played=tuple(played_beyond_first(frames)),
        ramps=dict.fromkeys(reeds["reed"], RAMP) if imagined else ramp_left(frames), frames=frames)
