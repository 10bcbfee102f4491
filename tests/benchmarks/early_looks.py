"""What early looks bring, and whether odds on the way and planned end together keep to their 5 in 100. Prints tables.

Trials are rated day by day and read after every day; the odds of `analysis.shuffling.coin_odds` name a winner on the
way, the test of the planned end by what they leave for it.

1. No difference, hostile worlds: a winner ever named, by the odds on any day or at the end, per 100 trials. Promised:
   at most 5, whoever looks, whenever and why.
2. A constant gap: how often the odds ever rule the true gap out. Promised: at most 4.
3. What is gained: winners named by a look, beside the rule that a look names one at p <= 0.001; and at the end, beside
   the same plan that may not be read early.

Run by hand from the project's folder::

    python -m tests.benchmarks.early_looks --trials 2000

All data are invented; the worlds (tests/benchmarks/hostile.py) are our assumptions.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import time
from dataclasses import dataclass

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402

from reedlab.analysis.batch import BatchTrials, judge_batch  # noqa: E402
from reedlab.analysis.batch.by_unit import batch_coins, batch_odds, batch_values  # noqa: E402
from reedlab.analysis.shuffling.coin_odds import CoinOdds  # noqa: E402
from reedlab.analysis.units.coins import Coins  # noqa: E402
from reedlab.plan.forecast import with_effect  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import World, batch_trials, simulate  # noqa: E402

from .calibration import Share  # noqa: E402
from .hostile import AT_MARGIN, WORLDS, Case, drawn, is_constant  # noqa: E402

WINNERS = ("a_better", "b_better")
_PART = 500


def plans() -> dict[str, Case]:
    """Return the plans that are attacked, by name; all may be read early."""
    made = {
        "four reeds, 28 days": drawn("wetting", "day_rating", 2, 2, days=28),
        "four reeds, 56 days": drawn("wetting", "day_rating", 2, 2, days=56),
        "one reed a day, 48 days": drawn("position", "day_rating", 2, 2, reeds_a_day=1, days=48),
        "two boxes of equal reeds, 14 days": drawn("cut_or_strength", "day_rating", 2, 10, days=14),
    }
    return {name: Case(name, (may_be_read(p),), World()) for name, p in made.items()}


def may_be_read(plan: Protocol) -> Protocol:
    """Return the plan as one that may be read early."""
    return dataclasses.replace(plan, read_early=True)


def odds_of(trials: BatchTrials) -> tuple[CoinOdds, Coins]:
    """Return the odds of simulated trials over all their blocks."""
    rows = np.arange(len(trials))
    share = np.where(trials.unit >= 0, trials.dealt_b[:, trials.unit], 0.0)
    coins = batch_coins(trials, batch_values(trials), share, rows, None)
    return batch_odds(trials, coins), coins


def _parts(plan: Protocol, world: World, trials: int, seed: int) -> list[BatchTrials]:
    sizes = [_PART] * (trials // _PART) + ([trials % _PART] if trials % _PART else [])
    return [batch_trials(simulate(plan, world, n, seed * 1000 + i, fresh_deals=True)) for i, n in enumerate(sizes)]


@dataclass(frozen=True)
class False_:
    """Winners named without a difference: by the odds on some day, by the planned end, and by either."""

    on_the_way: Share
    at_the_end: Share
    ever: Share


def false_winners(case: Case, world: str, trials: int, seed: int = 1) -> False_:
    """Play a plan without a difference, read it after every day and at the end."""
    truth, made = case.in_world(world)
    way, end, ever, seen = 0, 0, 0, 0
    for made_trials in _parts(may_be_read(made[0]), truth, trials, seed):
        named = odds_of(made_trials)[0].named()
        won = np.isin(judge_batch(made_trials, seed=seed).verdict, WINNERS)
        way, end, ever = way + int(named.sum()), end + int((won & ~named).sum()), ever + int((won | named).sum())
        seen += len(made_trials)
    return False_(Share(way, seen), Share(end, seen), Share(ever, seen))


def ruled_out(case: Case, side: int, trials: int, seed: int = 2) -> Share:
    """Return how often a constant true gap of what matters is ever ruled out by the odds, on any day."""
    name = next(n for n in AT_MARGIN if is_constant(n))
    world, made = case.at_margin(name, side)
    out = seen = 0
    for made_trials in _parts(may_be_read(made[0]), world, trials, seed):
        odds, _ = odds_of(made_trials)
        out += int((odds.path(side * case.plan.matters).most >= odds.bar).sum())
        seen += len(made_trials)
    return Share(out, seen)


@dataclass(frozen=True)
class Gain:
    """Shares of trials that name the better way: by the odds up to some days, by p <= 0.001 then, and at the end."""

    days: tuple[int, ...]
    by_odds: tuple[float, ...]
    by_p: tuple[float, ...]
    ever: float
    fixed: float


def gain(plan: Protocol, gap: float, trials: int, seed: int = 3) -> Gain:
    """Play a plan with a true gap, as one that may be read early and as one that may not."""
    days = tuple(max(1, round(share * plan.days)) for share in (0.25, 0.5, 0.75))
    odds_at, p_at, ever, fixed, seen = np.zeros(3), np.zeros(3), 0, 0, 0
    for early in _parts(may_be_read(plan), with_effect(World(), plan.outcome, gap), trials, seed):
        plain = dataclasses.replace(early, protocol=plan)
        odds, coins = odds_of(early)
        path = odds.path()
        over = np.maximum.accumulate(path.e_values, axis=1) >= odds.bar
        for j, day in enumerate(days):
            ended = int((coins.last <= day).sum())
            odds_at[j] += (over[:, ended - 1] & odds.up(path)).sum() if ended else 0
            p_at[j] += (judge_batch(plain, early=True, looks=1, day=day, samples=5_000).verdict == "b_better").sum()
        ever += int((judge_batch(early, seed=seed).verdict == "b_better").sum())
        fixed += int((judge_batch(plain, samples=5_000).verdict == "b_better").sum())
        seen += len(early)
    return Gain(days, tuple(odds_at / seen), tuple(p_at / seen), ever / seen, fixed / seen)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=2000)
    parser.add_argument("--only", choices=("false", "range", "gain"))
    args = parser.parse_args()
    began, cases = time.perf_counter(), plans()
    if args.only in (None, "false"):
        print("| no difference | " + " | ".join(cases) + " |\n" + "|---" * (len(cases) + 1) + "|")
        for world in WORLDS:
            cells = [false_winners(c, world, args.trials) for c in cases.values()]
            print(f"| {world} | " + " | ".join(
                f"{100 * f.on_the_way.count / f.ever.trials:.1f} + {100 * f.at_the_end.count / f.ever.trials:.1f} = "
                f"{f.ever.words(not f.ever.at_most(0.05))}" for f in cells) + " |", flush=True)
    if args.only in (None, "range"):
        for name, case in cases.items():
            for side in (1, -1):
                words = ruled_out(case, side, args.trials).words()
                print(f"{name}, {side:+d}: the true gap is ever ruled out in {words}", flush=True)
    if args.only in (None, "gain"):
        print("| plan | gap | " + " | ".join(f"by {d}" for d in ("a quarter", "half", "three quarters")) +
              " | ever | not to be read early |\n" + "|---" * 7 + "|")
        for days in (14, 28, 56):
            plan = drawn("wetting", "day_rating", 2, 2, days=days)
            for gap in (0.5, 1.0, 1.5):
                g = gain(plan, gap, args.trials)
                looks = " | ".join(f"{100 * x:.0f} ({100 * y:.0f})" for x, y in zip(g.by_odds, g.by_p, strict=True))
                print(f"| {days} days | {gap} | {looks} | {100 * g.ever:.1f} | {100 * g.fixed:.1f} |", flush=True)
    print(f"{args.trials} trials a cell; {time.perf_counter() - began:.0f} s.")


if __name__ == "__main__":
    main()
