"""Which sittings are the short first play of a reed: they make it older, and are no day of break-in.

Common practice, no published source: a new reed is first tried for a few minutes; its break-in comes after.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames
from ...trial.practice import RAMP

__all__ = ["first_plays", "played_beyond_first"]

_LONGEST = RAMP[0]


def first_plays(frames: Frames) -> npt.NDArray[np.bool_]:
    """Say for each row of the sittings (s,) whether it is the first play of its reed.

    That is the first sitting on the day that the table of reeds gives for the first play, if it is in practice,
    without an overall rating (that stands with the reed) and no longer than the first day of break-in.
    """
    s = frames.sittings
    day = dict(zip(frames.reeds["reed"], frames.reeds["first_played"], strict=True))
    on = s["reed"].map(day).to_numpy(dtype="datetime64[ns]") if len(s) else np.zeros(0, dtype="datetime64[ns]")
    at_first = (s["date"].to_numpy(dtype="datetime64[ns]") == on) & ~s["unsure_reed"].to_numpy()
    places = [int(i) for i in np.flatnonzero(at_first)]
    order = s["order"].to_numpy(dtype=float, na_value=np.inf)
    reeds = list(s["reed"])
    first: dict[str, int] = {}
    for i in sorted(places, key=lambda i: (order[i], i)):
        first.setdefault(reeds[i], i)
    out = np.zeros(len(s), dtype=bool)
    out[list(first.values())] = True
    short = s["play_min"].to_numpy(dtype=float) <= _LONGEST
    practice = (s["where"].isna() | (s["where"] == "practice")).to_numpy(dtype=bool)
    found: npt.NDArray[np.bool_] = out & short & practice & s["overall"].isna().to_numpy()
    return found


def played_beyond_first(frames: Frames) -> list[str]:
    """Return the reeds that were played beyond their first play, sorted: they are not new."""
    beyond = frames.sittings.loc[~first_plays(frames), "reed"].dropna()
    return sorted(set(beyond))
