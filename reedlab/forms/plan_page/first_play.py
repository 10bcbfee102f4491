"""Where the first play of a box stands on a day: plain functions."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from datetime import date

import pandas as pd

from ...plan.first_play import first_play_order
from ...rows.tables import Frames
from ...trial.practice import value

__all__ = ["BoxStage", "box_stage", "boxes_to_play"]


@dataclass(frozen=True)
class BoxStage:
    """`now`: reeds to play today, in order; `later`: those for other days; `done` of `total` have a rating."""

    box: str
    now: tuple[str, ...]
    later: tuple[str, ...]
    done: int
    done_today: int
    total: int


def boxes_to_play(frames: Frames) -> list[str]:
    """Return the boxes, newest first, in which a reed still waits for its first play."""
    waiting = frames.reeds[frames.reeds["first_play"].isna() & ~_out(frames)]
    have = set(waiting["box"])
    return [b for b in frames.boxes["box"].tolist()[::-1] if b in have]


def box_stage(frames: Frames, box: str, on: date) -> BoxStage:
    """Return how far the first play of a box is.

    The order is shuffled once for the whole box, from its name, so that it stays the same from day to
    day. At most five new reeds a day, over all boxes (common practice, no published source).
    """
    reeds = frames.reeds[~_out(frames)]
    mine = reeds[reeds["box"] == box]
    codes = frames.reeds.loc[frames.reeds["box"] == box, "reed"]
    order = first_play_order(codes, seed=zlib.crc32(box.encode("utf-8")))
    waiting = set(mine.loc[mine["first_play"].isna(), "reed"])
    done_today = int((reeds["first_played"].dt.date == on).sum())
    room = max(0, int(value("first_play_reeds_a_day")) - done_today)
    todo = [r for r in order if r in waiting]
    return BoxStage(box, tuple(todo[:room]), tuple(todo[room:]), len(mine) - len(waiting), done_today, len(mine))


def _out(frames: Frames) -> pd.Series:
    """Reeds that need no first play: set aside unplayed, or gone."""
    unplayed_aside = frames.reeds["set_aside"] & frames.reeds["first_play"].isna()
    return frames.reeds["reed"].isin(frames.retirements["reed"]) | unplayed_aside
