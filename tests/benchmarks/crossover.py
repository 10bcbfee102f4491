"""First one way, then the other, beside reed by reed on the same simulated players, and in worlds that attack it.

    python -m tests.benchmarks.crossover --trials 1000           # what it gains
    python -m tests.benchmarks.crossover --trials 2000 --hostile # how often it is wrong
    python -m tests.benchmarks.crossover --trials 1000 --third   # were a third of each half left out in any case

A way goes on for as long as the player says (four days) and sinks to half four times meanwhile, unless the world says
otherwise. All worlds are simulated; their numbers are our assumptions.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
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
DAYS_OF_EFFECT = 4
AS_SAID = {"effect_half_life": DAYS_OF_EFFECT / 4}
#: Worlds that the plan does not know of: in each, how often is it wrong?
HOSTILE: dict[str, dict[str, Any]] = {
    "as assumed": AS_SAID,
    "gone twice as late as said": {"effect_half_life": DAYS_OF_EFFECT / 2},
    "half of it left after the days said": {"effect_half_life": float(DAYS_OF_EFFECT)},
    "it goes on in full for 10 days": {"effect_days": 10.0},
    "it stays for good": {"effect_days": 10_000.0},
    "taste drifts (spread 2 points)": {**AS_SAID, "taste_sd": 2.0},
    "reeds wear three times as fast": {**AS_SAID, "wear_per_hour": 0.12, "wear_sd": 0.06},
    "every second day without play": {**AS_SAID, "day_off": 0.5},
    "3 in 10 ratings not written down": {**AS_SAID, "forgotten": 0.2, "unrated": 0.1},
    "1 in 4 sittings the other way": {**AS_SAID, "adherence": 0.75},
    "on bad days the first way": {**AS_SAID, "adherence": 0.8, "bad_days_decide": True},
    "noise doubled": {**AS_SAID, "noise_sd": 2.0},
}


def reeds(n: int) -> pd.DataFrame:
    """One or two boxes of ten that were played once."""
    from reedlab.rows.tables import typed

    return typed("reeds", [{"reed": f"{1 + i // 10}-{1 + i % 10:02d}", "box": str(1 + i // 10), "first_play": 9 - i / 5}
                           for i in range(n)])


def plan(outcome: str, days: int, n: int = 10) -> Protocol:
    """Return the plan of the two cases."""
    return draw_up("storage_case", reeds(n), start=date(2026, 3, 2), seed=5, instrument="clarinet", outcome=outcome,
                   days=days, simulations=100).shown


def judged(protocol: Protocol, world: World, n: int, seed: int,
           change: Callable[[BatchTrials], BatchTrials] | None = None) -> Any:
    """Return the verdicts of `n` trials dealt anew."""
    played = batch_trials(simulate(protocol, world, n, seed, fresh_deals=True))
    return judge_batch(played if change is None else change(played), samples=SAMPLES, seed=1)


def within_days(protocol: Protocol, world: World, n: int, seed: int) -> float:
    """Return how often it is told that what wears off makes no difference: sameness without regard to what stays."""
    twice = replace(protocol, matters=2 * protocol.matters)  # sameness must hold at half of what matters
    return _share(judged(twice, world, n, seed).verdict == "no_real_difference")


def ratings_unwritten(trials: BatchTrials) -> BatchTrials:
    """Leave out half of the ratings under 6 that were made with the second way."""
    rng = np.random.default_rng(5)
    low = trials.used_b & (trials.rating < 6) & (rng.random(trials.rating.shape) < 0.5)
    return replace(trials, rating=np.where(low, np.nan, trials.rating))


def gain(trials: int) -> pd.DataFrame:
    """Return one row for each plan and length: how often the better way is named, and sameness."""
    rows = []
    for n, days in ((10, 28), (10, 42), (10, 56), (20, 42), (20, 56)):
        for outcome in ("mean_rating", "crossover"):
            protocol = plan(outcome, days, n)
            row: dict[str, Any] = {"reeds": n, "days": days, "asked": outcome, "ratings": len(protocol.slots)}
            for gap in (0.0, 0.5, 1.0):
                world = World(effect_points=gap, **AS_SAID)
                v = judged(protocol, world, trials, 11).verdict
                row[f"gap {gap:g}"] = _share(v == ("no_real_difference" if gap == 0 else "b_better"))
                if gap == 0 and protocol.crossover:
                    row["alike in what wears off"] = within_days(protocol, world, trials, 11)
            rows.append(row)
            print(row, flush=True)
    return pd.DataFrame(rows)


def hostile(trials: int, n: int = 10, days: int = 56) -> pd.DataFrame:
    """Return one row for each world: false winners, sameness at what matters, and the better way found."""
    protocol, rows = plan("crossover", days, n), []
    worlds: list[tuple[str, dict[str, Any], Any]] = [(name, changes, None) for name, changes in HOSTILE.items()]
    worlds.append(("half of the ratings under 6 unwritten with one way", AS_SAID, ratings_unwritten))
    for name, changes, change in worlds:
        none = judged(protocol, World(**changes), trials, 21, change)
        near = judged(protocol, World(effect_points=protocol.matters, **changes), trials, 22, change)
        behind = judged(protocol, World(effect_points=-protocol.matters, **changes), trials, 23, change)
        rows.append({"world": name, "false winner": _share(np.isin(none.verdict, ("a_better", "b_better"))),
                     "worse way named": max(_share(near.verdict == "a_better"), _share(behind.verdict == "b_better")),
                     "false sameness": max(_share(near.verdict == "no_real_difference"),
                                           _share(behind.verdict == "no_real_difference")),
                     "found": _share(near.verdict == "b_better"),
                     "told alike in what wears off": within_days(
                         protocol, World(effect_points=protocol.matters, **changes), trials, 22)})
        print(rows[-1], flush=True)
    return pd.DataFrame(rows)


def third(trials: int) -> pd.DataFrame:
    """Return what leaving out a third of each half in any case would change."""
    rows = []
    for days in (28, 56):
        for left_out in (DAYS_OF_EFFECT, max(DAYS_OF_EFFECT, -(-days // 6))):
            protocol = replace(plan("crossover", days), effect_days=left_out)
            for name in ("as assumed", "half of it left after the days said", "it stays for good"):
                v = judged(protocol, World(effect_points=1.0, **HOSTILE[name]), trials, 31).verdict
                rows.append({"days": days, "left out": left_out, "world": name, "found": _share(v == "b_better"),
                             "false sameness": _share(v == "no_real_difference")})
                print(rows[-1], flush=True)
    return pd.DataFrame(rows)


def _share(x: Any) -> float:
    return round(100 * float(np.mean(x)), 1)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--hostile", action="store_true")
    parser.add_argument("--third", action="store_true")
    parser.add_argument("--days", type=int, default=56)
    parser.add_argument("--reeds", type=int, default=10)
    args = parser.parse_args()
    table = (hostile(args.trials, args.reeds, args.days) if args.hostile else
             third(args.trials) if args.third else gain(args.trials))
    print(table.to_string(index=False))


if __name__ == "__main__":
    main()
