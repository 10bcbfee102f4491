"""The player's own numbers from their logbook: spreads, wear, life and playing time. Blind to the habits.

Every number comes twice: `raw`, as the logbook alone says it, without bias; and `value`, held toward the
default by as much as the logbook is thin, which forecasts better. An empty logbook gives the defaults.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ...rows.recent import recent, recent_days
from ...rows.tables import Frames
from ...trial import practice
from ...trial.world import World
from ..units.first_plays import first_plays
from .held_spreads import Held, hold_spreads
from .own_ratings import OwnRatings, own_ratings, reed_hours
from .pair_spread import pair_spread
from .variance_parts import Part, Parts

__all__ = ["LIFE_EVENTS", "Estimate", "OwnNumbers", "own_numbers"]

_Floats = NDArray[np.floating]


# How firmly an estimate is held to what it starts from: all our assumptions.
#: Spread of the logarithm of a spread between players: 19 players in 20 lie within a factor of two of the default.
SPREAD_SD: Final = 0.35
#: A default life weighs like so many worn-out reeds.
LIFE_EVENTS: Final = 2.0
#: Spreads between players of the number itself: the level, the wear of an hour, the logarithm of the minutes of a day.
LEVEL_SD, WEAR_SD, LOG_MINUTES_SD = 0.5, 0.03, 0.5
#: A default share of days off weighs like so many days.
DAYS: Final = 10.0
#: Ratings, and days with two reeds, below which the spread is not split at all.
_FEWEST_RATINGS: Final = 6
_FEWEST_SHARED_DAYS: Final = 3
_LEAST_SD: Final = 0.01  # a default spread of zero is held at this
#: A reed that in its first hours played no better than this much above the "worn out" mark shows how good it
#: was, not how long a reed lasts: two low ratings retire it at once. Our assumption.
_WEAK_ABOVE_MARK: Final = 0.5
_FIRST_HOURS: Final = 4.0


@dataclass(frozen=True)
class Estimate:
    """One number. `raw` and `se` are nan where the logbook cannot say.

    For spreads `raw` is the square root of `raw_variance` (0 if that is below zero); `raw_variance` is the
    unbiased one, and `se` its standard error. For lives `se` is of the logarithm. `weight` is the share of
    the logbook in `value`, 0 where that is the default. `rests_on` counts what it rests on: reeds, days, ratings, pairs
    or worn-out reeds.
    """

    name: str
    default: float
    value: float
    raw: float
    se: float
    weight: float
    rests_on: int
    raw_variance: float = math.nan


@dataclass(frozen=True)
class OwnNumbers:
    """All numbers by name (those of `World`; `air_points` is points per 10 % humidity, default 0).

    They rest on so many `reeds` and `ratings`, which are made in steps of `step` (0: of any size).
    """

    estimates: Mapping[str, Estimate]
    reeds: int
    ratings: int
    step: float

    def __getitem__(self, name: str) -> Estimate:
        return self.estimates[name]


def own_numbers(frames: Frames, defaults: World) -> OwnNumbers:
    """Estimate the player's own numbers.

    Parameters
    ----------
    frames : Frames
        The logbook; what is recent counts (`recent`). The habits are not looked at, but for the order dealt in trials
        back to back that are over; a true effect of a habit that
        differs between reeds or
        days is therefore part of the spread, as it is for anyone who does not know of it.
    defaults : World
        Where to start from.

    Returns
    -------
    OwnNumbers

    Notes
    -----
    Spreads: crossed effects of box, reed, day (mood, and a slow drift of taste; how fast either fades from
    day to day is taken from the defaults) and each reed's own wear. `raw_variance` is the unbiased estimate
    of `split_variance`, `value` that of `hold_spreads`. Rounding to steps of h is taken out of the noise as
    h²/12 (Sheppard 1898, from memory). Lives: Weibull of fixed shape k from censored hours, scale^k =
    Σ hours^k / worn out, with the conjugate inverse-gamma prior.
    """
    frames = recent(frames)
    data = own_ratings(frames, defaults.ramp_min, defaults.life_median_h)
    found: dict[str, Estimate] = {}
    _spreads(found, data, defaults)
    _pairs(found, frames, defaults)
    _life(found, frames, defaults)
    _playing(found, recent_days(frames), defaults)
    return OwnNumbers(MappingProxyType(found), _count(data.reed), len(data), data.step)


def _count(labels: NDArray[np.int_]) -> int:
    return len(np.unique(labels))


def _indicators(labels: NDArray[np.int_]) -> _Floats:
    return (labels[:, None] == np.arange(labels.max() + 1 if len(labels) else 0)).astype(float)


_NAMES: Final = {"box": "box_sd", "reed": "reed_sd", "wear": "wear_sd", "day": "mood_sd", "taste": "taste_sd",
                 "noise": "noise_sd"}


def _spreads(found: dict[str, Estimate], data: OwnRatings, d: World) -> None:
    boxes, reeds, days = _count(data.box), _count(data.reed), _count(data.day)
    rests_on = {"box": boxes, "reed": reeds, "wear": reeds, "day": days, "taste": days, "noise": len(data)}
    rounding = data.step**2 / 12
    held: Held | None = None
    blocks, parts, tied = _design(data, d)
    names = [*(p.name for p in parts), "noise"]
    if len(data) - data.x.shape[1] >= _FEWEST_RATINGS and days > 1:
        start = [max(float(getattr(d, _NAMES[n])), _LEAST_SD) for n in names]
        if tied:  # only day and noise together are seen
            start[-1] = math.hypot(d.mood_sd, d.noise_sd)
        held = hold_spreads(data.rating, data.x, blocks, parts, start, SPREAD_SD, rounding=rounding)
    for part, name in _NAMES.items():
        default = float(getattr(d, name))
        value, raw, se, weight = default, math.nan, math.nan, 0.0
        if held is not None and part in names:
            i = names.index(part)
            value, weight = float(held.sd[i]), float(held.weight[i])
            raw, se = float(held.parts.variance[i]), math.sqrt(held.parts.covariance[i, i])
            raw -= rounding if part == "noise" else 0.0
        if held is not None and tied and part in ("day", "noise"):
            value = default * float(held.sd[-1]) / math.hypot(d.mood_sd, d.noise_sd)  # both move in step
            raw, se, weight = math.nan, math.nan, float(held.weight[-1])
        found[name] = Estimate(
            name, default, value, math.sqrt(max(raw, 0.0)) if not math.isnan(raw) else math.nan, se, weight,
            rests_on[part] if weight > 0 else 0, raw)
    _fixed(found, data, held.parts if held is not None else None, d)


def _design(data: OwnRatings, d: World) -> tuple[list[_Floats], list[Part], bool]:
    """Return the design blocks, the parts, and whether day and noise are tied (one reed a day)."""
    blocks: list[_Floats] = []
    parts: list[Part] = []

    def block(z: _Floats) -> int:
        blocks.append(z)
        return len(blocks) - 1

    reeds = _indicators(data.reed)
    if _count(data.box) > 1 and _count(data.reed) > _count(data.box):
        boxes = _indicators(data.box)
        parts.append(Part("box", block(boxes), np.eye(boxes.shape[1])))
    if _count(data.reed) > 1 and len(data) > _count(data.reed):
        eye = np.eye(reeds.shape[1])
        parts.append(Part("reed", block(reeds), eye))
        if "hours" in data.x_names:
            parts.append(Part("wear", block(reeds * data.hours[:, None]), eye))
    dates, of_day = np.unique(data.day, return_inverse=True)
    days = block(_indicators(of_day))
    tied = data.days_shared < _FEWEST_SHARED_DAYS
    t = dates.astype(float)
    if not tied:
        parts.append(Part("day", days, d.mood_rho ** np.abs(t[:, None] - t)))
    parts.append(Part("taste", days, d.slow_rho ** np.abs(t[:, None] - t)))
    return blocks, parts, tied


def _fixed(found: dict[str, Estimate], data: OwnRatings, parts: Parts | None, d: World) -> None:
    """Fill in the level, the mean wear and what humidity does: normal means, held toward the defaults."""
    rows = (("level", "level", d.level, LEVEL_SD, 1.0, data.reed),
            ("wear_per_hour", "hours", d.wear_per_hour, WEAR_SD, -1.0, data.reed),
            ("air_points", "humidity", 0.0, d.air_points_sd, 1.0, data.day))
    for name, column, default, sd, sign, rests_on in rows:
        raw, se, weight = math.nan, math.nan, 0.0
        if parts is not None and column in data.x_names:
            i = data.x_names.index(column)
            raw, se = sign * float(parts.fixed[i]), math.sqrt(parts.fixed_cov[i, i])
            weight = sd**2 / (sd**2 + se**2) if sd > 0 else 0.0
        value = default + weight * (raw - default) if weight > 0 else default
        found[name] = Estimate(name, float(default), float(value), raw, se, weight,
                               _count(rests_on) if weight > 0 else 0)


def _pairs(found: dict[str, Estimate], frames: Frames, d: World) -> None:
    """Fill in how much of the noise of a rating is left in each go of two, from preferences in trials that are over."""
    own, noise = pair_spread(frames), max(found["noise_sd"].value, _LEAST_SD)
    has = 1 / (2 * SPREAD_SD**2)  # degrees of freedom that the default is worth
    df = 0 if own is None else own.df
    raw = math.nan if own is None else own.sd / (math.sqrt(2) * noise)
    value = d.pair_noise if own is None else math.sqrt((has * d.pair_noise**2 + df * raw**2) / (has + df))
    found["pair_noise"] = Estimate(
        "pair_noise", d.pair_noise, value, raw, raw / math.sqrt(2 * df) if df else math.nan, df / (has + df),
        0 if own is None else own.pairs)


def _life(found: dict[str, Estimate], frames: Frames, d: World) -> None:
    s = reed_hours(frames, d.ramp_min)
    hours = s.groupby("reed")["after_h"].max()
    early = s.loc[s["before_h"] < _FIRST_HOURS].groupby("reed")["overall"].mean().reindex(hours.index)
    hours = hours[~(early < practice.value("worn_out_below") + _WEAK_ABOVE_MARK)]
    gone = frames.retirements
    worn = hours.index.isin(set(gone.loc[gone["reason"] == "worn_out", "reed"]))
    k, events = d.life_shape, int(worn.sum())
    total = float((hours.to_numpy(dtype=float) ** k).sum())
    to_median = math.log(2) ** (1 / k)
    default = d.life_median_h / to_median
    value = ((LIFE_EVENTS * default**k + total) / (LIFE_EVENTS + events)) ** (1 / k) * to_median
    raw = (total / events) ** (1 / k) * to_median if events else math.nan
    # hours without an event also speak (for longer lives): weight by what they add to the prior's own
    weight = 0.0 if total == 0 else (total + events * default**k) / (
        total + events * default**k + 2 * LIFE_EVENTS * default**k)
    found["life_median_h"] = Estimate(
        "life_median_h", d.life_median_h, value, raw,
        1 / (k * math.sqrt(events)) if events else math.nan, weight, events)


def _playing(found: dict[str, Estimate], frames: Frames, d: World) -> None:
    """Fill in minutes a day, their spread, and the share of days off.

    Minutes are those written down: the median over days played. Forgotten sittings make them too few.
    """
    minutes = frames.sittings[~first_plays(frames)].groupby("date")["play_min"].sum()
    logs = np.log(minutes[minutes > 0].to_numpy(dtype=float))
    n = len(logs)
    spread0 = math.sqrt(math.log1p(d.minutes_cv**2))
    has = 1 / (2 * SPREAD_SD**2)  # degrees of freedom that the default's spread is worth
    seen = float(logs.var(ddof=1)) if n > 1 else 0.0
    spread2 = (has * spread0**2 + max(n - 1, 0) * seen) / (has + max(n - 1, 0))
    weight = n / (n + spread2 / LOG_MINUTES_SD**2)
    default = math.log(d.minutes_a_day)
    mean = float(logs.mean()) if n else math.nan
    found["minutes_a_day"] = Estimate(
        "minutes_a_day", d.minutes_a_day,
        math.exp(default + weight * (mean - default)) if n else d.minutes_a_day,
        math.exp(mean) if n else math.nan, math.exp(mean) * math.sqrt(spread2 / n) if n else math.nan,
        weight, n)
    found["minutes_cv"] = Estimate(
        "minutes_cv", d.minutes_cv, math.sqrt(math.expm1(spread2)),
        math.sqrt(math.expm1(seen)) if n > 1 else math.nan, math.nan,
        max(n - 1, 0) / (max(n - 1, 0) + has), n if n > 1 else 0)
    off, days = _days_off(frames)
    raw = off / days if days else math.nan
    found["day_off"] = Estimate(
        "day_off", d.day_off, (DAYS * d.day_off + off) / (DAYS + days), raw,
        math.sqrt(raw * (1 - raw) / days) if days else math.nan, days / (DAYS + days), days)


def _days_off(frames: Frames) -> tuple[int, int]:
    """Return days off and days in all; paused days count for neither.

    A day off is one marked as such; where most days of playing have no row of their own, one between the
    first sitting and the last without a sitting.
    """
    played = frames.sittings.loc[~first_plays(frames), "date"].dropna().drop_duplicates()
    rows = frames.days.drop_duplicates("date")
    paused, rows = rows.loc[rows["pause"], "date"], rows.loc[~rows["pause"]]
    if len(played) and played.isin(rows["date"]).mean() >= 0.5:
        return int((rows["day_off"] & ~rows["date"].isin(played)).sum()), len(rows)
    if len(played) < 2:
        return 0, 0
    between = pd.date_range(played.min(), played.max(), freq="D")[1:-1]
    between = between[~between.isin(paused)]
    return int((~between.isin(played)).sum()), len(between)
