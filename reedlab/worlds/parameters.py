"""What a simulated player and their reeds are like: our assumptions, until a player's own numbers replace them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from typing import Any, Final

import pandas as pd

from ..errors import InputError
from ..trial.practice import FACTS, value

__all__ = ["World"]

_A: Final = "our assumption"


def _assumed(default: Any, unit: str, meaning: str, low: float, high: float, source: str = _A) -> Any:
    """Return a field with its unit, meaning, range and where its default comes from."""
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "low": low, "high": high,
                                            "source": source})


def _fact(key: str) -> str:
    return f"{FACTS[key].source} (practice.FACTS[{key!r}])"


@dataclass(frozen=True, kw_only=True)
class World:
    """A player with reeds, and the truth about the second habit (B) against the first (A).

    One chain of causes makes a rating: the reed's level + its first days + wear + the air + mood of
    the day + drift of taste + place in the day + the effect of the habit + rating noise, then rounded
    to `step` and held between `ends`. A reed sinks gently by its own slope and, as its life runs
    out, ever faster, so that it passes the "worn out" mark at its life. Lives are Weibull.

    All defaults are our assumptions unless `table` says otherwise.
    """

    # reeds
    level: float = _assumed(7.25, "points", "mean level of a reed worth dealing, at its best", 0, 10)
    box_sd: float = _assumed(0.5, "points", "spread between boxes", 0, 5)
    reed_sd: float = _assumed(1.12, "points", "spread between reeds of a box", 0, 5)
    first_play_r: float = _assumed(
        0.5, "correlation", "of the first-play rating with the reed's level, before rounding", 0.01, 1)
    first_play_loss: float = _assumed(0.8, "points", "how far below its level a new reed plays", 0, 5)
    stiffness_cv: float = _assumed(value("stiffness_cv"), "share", "spread of stiffness within a box", 0, 1,
                                   _fact("stiffness_cv"))
    stiffness_step: float = _assumed(0.08, "share of stiffness", "one step of the stiffness scale", 0.001, 1)
    softening: float = _assumed(0.04, "steps an hour", "how fast a reed softens", 0, 1)
    youth: tuple[float, ...] = _assumed(
        (-0.8, -0.4, -0.1), "points", "on its first, second, third day of play; then at its best", -5, 5,
        "our assumption; best at about day 3-4: common practice, no published source")
    # wear and the end of a reed
    wear_per_hour: float = _assumed(0.04, "points an hour", "mean gentle sinking", 0, 2)
    wear_sd: float = _assumed(0.02, "points an hour", "its spread between reeds", 0, 2)
    life_median_h: float = _assumed(value("life_median_h"), "h of playing", "median life", 0.1, 1000,
                                    _fact("life_median_h"))
    life_shape: float = _assumed(value("life_shape"), "Weibull shape", "of lives", 0.2, 20, _fact("life_shape"))
    failing_bend: float = _assumed(6.0, "power", "how late in its life a reed begins to fail", 1, 50)
    worn_level: float = _assumed(3.5, "points", "level of a reed at the end of its life: just under the "
                                 "'practice only' mark, where two low ratings in a row are likely", 0, 10)
    damage_share: float = _assumed(value("damage_share"), "share of reeds", "chipped or cracked before the end "
                                   "of their life", 0, 0.95, _fact("damage_share"))
    # air
    humidity_pct: float = _assumed(45.0, "%", "yearly mean in the room", 0, 100)
    humidity_season: float = _assumed(12.0, "%", "swing between winter (dry) and summer", 0, 50)
    humidity_sd: float = _assumed(6.0, "%", "day to day about the season", 0, 50)
    temp_c: float = _assumed(20.5, "°C", "yearly mean in the room", -20, 50)
    temp_season: float = _assumed(2.0, "°C", "swing between winter and summer", 0, 30)
    temp_sd: float = _assumed(1.2, "°C", "day to day about the season", 0, 20)
    air_rho: float = _assumed(0.7, "correlation", "of one day's air with the day before", 0, 0.999)
    air_drift_sd: float = _assumed(5.0, "%", "slow drift of humidity over weeks", 0, 50)
    air_points_sd: float = _assumed(
        0.15, "points per 10 % humidity", "spread between players of what humidity does; no sign is built in",
        0, 5)
    # player
    mood_sd: float = _assumed(0.4, "points", "mood of the day, shared by all reeds of the day", 0, 5)
    mood_rho: float = _assumed(0.3, "correlation", "of one day's mood with the day before", 0, 0.999)
    taste_sd: float = _assumed(0.4, "points", "slow drift of taste over weeks", 0, 5)
    slow_rho: float = _assumed(0.97, "correlation", "of slow drifts from one day to the next", 0, 0.9999)
    noise_sd: float = _assumed(1.0, "points", "between two ratings of one reed on one day", 0, 5)
    order_points: float = _assumed(-0.05, "points a place", "later in the day's order", -2, 2)
    step: float = _assumed(0.5, "points", "rounding of ratings", 0.01, 2)
    ends: tuple[float, float] = _assumed(
        (0.0, 10.0), "points", "lowest and highest rating this player ever gives; beyond the scale: a check "
        "in which nothing is cut off", -1000, 1000)
    storm_share: float = _assumed(0.0, "share of days", "on which every reed plays badly, days in a row", 0, 0.9)
    storm_points: float = _assumed(3.0, "points", "how much worse, while a storm lasts", 0, 10)
    minutes_a_day: float = _assumed(60.0, "min", "median playing a day", 5, 720)
    minutes_cv: float = _assumed(0.3, "share", "spread of playing between days", 0, 2)
    daily_limit_min: float = _assumed(value("daily_limit_min"), "min a reed", "after break-in", 1, 720,
                                      _fact("daily_limit_min"))
    ramp_min: tuple[float, ...] = _assumed((10.0, 25.0, 45.0), "min", "first, second, third day of play", 1, 720,
                                           _fact("break_in_ramp_min"))
    # diary
    day_off: float = _assumed(0.08, "share of days", "without playing", 0, 0.95)
    forgotten: float = _assumed(0.03, "share of sittings", "played and never written down", 0, 0.95)
    unrated: float = _assumed(0.02, "share of sittings", "written down without a rating", 0, 0.95)
    bad_days_lost: float = _assumed(0.0, "share of days", "the worst ones: played, and never written down", 0, 0.95)
    from_memory: float = _assumed(0.05, "share of sittings", "written down later", 0, 1)
    memory_noise: float = _assumed(1.5, "times", "rating noise when written down later", 1, 5)
    unsure_reed: float = _assumed(0.01, "share of sittings", "not sure which reed", 0, 1)
    adherence: float = _assumed(0.95, "share of sittings", "done with the dealt habit", 0, 1)
    bad_days_decide: bool = _assumed(
        False, "yes/no", "on bad days the first habit is used, whatever was dealt; else slips are by chance",
        0, 1)
    # the truth about the second habit
    effect_points: float = _assumed(0.0, "points", "added to each rating made with the second habit", -10, 10,
                                    "set by whoever asks")
    effect_wear: float = _assumed(0.0, "points an hour", "added per hour played with the second habit", -5, 5,
                                  "set by whoever asks")
    effect_life: float = _assumed(1.0, "times", "life with the second habit over life with the first", 0.05, 20,
                                  "set by whoever asks")

    def __post_init__(self) -> None:
        faults = []
        for f in dataclasses.fields(self):
            v = getattr(self, f.name)
            low, high = f.metadata["low"], f.metadata["high"]
            for x in v if isinstance(v, tuple) else (v,):
                if not (low <= x <= high):  # also false for nan
                    faults.append(f"`{f.name}` is {x!r}, wanted {low} to {high} ({f.metadata['unit']})")
        if not self.youth or not self.ramp_min:
            faults.append("`youth` and `ramp_min` need at least one day")
        if len(self.ends) != 2 or not self.ends[0] < self.ends[1]:
            faults.append(f"`ends` is {self.ends!r}, wanted a lowest and a higher highest rating")
        if faults:
            raise InputError("A world cannot be like this: " + "; ".join(faults) + ".")

    @property
    def between_sd(self) -> float:
        """Spread between reeds of different boxes, in points."""
        return math.hypot(self.box_sd, self.reed_sd)

    @property
    def icc(self) -> float:
        """Repeatability: share of the variance of single ratings, made on one day, that lies between reeds."""
        return self.between_sd**2 / (self.between_sd**2 + self.noise_sd**2)

    @property
    def life_scale_h(self) -> float:
        """Weibull scale of lives, in hours of playing."""
        return self.life_median_h / math.log(2) ** (1 / self.life_shape)

    def but(self, **changes: Any) -> World:
        """Return the same world with some numbers changed; InputError for a name it does not have."""
        unknown = set(changes) - {f.name for f in dataclasses.fields(self)}
        if unknown:
            raise InputError(f"A world has no `{'`, `'.join(sorted(unknown))}`.")
        return dataclasses.replace(self, **changes)

    def table(self) -> pd.DataFrame:
        """Return every number with its unit, meaning and source, one row each."""
        return pd.DataFrame([
            {"name": f.name, "value": getattr(self, f.name), "default": f.default, "unit": f.metadata["unit"],
             "meaning": f.metadata["meaning"], "source": f.metadata["source"]}
            for f in dataclasses.fields(self)])
