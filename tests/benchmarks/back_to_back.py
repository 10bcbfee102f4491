"""Back to back beside day by day on the same simulated players, and in worlds that attack it.

    python -m tests.benchmarks.back_to_back --trials 1000           # what it gains
    python -m tests.benchmarks.back_to_back --trials 2000 --hostile # how often it is wrong
    python -m tests.benchmarks.back_to_back --trials 2000 --reeds   # the same of two reeds side by side
    python -m tests.benchmarks.back_to_back --trials 2000 --held    # what could tell a player who holds on to a go

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


#: Two reeds: besides, days on which they are further apart than in the plan's forecast, or not at all.
HOSTILE_REEDS: dict[str, dict[str, Any]] = {
    **HOSTILE, "reeds alike on all days": {"reed_day_sd": 0.0},
    "reeds' days spread by 1.5 points": {"reed_day_sd": 1.5}}


def reeds(n: int = 10) -> pd.DataFrame:
    """A box of `n` reeds that were played once."""
    from reedlab.rows.tables import typed

    return typed("reeds", [{"reed": f"1-{i:02d}", "box": "1", "first_play": 9 - i / 2} for i in range(1, n + 1)])


def plan(outcome: str, days: int, a_day: int, question: str = "position") -> Protocol:
    """Return the plan of the place on the mouthpiece, or of another question."""
    return draw_up(question, reeds(), start=date(2026, 3, 2), seed=5, instrument="clarinet", outcome=outcome,
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


def hostile(trials: int, days: int = 14, question: str = "position") -> pd.DataFrame:
    """Return one row for each world: false winners without a difference, false sameness at what matters, cover."""
    protocol, rows = plan("preference", days, 2, question), []
    for name, changes in (HOSTILE_REEDS if protocol.two_reeds else HOSTILE).items():
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


def second_held(trials: BatchTrials) -> BatchTrials:
    """Halve what is said where the second go was better: it alone is held back."""
    said = np.where(trials.rating < 0, -np.floor(-trials.rating + 0.5) / 2, trials.rating)
    return replace(trials, rating=said)


def held(trials: int, days: int = 14) -> pd.DataFrame:
    """Return how often sameness is told at a gap of 1 point as felt, and how often the order would give it away.

    "by order" asks whether pairs that begin with the one way spread otherwise than the others, "lopsided" whether
    what is said of the first go reaches further than what is said of the second: each at the bar that 5 in 100 players
    pass who hold nothing back.
    """
    protocol = plan("preference", days, 2)
    worlds: tuple[tuple[str, dict[str, Any], Any], ...] = (
        ("nothing held back, no gap", {"effect_points": 0.0}, None), ("nothing held back", {}, None),
        ("half of every difference", {"first_holds": 0.5}, None),
        ("half, where the second was better", {}, second_held),
        ("half, where the second was better; noise 0.5", {"pair_noise": 0.5}, second_held))
    rows, bars = [], np.zeros(2)
    for name, changes, change in worlds:
        world = World(**{"effect_points": protocol.matters, **changes})
        played = batch_trials(simulate(protocol, world, trials, 31, fresh_deals=True))
        played = played if change is None else change(played)
        same = judge_batch(played, samples=SAMPLES, seed=1).verdict == "no_real_difference"
        at = _by_order(played)
        if not bars.any():
            bars = np.quantile(at, 0.95, axis=1)
        flagged = at > bars[:, None]
        rows.append({"held back": name, "sameness": _share(same), "by order": _share(flagged[0]),
                     "lopsided": _share(flagged[1]), "sameness, lopsided ones left out": _share(same & ~flagged[1])})
        print(rows[-1], flush=True)
    return pd.DataFrame(rows)


def _by_order(played: BatchTrials) -> Any:
    """Return for each trial how unlike the spreads of the two orders are, and the two sides of the median, (2, k)."""
    y, b = played.rating, played.dealt_b[:, played.unit]
    one, two = (np.nanvar(np.where(side, y, np.nan), axis=1) for side in (b, ~b))
    off = y - np.nanmedian(y, axis=1, keepdims=True)
    up, down = (np.nansum(np.clip(s * off, 0, None) ** 2, axis=1) for s in (1, -1))
    return np.stack([np.abs(one - two) / np.maximum(one + two, 1e-9), np.abs(up - down) / np.maximum(up + down, 1e-9)])


def _share(x: Any) -> float:
    return round(100 * float(np.mean(x)), 1)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--hostile", action="store_true")
    parser.add_argument("--reeds", action="store_true")
    parser.add_argument("--held", action="store_true")
    parser.add_argument("--days", type=int, default=14)
    args = parser.parse_args()
    if args.held:
        table = held(args.trials, args.days)
    elif args.hostile or args.reeds:
        table = hostile(args.trials, args.days, "two_reeds" if args.reeds else "position")
    else:
        table = gain(args.trials)
    print(table.to_string(index=False))


if __name__ == "__main__":
    main()
