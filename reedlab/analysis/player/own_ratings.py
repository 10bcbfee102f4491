"""Which ratings of a logbook say something about the player's own spreads, and as which arrays.

Nothing here looks at the habits: the column is never read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ...rows.recent import SITTINGS
from ...rows.tables import Frames
from ..units.first_plays import first_plays
from .variance_parts import full_rank

__all__ = ["OwnRatings", "own_ratings", "reed_hours"]

_Floats = NDArray[np.floating]

#: Ratings are used while a reed has played less than this share of the default median life, and of its own
#: life where it is known to have worn out: later it sinks ever faster, and that is no steady spread.
STEADY_SHARE: Final = 0.5
STEADY_SHARE_OF_OWN: Final = 0.6
#: Only so many of the latest rated days are used: what a player does now matters more, and it keeps this quick.
RECENT_DAYS: Final = 240
#: A reed whose first sitting comes more than so many days after its first play was broken in unlogged.
_LOGGED_FROM_NEW_DAYS: Final = 2
#: Fewer ratings than this carry no adjustment for order, first days and humidity.
_ENOUGH_TO_ADJUST: Final = 30


@dataclass(frozen=True)
class OwnRatings:
    """Ratings ready for splitting, one row each: all (n,), labels as integers from 0.

    `hours` counts the reed's playing before the sitting; `day` is the calendar day from the first.
    `x` (n, p) holds the fixed effects in `x_names`: level, hours, then whichever of order, first days of
    play and humidity (per 10 %, centred) there are enough ratings for.
    """

    rating: _Floats
    reed: NDArray[np.int_]
    box: NDArray[np.int_]
    day: NDArray[np.int_]
    hours: _Floats
    x: _Floats
    x_names: tuple[str, ...]
    step: float

    def __len__(self) -> int:
        return len(self.rating)

    @property
    def days_shared(self) -> int:
        """Days on which two or more reeds were rated: only they tell the day from the noise."""
        pairs = pd.DataFrame({"day": self.day, "reed": self.reed}).drop_duplicates()
        return int((pairs.groupby("day").size() > 1).sum())


def reed_hours(frames: Frames, ramp_min: Sequence[float]) -> pd.DataFrame:
    """Return each sitting with the reed's playing hours before and after it.

    Adds to the sittings `before_h` and `after_h` (hours, from new), `play_day` (1 on the reed's first day of play after
    its first play, which has 0; nan if it was broken in unlogged; `ramp_min` is then added to its hours: our
    assumption) and `is_first` (the first play). Sittings of an unsure reed are left out.
    """
    s = frames.sittings.assign(is_first=first_plays(frames))
    s = s.loc[~s["unsure_reed"] & s["reed"].notna()].sort_values(["date", "order", "sitting"], kind="stable")
    minutes = s["play_min"].fillna(0.0)
    s = s.assign(before_h=(minutes.groupby(s["reed"]).cumsum() - minutes) / 60)
    later = s.loc[~s["is_first"]]
    first = later.groupby("reed")["date"].min()
    played = frames.reeds.drop_duplicates("reed").set_index("reed")["first_played"].reindex(first.index)
    old = (first - played).dt.days > _LOGGED_FROM_NEW_DAYS
    is_old = s["reed"].isin(old.index[old])
    play_day = later.groupby("reed")["date"].rank(method="dense").reindex(s.index).fillna(0.0)
    before = s["before_h"] + np.where(is_old, sum(ramp_min) / 60, 0.0)
    return s.assign(before_h=before, after_h=before + s["play_min"].fillna(0.0) / 60,
                    play_day=play_day.where(~is_old)).reset_index(drop=True)


def own_ratings(frames: Frames, ramp_min: Sequence[float], life_median_h: float) -> OwnRatings:
    """Return the ratings that the player's own spreads rest on.

    Left out: an unsure reed; written down from memory; rehearsals and concerts (the player chose reed and
    day); reeds from the day they were worked on; the later part of a reed's life (`STEADY_SHARE`); all but the
    latest `RECENT_DAYS` rated days, or as many of them as `recent.SITTINGS` ratings take.

    Parameters
    ----------
    frames : Frames
        The logbook.
    ramp_min : sequence of float
        Usual minutes of the first days of play, for reeds broken in before the logbook began.
    life_median_h : float
        Default median life, playing hours.
    """
    s = reed_hours(frames, ramp_min)
    reeds = frames.reeds.drop_duplicates("reed").set_index("reed")
    worked = _look_up(s["reed"], reeds["worked_on"])
    gone = frames.retirements
    worn = set(gone.loc[gone["reason"] == "worn_out", "reed"])
    total = s.groupby("reed")["after_h"].max()
    own_end = _look_up(s["reed"], total).where(s["reed"].isin(worn), np.inf)
    end = np.minimum(STEADY_SHARE * life_median_h, STEADY_SHARE_OF_OWN * own_end)
    keep = (s["overall"].notna() & ~s["from_memory"] & (s["where"].isna() | (s["where"] == "practice"))
            & ~(worked.notna() & (s["date"] >= worked)) & (s["before_h"] <= end))
    s = s.loc[keep]
    s = s.loc[s["date"].isin(s["date"].drop_duplicates().nlargest(RECENT_DAYS))]
    s = s.loc[s["date"] >= s["date"].nlargest(SITTINGS).min()].reset_index(drop=True)
    y = s["overall"].to_numpy(dtype=float)
    day = (s["date"] - s["date"].min()).dt.days.to_numpy(dtype=int) if len(s) else np.zeros(0, dtype=int)
    box = _look_up(s["reed"], reeds["box"])
    box = box.where(box.notna(), [str(r).rpartition("-")[0] for r in s["reed"]])
    x, names = _fixed(s, frames)
    return OwnRatings(
        rating=y, reed=pd.factorize(s["reed"])[0], box=pd.factorize(box)[0], day=day,
        hours=s["before_h"].to_numpy(dtype=float), x=x, x_names=names, step=_step(y))


def _fixed(s: pd.DataFrame, frames: Frames) -> tuple[_Floats, tuple[str, ...]]:
    columns: dict[str, _Floats] = {"level": np.ones(len(s)), "hours": s["before_h"].to_numpy(dtype=float)}
    if len(s) >= _ENOUGH_TO_ADJUST:
        order = s["order"].astype("float64")
        columns["order"] = (order.fillna(order.mean() if order.notna().any() else 1.0) - 1).to_numpy(dtype=float)
        for k in (1, 2, 3):
            columns[f"play_day_{k}"] = (s["play_day"] == k).astype(float).to_numpy()
        air = _look_up(s["date"], frames.days.drop_duplicates("date").set_index("date")["humidity_pct"])
        if s.loc[air.notna(), "date"].nunique() >= 10:
            columns["humidity"] = ((air - air.mean()).fillna(0.0) / 10).to_numpy(dtype=float)
    x = np.column_stack(list(columns.values())) if len(s) else np.zeros((0, len(columns)))
    keep = full_rank(x)
    return x[:, keep], tuple(n for n, k in zip(columns, keep, strict=True) if k)


def _look_up(keys: pd.Series, values: pd.Series) -> pd.Series:
    """Return `values` at `keys`, missing where there is none; unlike `map`, of the same type when empty."""
    return values.reindex(keys.to_numpy()).set_axis(keys.index)


def _step(y: _Floats) -> float:
    """Return the step the player rates in: 1, a half, or 0 where neither fits."""
    for step in (1.0, 0.5):
        if len(y) and np.allclose(y / step, np.round(y / step)):
            return step
    return 0.0
