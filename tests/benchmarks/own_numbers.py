"""Are a player's own numbers recovered from their logbook, and do they forecast better than the defaults?

Run by hand: ``python -m tests.benchmarks.own_numbers --players 200``. Every player is invented: their true
spreads differ from the defaults, by a factor of two either way for 19 in 20 (our assumption).

1. Recovery: no ceiling, no worn-out reeds. The mean of (raw variance - true variance) over the players,
   with its standard error.
2. Forecast: squared error of log(sd), averaged over the players, of the defaults, the raw numbers (those at
   or near zero counted as a quarter of the default, which favours them) and the shrunk ones.
3. What it is for: the chance of finding a gap of one point (closed form), in 14 squares of two reeds and two
   days, and in 12 reeds in pairs rated ten times each. Squared error of that chance.
4. The same in the usual world, with the scale's ends and reeds that wear out.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from scipy import stats

from reedlab.analysis.player.sample_size import pairs_chance
from reedlab.analysis.player.spreads import own_numbers
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit
from reedlab.worlds import World, simulate, to_frames

SPREADS = ("box_sd", "reed_sd", "wear_sd", "mood_sd", "taste_sd", "noise_sd")
#: Without ceiling, failing or retirement: what the unbiasedness is claimed for.
CLEAN = World(level=5.0, box_sd=0.3, reed_sd=0.6, mood_sd=0.3, taste_sd=0.3, noise_sd=0.6, life_median_h=200,
              life_shape=10, damage_share=0.0)


@dataclass(frozen=True)
class Player:
    world: World
    frames: Frames
    days: int
    reeds: int


def a_world(base: World, rng: np.random.Generator, spread: float) -> World:
    """A player whose spreads differ from those of `base` by `spread` on the log scale."""
    own = {name: getattr(base, name) * math.exp(spread * rng.standard_normal()) for name in SPREADS}
    return base.but(
        **own, level=base.level + float(rng.normal(0, 0.5)),
        wear_per_hour=max(0.0, base.wear_per_hour + float(rng.normal(0, 0.03))),
        minutes_cv=base.minutes_cv * math.exp(spread * rng.standard_normal()),
        day_off=float(rng.beta(10 * base.day_off, 10 * (1 - base.day_off))) * 0.9,
        minutes_a_day=float(np.clip(base.minutes_a_day * math.exp(0.5 * rng.standard_normal()), 15, 240)),
        life_median_h=base.life_median_h * math.exp(spread * rng.standard_normal()))


def a_plan(reeds: int, boxes: int, days: int, a_day: int, rest: bool) -> Protocol:
    """Reeds in turn, `a_day` of them each day; the habits make no difference."""
    codes = [f"{1 + i % boxes}-{1 + i // boxes:02d}" for i in range(reeds)]
    return Protocol(
        trial="own", question="own", ask="", instrument="clarinet", habits=(Habit("a", "a"), Habit("b", "b")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=date(2026, 3, 1), days=days,
        units=tuple(Unit(c, c.partition("-")[0], (c,)) for c in codes),
        dealt=tuple("ab"[i // boxes % 2] for i in range(reeds)),
        slots=tuple(Slot(d, k + 1, codes[((d - 1) * a_day + k) % reeds]) for d in range(1, days + 1)
                    for k in range(a_day)),
        worn_out_below=4.0 if rest else 0.0)


def players(n: int, base: World, seed: int, *, spread: float = 0.35, rest: bool = False) -> list[Player]:
    """`n` players with logbooks of 2 to 12 weeks and 4 to 12 reeds from 1 to 3 boxes."""
    rng = np.random.default_rng(seed)
    out = []
    for i in range(n):
        world = a_world(base, rng, spread)
        days, reeds = int(rng.integers(14, 85)), int(rng.integers(4, 13))
        plan = a_plan(reeds, int(rng.integers(1, min(3, reeds // 2) + 1)), days, int(rng.integers(2, 4)), rest)
        out.append(Player(world, to_frames(simulate(plan, world, 1, seed + 1000 + i), 0), days, reeds))
    return out


def true_wear(world: World) -> tuple[float, float]:
    """Mean and spread of a reed's wear: the world holds it at zero or above."""
    m, s = world.wear_per_hour, world.wear_sd
    z = m / s if s > 0 else 0.0
    mean = m * stats.norm.cdf(z) + s * stats.norm.pdf(z)
    square = (m**2 + s**2) * stats.norm.cdf(z) + m * s * stats.norm.pdf(z)
    return float(mean), math.sqrt(float(square) - float(mean) ** 2)


def measure(people: list[Player], defaults: World) -> pd.DataFrame:
    """One row per player and number: truth, default, raw, shrunk."""
    rows = []
    for i, p in enumerate(people):
        own = own_numbers(p.frames, defaults)
        for e in own.estimates.values():
            truth = {"wear_sd": true_wear(p.world)[1], "wear_per_hour": true_wear(p.world)[0],
                     "air_points": math.nan}.get(e.name)
            if truth is None:
                truth = float(getattr(p.world, e.name))
            rows.append({"player": i, "name": e.name, "truth": truth, "default": e.default, "raw": e.raw,
                         "raw_variance": e.raw_variance, "se": e.se, "value": e.value})
    return pd.DataFrame(rows)


def bias(table: pd.DataFrame) -> pd.DataFrame:
    """Mean error of the raw numbers (variances for spreads) with its standard error, in units of the default."""
    rows = []
    for name, g in table.groupby("name", sort=False):
        spread = name in SPREADS
        got, want = (g["raw_variance"], g["truth"] ** 2) if spread else (g["raw"], g["truth"])
        error = (got - want).dropna()
        if error.empty:
            continue
        unit = float(g["default"].iloc[0]) ** (2 if spread else 1) or 1.0
        claimed = g.loc[error.index, "se"].to_numpy() * (math.nan if name == "life_median_h" else 1)  # a log's
        rows.append({"name": name, "players": len(error), "bias": error.mean() / unit,
                     "its error": error.std(ddof=1) / math.sqrt(max(len(error), 1)) / unit,
                     "z": error.mean() / (error.std(ddof=1) / math.sqrt(max(len(error), 1))),
                     "claimed/seen sd": math.sqrt(np.mean(claimed**2)) / error.std(ddof=1)})
    return pd.DataFrame(rows).set_index("name")


def forecast_error(table: pd.DataFrame) -> pd.DataFrame:
    """Mean squared error of the logarithm (of the value itself for wear and level), by source."""
    rows = []
    for name, g in table.groupby("name", sort=False):
        if name in ("air_points", "pair_noise"):  # a truth of another kind; no trial back to back in these diaries
            continue
        plain = name in ("level", "wear_per_hour", "day_off", "minutes_cv")
        floor = g["default"] / 4
        raw = g["raw"].fillna(g["default"])  # where it cannot be said, nothing but the default is left

        def loss(x: pd.Series, g: pd.DataFrame = g, plain: bool = plain, floor: pd.Series = floor) -> pd.Series:
            if plain:
                return (x - g["truth"]) ** 2
            return (np.log(np.maximum(x, floor)) - np.log(np.maximum(g["truth"], floor / 10))) ** 2

        d, r, v = loss(g["default"]), loss(raw), loss(g["value"])
        rows.append({"name": name, "default": d.mean(), "raw": r.mean(), "shrunk": v.mean(),
                     "z v default": (d - v).mean() / (d - v).sem(), "z v raw": (r - v).mean() / (r - v).sem()})
    return pd.DataFrame(rows).set_index("name")


def chance_error(table: pd.DataFrame, people: list[Player]) -> pd.DataFrame:
    """Mean squared error of the forecast chance, when the spreads are the default, raw or shrunk ones."""
    wide = {kind: table.pivot(index="player", columns="name", values=kind)
            for kind in ("truth", "default", "raw", "value")}
    wide["raw"] = wide["raw"].fillna(wide["default"])
    r = np.array([p.world.first_play_r for p in people])

    def chances(w: pd.DataFrame) -> tuple[list[float], list[float]]:
        noise, reed = w["noise_sd"].to_numpy(), w["reed_sd"].to_numpy()
        pairs = np.sqrt(2 * (reed**2 * (1 - r**2) + noise**2 / 10))
        return ([pairs_chance(14, 1.0, max(float(s), 0.01)) for s in noise],
                [pairs_chance(6, 1.0, max(float(s), 0.01)) for s in pairs])

    got = {kind: chances(w) for kind, w in wide.items()}
    rows = []
    for k, name in enumerate(("day by day", "reed by reed")):
        loss = {kind: (np.array(got[kind][k]) - np.array(got["truth"][k])) ** 2 for kind in got}
        row = {"plan": name, **{kind: float(loss[kind].mean()) for kind in ("default", "raw", "value")}}
        for kind in ("default", "raw"):
            gain = loss[kind] - loss["value"]
            row[f"z v {kind}"] = float(gain.mean() / stats.sem(gain))
        rows.append(row)
    return pd.DataFrame(rows).set_index("plan").rename(columns={"value": "shrunk"})


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--players", type=int, default=200)
    ask.add_argument("--seed", type=int, default=20260301)
    ask.add_argument("--spread", type=float, default=0.35, help="of the players' true spreads, log scale")
    given = ask.parse_args()
    pd.set_option("display.width", 130)
    for title, base, rest in (("No ceiling, no worn-out reeds", CLEAN, False), ("The usual world", World(), True)):
        people = players(given.players, base, given.seed, spread=given.spread, rest=rest)
        table = measure(people, base)
        print(f"\n{title}: {given.players} players, seed {given.seed}")
        print("\nRaw numbers: mean error, in units of the default (variances for spreads)")
        print(bias(table).round(3).to_string())
        print("\nMean squared error (log scale, but for level, wear per hour, shares)")
        print(forecast_error(table).round(4).to_string())
        print("\nMean squared error of the chance of finding one point")
        print(chance_error(table, people).round(4).to_string())


if __name__ == "__main__":
    main()
