"""Back to back beside day by day on the same simulated players, and in worlds that attack it.

    python -m tests.benchmarks.back_to_back --trials 1000           # what it gains
    python -m tests.benchmarks.back_to_back --trials 2000 --hostile # how often it is wrong

The gain is told for the same minutes a day: a slot takes one rating, or one pair. What a direct comparison does to the
noise of an impression nobody knows for reeds, so it is told for the same noise in each go as in any rating of the day
(cautious), and for 0.7 and 0.5 of it. All worlds are simulated; their numbers are our assumptions.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from reedlab.analysis.batch import BatchTrials, judge_batch
from reedlab.plan import draw_up
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate

SAMPLES = 4_000
#: Worlds without a difference, and with one of just what matters as the player says it.
HOSTILE: dict[str, dict[str, Any]] = {
    "as assumed": {},
    "the second go gains 1 point": {"second_points": 1.0},
    "the first go gains 2 points": {"second_points": -2.0},
    "half the difference lost by holding on to the first": {"first_holds": 0.5},
    "differences under 1 point called none": {"no_difference": 1.0},
    "only whole points, under 1.5 called none": {"no_difference": 1.5, "step": 1.0},
    "only 1 in 2 days played": {"day_off": 0.5},
    "1 in 4 pairs begun with the other way": {"adherence": 0.75},
    "first way used first on bad days": {"adherence": 0.8, "bad_days_decide": True},
    "noise doubled": {"pair_noise": 2.0},
}


def reeds(n: int = 10) -> pd.DataFrame:
    """A box of `n` reeds that were played once."""
    from reedlab.rows.tables import typed

    return typed("reeds", [{"reed": f"1-{i:02d}", "box": "1", "first_play": 9 - i / 2} for i in range(1, n + 1)])


def plan(outcome: str, days: int, a_day: int) -> Protocol:
    """Return the plan of the place on the mouthpiece."""
    return draw_up("position", reeds(), start=date(2026, 3, 2), seed=5, instrument="clarinet", outcome=outcome,
                   days=days, reeds_a_day=a_day, simulations=100, compared=False).shown


def judged(protocol: Protocol, world: World, n: int, seed: int, change: Any = None) -> Any:
    """Return the verdicts of `n` trials dealt anew."""
    played: BatchTrials = batch_trials(simulate(protocol, world, n, seed, fresh_deals=True))
    return judge_batch(played if change is None else change(played), samples=SAMPLES, seed=1)


def said_gap(protocol: Protocol, world: World, effect: float) -> float:
    """Return the gap in points that a player in this world would say on average, done as planned."""
    many = simulate(protocol, world.but(effect_points=effect, adherence=1.0, bad_days_decide=False), 400, 77,
                    fresh_deals=True)
    sign = np.where(many.used_b, 1.0, -1.0)
    return float(np.nanmean(many.rating * sign))


def effect_that_is_said(protocol: Protocol, world: World, gap: float) -> float:
    """Return the true effect that is said as `gap` points on average, found by halving."""
    low, high = 0.0, 8.0
    for _ in range(18):
        mid = (low + high) / 2
        low, high = (mid, high) if said_gap(protocol, world, mid) < gap else (low, mid)
    return (low + high) / 2


def dislikes(trials: BatchTrials) -> BatchTrials:
    """Leave out half of the pairs in which the second way came out behind: what the player does not like to write."""
    rng = np.random.default_rng(5)
    behind = np.where(trials.used_b, trials.rating, -trials.rating) < 0
    return replace(trials, rating=np.where(behind & (rng.random(trials.rating.shape) < 0.5), np.nan, trials.rating))


def gain(trials: int) -> pd.DataFrame:
    """Return one row for each plan and length: how often the better way is named, and sameness."""
    rows = []
    for days in (7, 14, 28):
        for outcome, a_day, share in (("day_rating", 2, 1.0), ("day_rating", 4, 1.0), ("preference", 2, 1.0),
                                      ("preference", 2, 0.7), ("preference", 2, 0.5), ("preference", 1, 0.7)):
            try:
                protocol = plan(outcome, days, a_day)
            except Exception as no:  # too little
                print(f"{outcome} {days} days, {a_day} a day: {no}")
                continue
            row: dict[str, Any] = {"asked": outcome, "days": days, "minutes a day": 10 * a_day,
                                   "noise": share if outcome == "preference" else "–"}
            for gap in (0.0, 0.5, 1.0):
                v = judged(protocol, World(effect_points=gap, pair_noise=share), trials, 11).verdict
                wanted = "no_real_difference" if gap == 0 else "b_better"
                row[f"gap {gap:g}"] = round(100 * float(np.mean(v == wanted)))
            rows.append(row)
            print(row, flush=True)
    return pd.DataFrame(rows)


def hostile(trials: int, days: int = 14) -> pd.DataFrame:
    """Return one row for each world: false winners without a difference, false sameness at what matters, cover."""
    protocol, rows = plan("preference", days, 2), []
    for name, changes in HOSTILE.items():
        world = World(**changes)
        none = judged(protocol, world, trials, 21)
        edge = effect_that_is_said(protocol, world, protocol.matters)
        near = judged(protocol, world.but(effect_points=edge), trials, 22)
        felt = judged(protocol, world.but(effect_points=protocol.matters), trials, 23)
        rows.append({"world": name, "false winner": _share(np.isin(none.verdict, ("a_better", "b_better"))),
                     "false sameness at 1 point as said": _share(near.verdict == "no_real_difference"),
                     "sameness at 1 point as felt": _share(felt.verdict == "no_real_difference")})
        print(rows[-1], flush=True)
    none = judged(protocol, World(), trials, 24, dislikes)
    near = judged(protocol, World(effect_points=-protocol.matters), trials, 25, dislikes)
    rows.append({"world": "half the pairs unwritten in which one way lost",
                 "false winner": _share(np.isin(none.verdict, ("a_better", "b_better"))),
                 "false sameness at 1 point as said": _share(near.verdict == "no_real_difference"),
                 "sameness at 1 point as felt": float("nan")})
    print(rows[-1], flush=True)
    return pd.DataFrame(rows)


def _share(x: Any) -> float:
    return round(100 * float(np.mean(x)), 1)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--hostile", action="store_true")
    parser.add_argument("--days", type=int, default=14)
    args = parser.parse_args()
    table = hostile(args.trials, args.days) if args.hostile else gain(args.trials)
    print(table.to_string(index=False))


if __name__ == "__main__":
    main()
