"""The days of a simulated trial: the room's air, the player's mood and taste. Arrays are (days, n)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from ..trial.arrays import FloatArray
from ..trial.world import World

__all__ = ["Days", "autocorrelated", "draw_days"]



@dataclass(frozen=True)
class Days:
    """Days of `n` players; every array is (days, n).

    `mood` alone is kept because bad days may decide which habit is used; `shift` is what the day does
    to every rating made on it: air + mood + taste, and storms.
    """

    humidity_pct: FloatArray
    temp_c: FloatArray
    mood: FloatArray
    shift: FloatArray
    off: NDArray[np.bool_]
    minutes: FloatArray


def autocorrelated(days: int, n: int, sd: float, rho: float, rng: np.random.Generator) -> FloatArray:
    """Return stationary first-order autocorrelated series, (days, n), with spread `sd`."""
    out = rng.standard_normal((days, n))
    out[1:] *= np.sqrt(1 - rho**2)
    for day, before in zip(out[1:], out[:-1], strict=True):
        day += rho * before
    out *= sd
    return out


def draw_days(world: World, n: int, days: int, day_of_year: int, rng: np.random.Generator) -> Days:
    """Draw `days` days of `n` players. `day_of_year` is that of the first day (the air has seasons)."""
    t = np.arange(days, dtype=float)[:, None]
    # Indoor air is driest when heated: lowest about 20 January. Our assumption.
    season = -np.cos(2 * np.pi * (day_of_year + t - 20) / 365.25)
    wander = autocorrelated(days, n, world.humidity_sd, world.air_rho, rng)
    drift = autocorrelated(days, n, world.air_drift_sd, world.slow_rho, rng)
    humidity = np.clip(world.humidity_pct + world.humidity_season * season + drift + wander, 5, 98)
    temp = (world.temp_c + world.temp_season * season
            + autocorrelated(days, n, world.temp_sd, world.air_rho, rng))
    mood = autocorrelated(days, n, world.mood_sd, world.mood_rho, rng)
    taste = autocorrelated(days, n, world.taste_sd, world.slow_rho, rng)
    per_pct = world.air_points_sd * rng.standard_normal(n) / 10
    shift = per_pct * (humidity - world.humidity_pct) + mood + taste
    spread = np.sqrt(np.log1p(world.minutes_cv**2))
    minutes = world.minutes_a_day * np.exp(spread * rng.standard_normal((days, n)))
    off = rng.random((days, n)) < world.day_off
    if world.storm_share > 0:
        wind = autocorrelated(days, n, 1.0, world.air_rho, rng)
        shift = shift - world.storm_points * (wind > ndtri(1 - world.storm_share))
    return Days(humidity, temp, mood, shift, off, minutes)
