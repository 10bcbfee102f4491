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
from ...wording import tr
from ..units.first_plays import first_plays
from .ear import EarResult
from .held_spreads import Held, hold_spreads
from .own_ratings import OwnRatings, own_ratings, reed_hours
from .pair_spread import pair_spread
from .prior import PRIOR, Prior
from .variance_parts import Part, Parts

__all__ = ["Estimate", "OwnNumbers", "own_numbers"]

_Floats = NDArray[np.floating]


#: Ratings, and days with two reeds, below which the spread is not split at all.
_FEWEST_RATINGS: Final = 6
_FEWEST_SHARED_DAYS: Final = 3
_CEILING_SHARE: Final = 0.1
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
    the logbook in `value`; `source` is "default" where it is 0, else "own" from 0.8 on, else "mixed".
    `rests_on` counts `what` (reeds, days, ratings, worn-out reeds).
    """

    name: str
    unit: str
    default: float
    value: float
    raw: float
    se: float
    weight: float
    rests_on: int
    what: str
    raw_variance: float = math.nan

    @property
    def source(self) -> str:
        """Return "default", "mixed" or "own"."""
        if self.weight <= 0:
            return "default"
        return "own" if self.weight >= 0.8 else "mixed"


@dataclass(frozen=True)
class OwnNumbers:
    """All numbers by name (those of `World`; `air_points` is points per 10 % humidity, default 0).

    `remarks` are codes: empty, ceiling (a tenth or more of the ratings at an end of the scale: spreads come
    out too small), one_reed_a_day (day and noise cannot be told apart; split as in the defaults), one_box,
    one_reed, few_ratings.
    """

    estimates: Mapping[str, Estimate]
    reeds: int
    days: int
    ratings: int
    step: float
    remarks: tuple[str, ...]

    def __getitem__(self, name: str) -> Estimate:
        return self.estimates[name]

    @property
    def source(self) -> str:
        """Return "default" if no number comes from the logbook, else "mixed" or "own" (all of them own)."""
        kinds = {e.source for e in self.estimates.values()}
        return kinds.pop() if len(kinds) == 1 else "mixed"

    def table(self) -> pd.DataFrame:
        """Return one row for each number."""
        names = ("name", "value", "raw", "se", "default", "weight", "source", "rests_on", "what", "unit")
        return pd.DataFrame([{n: getattr(e, n) for n in names} for e in self.estimates.values()])


def own_numbers(frames: Frames, defaults: World, *, ear: EarResult | None = None, prior: Prior = PRIOR,
                rating: str = "overall") -> OwnNumbers:
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
    ear : EarResult, optional
        A double rating that is *not* among the sittings; its noise is pooled with the logbook's.
    prior : Prior
        How firmly the defaults are held.
    rating : str
        Column of the sittings.

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
    data = own_ratings(frames, defaults.ramp_min, defaults.life_median_h, rating=rating)
    found: dict[str, Estimate] = {}
    remarks: list[str] = [] if len(frames.sittings) else ["empty"]
    _spreads(found, remarks, data, defaults, prior, ear)
    _pairs(found, frames, defaults, prior)
    _life(found, frames, defaults, prior, rating)
    _playing(found, recent_days(frames), defaults, prior)
    if data.share_at_ends >= _CEILING_SHARE:
        remarks.append("ceiling")
    return OwnNumbers(MappingProxyType(found), _count(data.reed), _count(data.day), len(data), data.step,
                      tuple(remarks))


def _count(labels: NDArray[np.int_]) -> int:
    return len(np.unique(labels))


def _indicators(labels: NDArray[np.int_]) -> _Floats:
    return (labels[:, None] == np.arange(labels.max() + 1 if len(labels) else 0)).astype(float)


_NAMES: Final = {"box": "box_sd", "reed": "reed_sd", "wear": "wear_sd", "day": "mood_sd", "taste": "taste_sd",
                 "noise": "noise_sd"}
_WHAT: Final = {"box": "boxes", "reed": "reeds", "wear": "reeds", "day": "days", "taste": "days",
                "noise": "ratings"}


def _spreads(found: dict[str, Estimate], remarks: list[str], data: OwnRatings, d: World, prior: Prior,
             ear: EarResult | None) -> None:
    counts = {"boxes": _count(data.box), "reeds": _count(data.reed), "days": _count(data.day),
              "ratings": len(data)}
    rounding = data.step**2 / 12
    twice = None
    if ear is not None and ear.noise_df > 0 and not math.isnan(ear.noise):
        twice = (ear.noise**2, float(ear.noise_df))
    held: Held | None = None
    blocks, parts, tied = _design(data, d)
    names = [*(p.name for p in parts), "noise"]
    if len(data) - data.x.shape[1] >= _FEWEST_RATINGS and counts["days"] > 1:
        start = [max(float(getattr(d, _NAMES[n])), _LEAST_SD) for n in names]
        if tied:  # only day and noise together are seen
            start[-1] = math.hypot(d.mood_sd, d.noise_sd)
        held = hold_spreads(data.rating, data.x, blocks, parts, start, prior.spread_sd, rounding=rounding,
                            twice=None if tied else twice)
        remarks += [code for code, yes in (("one_reed", counts["reeds"] < 2), ("one_box", counts["boxes"] < 2),
                                           ("one_reed_a_day", tied)) if yes]
    elif len(data):
        remarks.append("few_ratings")
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
        if part == "noise" and twice is not None and (held is None or tied):
            value, weight = _pooled(value, weight, twice, rounding, prior)
        found[name] = Estimate(
            name, tr("points an hour") if part == "wear" else "points", default, value,
            math.sqrt(max(raw, 0.0)) if not math.isnan(raw) else math.nan, se, weight,
            counts[_WHAT[part]] if weight > 0 else 0, _WHAT[part], raw)
    _fixed(found, data, held.parts if held is not None else None, d, prior)


def _pooled(sd: float, weight: float, twice: tuple[float, float], rounding: float,
            prior: Prior) -> tuple[float, float]:
    """Return the noise and its weight when the double rating is all that tells it from the day."""
    has = 1 / (2 * prior.spread_sd**2 * max(1 - weight, 1e-6))  # what is held already, as degrees of freedom
    total = (has * sd**2 + twice[1] * max(twice[0] - rounding, 0.0)) / (has + twice[1])
    return math.sqrt(total), 1 - (1 - weight) * has / (has + twice[1])


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


def _fixed(found: dict[str, Estimate], data: OwnRatings, parts: Parts | None, d: World, prior: Prior) -> None:
    """Fill in the level, the mean wear and what humidity does: normal means, held toward the defaults."""
    rows = (("level", "level", "points", d.level, prior.level_sd, 1.0, _count(data.reed), "reeds"),
            ("wear_per_hour", "hours", tr("points an hour"), d.wear_per_hour, prior.wear_sd, -1.0,
             _count(data.reed), "reeds"),
            ("air_points", "humidity", tr("points per 10 % humidity"), 0.0, d.air_points_sd, 1.0,
             _count(data.day), "days"))
    for name, column, unit, default, sd, sign, rests_on, what in rows:
        raw, se, weight = math.nan, math.nan, 0.0
        if parts is not None and column in data.x_names:
            i = data.x_names.index(column)
            raw, se = sign * float(parts.fixed[i]), math.sqrt(parts.fixed_cov[i, i])
            weight = sd**2 / (sd**2 + se**2) if sd > 0 else 0.0
        value = default + weight * (raw - default) if weight > 0 else default
        found[name] = Estimate(name, unit, float(default), float(value), raw, se, weight,
                               rests_on if weight > 0 else 0, what)


def _pairs(found: dict[str, Estimate], frames: Frames, d: World, prior: Prior) -> None:
    """Fill in how much of the noise of a rating is left in each go of two, from preferences in trials that are over."""
    own, noise = pair_spread(frames), max(found["noise_sd"].value, _LEAST_SD)
    has = 1 / (2 * prior.spread_sd**2)  # degrees of freedom that the default is worth
    df = 0 if own is None else own.df
    raw = math.nan if own is None else own.sd / (math.sqrt(2) * noise)
    value = d.pair_noise if own is None else math.sqrt((has * d.pair_noise**2 + df * raw**2) / (has + df))
    found["pair_noise"] = Estimate(
        "pair_noise", tr("share of that noise"), d.pair_noise, value, raw,
        raw / math.sqrt(2 * df) if df else math.nan, df / (has + df), 0 if own is None else own.pairs, tr("pairs"))


def _life(found: dict[str, Estimate], frames: Frames, d: World, prior: Prior, rating: str) -> None:
    s = reed_hours(frames, d.ramp_min)
    hours = s.groupby("reed")["after_h"].max()
    early = s.loc[s["before_h"] < _FIRST_HOURS].groupby("reed")[rating].mean().reindex(hours.index)
    hours = hours[~(early < practice.value("worn_out_below") + _WEAK_ABOVE_MARK)]
    gone = frames.retirements
    worn = hours.index.isin(set(gone.loc[gone["reason"] == "worn_out", "reed"]))
    k, events = d.life_shape, int(worn.sum())
    total = float((hours.to_numpy(dtype=float) ** k).sum())
    to_median = math.log(2) ** (1 / k)
    default = d.life_median_h / to_median
    value = ((prior.life_events * default**k + total) / (prior.life_events + events)) ** (1 / k) * to_median
    raw = (total / events) ** (1 / k) * to_median if events else math.nan
    # hours without an event also speak (for longer lives): weight by what they add to the prior's own
    weight = 0.0 if total == 0 else (total + events * default**k) / (
        total + events * default**k + 2 * prior.life_events * default**k)
    found["life_median_h"] = Estimate(
        "life_median_h", tr("h of playing"), d.life_median_h, value, raw,
        1 / (k * math.sqrt(events)) if events else math.nan, weight, events, tr("worn-out reeds"))


def _playing(found: dict[str, Estimate], frames: Frames, d: World, prior: Prior) -> None:
    """Fill in minutes a day, their spread, and the share of days off.

    Minutes are those written down: the median over days played. Forgotten sittings make them too few.
    """
    minutes = frames.sittings[~first_plays(frames)].groupby("date")["play_min"].sum()
    logs = np.log(minutes[minutes > 0].to_numpy(dtype=float))
    n = len(logs)
    spread0 = math.sqrt(math.log1p(d.minutes_cv**2))
    has = 1 / (2 * prior.spread_sd**2)  # degrees of freedom that the default's spread is worth
    seen = float(logs.var(ddof=1)) if n > 1 else 0.0
    spread2 = (has * spread0**2 + max(n - 1, 0) * seen) / (has + max(n - 1, 0))
    weight = n / (n + spread2 / prior.log_minutes_sd**2)
    default = math.log(d.minutes_a_day)
    mean = float(logs.mean()) if n else math.nan
    found["minutes_a_day"] = Estimate(
        "minutes_a_day", "min", d.minutes_a_day,
        math.exp(default + weight * (mean - default)) if n else d.minutes_a_day,
        math.exp(mean) if n else math.nan, math.exp(mean) * math.sqrt(spread2 / n) if n else math.nan,
        weight, n, "days")
    found["minutes_cv"] = Estimate(
        "minutes_cv", "share", d.minutes_cv, math.sqrt(math.expm1(spread2)),
        math.sqrt(math.expm1(seen)) if n > 1 else math.nan, math.nan,
        max(n - 1, 0) / (max(n - 1, 0) + has), n if n > 1 else 0, "days")
    off, days = _days_off(frames)
    raw = off / days if days else math.nan
    found["day_off"] = Estimate(
        "day_off", tr("share of days"), d.day_off, (prior.days * d.day_off + off) / (prior.days + days), raw,
        math.sqrt(raw * (1 - raw) / days) if days else math.nan, days / (prior.days + days), days, "days")


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
