"""What a reed was worth before its trial: the mean of its last ratings while it was broken in.

One first play says little of a reed (`trial.world.World.first_play_r`), three ratings on three days say more.
They were given before the start, so that whatever they are, shuffling the ways is as fair a test as without them.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames

__all__ = ["RATINGS", "baseline", "break_in_ratings", "broken_in", "first_play_ratings"]

#: Ratings that make a reed's baseline, the last ones before the start: one for each usual day of break-in.
RATINGS: Final = 3


def break_in_ratings(frames: Frames, before: date, rating: str = "overall") -> dict[str, list[float]]:
    """Return for each reed its last ratings in practice before a day, oldest first, at most `RATINGS`.

    Parameters
    ----------
    rating : str
        Which column of the sittings; of stiffness it is the distance from just right, negative.
    """
    s = frames.sittings
    practice = s["where"].isna() | (s["where"] == "practice")
    rows = s[practice & ~s["unsure_reed"] & s[rating].notna() & (s["date"] < np.datetime64(before))]
    rows = rows.sort_values(["date", "order", "sitting"], kind="stable").groupby("reed", sort=False).tail(RATINGS)
    out: dict[str, list[float]] = {}
    for reed, value in zip(rows["reed"], rows[rating].astype(float), strict=True):
        out.setdefault(str(reed), []).append(-abs(value) if rating == "stiffness" else value)
    return out


def broken_in(frames: Frames, reeds: Iterable[str], before: date) -> dict[str, float]:
    """Return the baseline of each reed that has all its `RATINGS`."""
    found = break_in_ratings(frames, before)
    return {r: float(np.mean(found[r])) for r in reeds if len(found.get(r, ())) == RATINGS}


def baseline(frames: Frames, reeds: Iterable[str], before: date, rating: str) -> npt.NDArray[np.float64]:
    """Return the baseline of each reed, nan where it has none; of no reed at all, their first plays instead.

    The two are never mixed: a first play is a worse rating than a later one of the same reed.
    """
    reeds = list(reeds)
    found = break_in_ratings(frames, before, rating)
    if any(r in found for r in reeds):
        return np.array([np.mean(found[r]) if r in found else np.nan for r in reeds], dtype=float)
    return first_play_ratings(frames, reeds)


def first_play_ratings(frames: Frames, reeds: Iterable[str]) -> npt.NDArray[np.float64]:
    """Return the rating of each reed's one first play, nan where there is none."""
    first = dict(zip(frames.reeds["reed"], frames.reeds["first_play"], strict=True))
    return np.array([first.get(r, np.nan) for r in reeds], dtype=float)
