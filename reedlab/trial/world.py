"""What a simulated player and their reeds are like: our assumptions, until a player's own numbers replace them."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from typing import Any, Final

import pandas as pd

from ..errors import InputError
from ..wording import tr
from .practice import FACTS, value

__all__ = ["World"]

_A: Final = tr("our assumption")


def _assumed(default: Any, unit: str, meaning: str, low: float, high: float, source: str = _A) -> Any:
    """Return a field with its unit, meaning, range and where its default comes from."""
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "low": low, "high": high,
                                            "source": source})


def _fact(key: str) -> str:
    return tr("{source} (practice.FACTS[{key!r}])").format(source=FACTS[key].source, key=key)


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
    level: float = _assumed(7.25, "points", tr("mean level of a reed worth dealing, at its best"), 0, 10)
    box_sd: float = _assumed(0.5, "points", tr("spread between boxes"), 0, 5)
    reed_sd: float = _assumed(1.12, "points", tr("spread between reeds of a box"), 0, 5)
    first_play_r: float = _assumed(
        0.5, "correlation", tr("of the first-play rating with the reed's level, before rounding"), 0.01, 1)
    first_play_loss: float = _assumed(0.8, "points", tr("how far below its level a new reed plays"), 0, 5)
    stiffness_cv: float = _assumed(value("stiffness_cv"), "share", tr("spread of stiffness within a box"), 0, 1,
                                   _fact("stiffness_cv"))
    stiffness_step: float = _assumed(0.08, tr("share of stiffness"), tr("one step of the stiffness scale"), 0.001, 1)
    softening: float = _assumed(0.04, tr("steps an hour"), tr("how fast a reed softens"), 0, 1)
    youth: tuple[float, ...] = _assumed(
        (-0.8, -0.4, -0.1), "points", tr("on its first, second, third day of play; then at its best"), -5, 5,
        tr("our assumption; best at about day 3-4: common practice, no published source"))
    # wear and the end of a reed
    wear_per_hour: float = _assumed(0.04, tr("points an hour"), tr("mean gentle sinking"), 0, 2)
    wear_sd: float = _assumed(0.02, tr("points an hour"), tr("its spread between reeds"), 0, 2)
    life_median_h: float = _assumed(value("life_median_h"), tr("h of playing"), tr("median life"), 0.1, 1000,
                                    _fact("life_median_h"))
    life_shape: float = _assumed(value("life_shape"), tr("Weibull shape"), tr("of lives"), 0.2, 20, _fact("life_shape"))
    failing_bend: float = _assumed(6.0, "power", tr("how late in its life a reed begins to fail"), 1, 50)
    worn_level: float = _assumed(3.5, "points", tr("level of a reed at the end of its life: just under the 'practice "
                                                   "only' mark, where two low ratings in a row are likely"), 0, 10)
    damage_share: float = _assumed(value("damage_share"), tr("share of reeds"), tr(
            "chipped or cracked before the end of their life"), 0, 0.95, _fact("damage_share"))
    # air
    humidity_pct: float = _assumed(45.0, "%", tr("yearly mean in the room"), 0, 100)
    humidity_season: float = _assumed(12.0, "%", tr("swing between winter (dry) and summer"), 0, 50)
    humidity_sd: float = _assumed(6.0, "%", tr("day to day about the season"), 0, 50)
    temp_c: float = _assumed(20.5, "°C", tr("yearly mean in the room"), -20, 50)
    temp_season: float = _assumed(2.0, "°C", tr("swing between winter and summer"), 0, 30)
    temp_sd: float = _assumed(1.2, "°C", tr("day to day about the season"), 0, 20)
    air_rho: float = _assumed(0.7, "correlation", tr("of one day's air with the day before"), 0, 0.999)
    air_drift_sd: float = _assumed(5.0, "%", tr("slow drift of humidity over weeks"), 0, 50)
    air_points_sd: float = _assumed(
        0.15, tr("points per 10 % humidity"), tr("spread between players of what humidity does; no sign is built in"),
        0, 5)
    # player
    mood_sd: float = _assumed(0.4, "points", tr("mood of the day, shared by all reeds of the day"), 0, 5)
    mood_rho: float = _assumed(0.3, "correlation", tr("of one day's mood with the day before"), 0, 0.999)
    taste_sd: float = _assumed(0.4, "points", tr("slow drift of taste over weeks"), 0, 5)
    slow_rho: float = _assumed(0.97, "correlation", tr("of slow drifts from one day to the next"), 0, 0.9999)
    noise_sd: float = _assumed(1.0, "points", tr("between two ratings of one reed on one day"), 0, 5)
    pair_noise: float = _assumed(
        1.0, tr("share of that noise"), tr("left in each go of two, back to back on one reed; 1 is cautious"), 0, 2)
    reed_day_sd: float = _assumed(
        0.5, "points", tr("a reed's own good and bad days, where two reeds are tried side by side"), 0, 5)
    second_points: float = _assumed(0.0, "points", tr("what the second go of two gains, whatever the way"), -5, 5)
    first_holds: float = _assumed(
        0.0, tr("share of the difference"), tr("lost by holding on to the first of two goes"), 0, 1)
    no_difference: float = _assumed(0.0, "points", tr("smaller differences of two goes are called none"), 0, 5)
    order_points: float = _assumed(-0.05, tr("points a place"), tr("later in the day's order"), -2, 2)
    step: float = _assumed(0.5, "points", tr("rounding of ratings"), 0.01, 2)
    ends: tuple[float, float] = _assumed(
        (0.0, 10.0), "points", tr("lowest and highest rating this player ever gives; beyond the scale: a check in "
                                  "which nothing is cut off"), -1000, 1000)
    storm_share: float = _assumed(0.0,
                                  tr("share of days"), tr("on which every reed plays badly, days in a row"), 0, 0.9)
    storm_points: float = _assumed(3.0, "points", tr("how much worse, while a storm lasts"), 0, 10)
    minutes_a_day: float = _assumed(60.0, "min", tr("median playing a day"), 5, 720)
    minutes_cv: float = _assumed(0.3, "share", tr("spread of playing between days"), 0, 2)
    daily_limit_min: float = _assumed(value("daily_limit_min"), tr("min a reed"), tr("after break-in"), 1, 720,
                                      _fact("daily_limit_min"))
    ramp_min: tuple[float, ...] = _assumed((10.0, 25.0, 45.0), "min", tr("first, second, third day of play"), 1, 720,
                                           _fact("break_in_ramp_min"))
    # diary
    day_off: float = _assumed(0.08, tr("share of days"), tr("without playing"), 0, 0.95)
    forgotten: float = _assumed(0.03, tr("share of sittings"), tr("played and never written down"), 0, 0.95)
    unrated: float = _assumed(0.02, tr("share of sittings"), tr("written down without a rating"), 0, 0.95)
    bad_days_lost: float = _assumed(0.0,
                                    tr("share of days"), tr("the worst ones: played, and never written down"), 0, 0.95)
    from_memory: float = _assumed(0.05, tr("share of sittings"), tr("written down later"), 0, 1)
    memory_noise: float = _assumed(1.5, "times", tr("rating noise when written down later"), 1, 5)
    unsure_reed: float = _assumed(0.01, tr("share of sittings"), tr("not sure which reed"), 0, 1)
    adherence: float = _assumed(0.95, tr("share of sittings"), tr("done with the dealt habit"), 0, 1)
    bad_days_decide: bool = _assumed(
        False, "yes/no", tr("on bad days the first habit is used, whatever was dealt; else slips are by chance"),
        0, 1)
    # the truth about the second habit
    effect_points: float = _assumed(0.0, "points", tr("added to each rating made with the second habit"), -10, 10,
                                    tr("set by whoever asks"))
    effect_wear: float = _assumed(0.0, tr("points an hour"), tr("added per hour played with the second habit"), -5, 5,
                                  tr("set by whoever asks"))
    effect_life: float = _assumed(1.0, "times", tr("life with the second habit over life with the first"), 0.05, 20,
                                  tr("set by whoever asks"))
    effect_days: float = _assumed(0.0, tr("days"), tr("for which that of a rating goes on in full after the second "
                                                      "habit ends"), 0, 100_000)
    effect_half_life: float = _assumed(0.0, tr("days"), tr("in which it then sinks to half, again and again; 0: it is "
                                                           "gone at once"), 0, 100_000)

    def __post_init__(self) -> None:
        faults = []
        for f in dataclasses.fields(self):
            v = getattr(self, f.name)
            low, high = f.metadata["low"], f.metadata["high"]
            for x in v if isinstance(v, tuple) else (v,):
                if not (low <= x <= high):  # also false for nan
                    faults.append(tr("`{name}` is {x!r}, wanted {low} to {high} ({unit})").format(
                                      name=f.name, x=x, low=low, high=high, unit=f.metadata["unit"]))
        if not self.youth or not self.ramp_min:
            faults.append(tr("`youth` and `ramp_min` need at least one day"))
        if len(self.ends) != 2 or not self.ends[0] < self.ends[1]:
            faults.append(tr("`ends` is {ends!r}, wanted a lowest and a higher highest rating").format(ends=self.ends))
        if faults:
            raise InputError(tr("A world cannot be like this: {faults}.").format(faults="; ".join(faults)))

    @property
    def break_in_r(self) -> float:
        """Correlation of the mean of three ratings, on three days of break-in, with a reed's level in its box.

        Other than the first play's it is no assumption of its own: it follows from the noise of a rating, its rounding
        and the mood and air of its day. Each reed is taken to be broken in on days of its own, the worst case.
        """
        of_a_day = self.mood_sd**2 + (self.air_points_sd / 10 * self.humidity_sd) ** 2
        of_three = (self.noise_sd**2 + self.step**2 / 12 + of_a_day) / 3
        return self.reed_sd / math.sqrt(self.reed_sd**2 + of_three)

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
            raise InputError(tr("A world has no `{unknown}`.").format(unknown="`, `".join(sorted(unknown))))
        return dataclasses.replace(self, **changes)

    def table(self) -> pd.DataFrame:
        """Return every number with its unit, meaning and source, one row each."""
        return pd.DataFrame([
            {"name": f.name, "value": getattr(self, f.name), "default": f.default, "unit": f.metadata["unit"],
             "meaning": f.metadata["meaning"], "source": f.metadata["source"]}
            for f in dataclasses.fields(self)])
