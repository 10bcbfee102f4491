"""What a player could give to a new trial: the reeds that are free, and the days it takes to break them in."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date

import pandas as pd

from ..analysis.units.baseline import broken_in
from ..analysis.units.first_plays import first_plays
from ..analysis.verdicts.state import state_of
from ..rows.tables import Frames, typed
from ..trial.opened_boxes import plans_of
from ..trial.practice import RAMP

__all__ = ["break_in_days", "ramp_left", "reeds_at_hand", "reeds_serving", "with_break_in"]


def reeds_serving(frames: Frames, today: date) -> dict[str, str]:
    """Return the reeds of the trials that are not over, each with its trial's name: a reed serves one at a time."""
    return {reed: name for name, plan in plans_of(frames).items()
            if state_of(plan, frames, today=today, open_early=False).state == "running" for reed in plan.reeds}


def reeds_at_hand(frames: Frames, today: date, instrument: str | None = None) -> pd.DataFrame:
    """Return the reeds that a new trial could take, by code: in service, not set aside, in no trial that runs.

    With an instrument, only those of its boxes.
    """
    r = frames.reeds
    gone = {*frames.retirements["reed"], *reeds_serving(frames, today)}
    free = ~r["set_aside"] & ~r["reed"].isin(gone)
    if instrument is not None:
        free &= r["box"].isin(frames.boxes.loc[frames.boxes["instrument"] == instrument, "box"])
    return with_break_in(typed("reeds", r[free].sort_values("reed")), frames, today)


def with_break_in(reeds: pd.DataFrame, frames: Frames, today: date) -> pd.DataFrame:
    """Return the reeds with a further column `broken_in`: the mean of three ratings before today, or nan.

    A plan of reeds that all have it may even it out (`usable_reeds`), for it tells more of a reed than its first play.
    """
    found = broken_in(frames, reeds["reed"], today)
    return reeds.assign(broken_in=reeds["reed"].map(found).astype(float))


def ramp_left(frames: Frames) -> dict[str, tuple[float, ...]]:
    """Return for each reed the minutes of break-in days still to come; () where it is broken in.

    Common practice: three days of play, 10, 25 and 45 minutes. The first play is none of them.
    """
    s = frames.sittings[~first_plays(frames)]
    days = s.groupby("reed")["date"].nunique() if len(s) else {}
    return {str(r): RAMP[int(days.get(r, 0)):] for r in frames.reeds["reed"]}


def break_in_days(reeds: Iterable[str], left: Mapping[str, tuple[float, ...]], minutes_a_day: float) -> int:
    """Return the days it takes to break these reeds in, at all the minutes of a day; a reed once a day."""
    ramps = [left.get(r, ()) for r in reeds]
    return max(max(map(len, ramps), default=0), math.ceil(sum(map(sum, ramps)) / minutes_a_day - 1e-9))
