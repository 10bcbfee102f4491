"""Ranges of life ratios where all reeds are watched equally long: plain, and read as far as both ways were seen.

Lives are Weibull with shape 2 (one stretch for all lives) or Gompertz with proportional hazards (no one stretch: early
and late lives differ by other ratios than the middle ones, and B's median is 1.5 times A's). Everyone is watched to
the same hours; a share is damaged sooner. For each world, out of 100 trials: how often the 95 % range holds the true
ratio (of medians), rules out a ratio of 3 (all lives alike), and "no difference that matters" is said at a margin of
1.5: right where the ways are alike, false where the ratio of medians is 1.5. Run by hand from the project's folder::

    python tests/benchmarks/life_ranges.py --trials 1000

All data are invented.
"""

from __future__ import annotations

import argparse
import math

import numpy as np

from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_ratios import LifeRatios

MEDIAN = 15.0
MARGIN = 1.5
SAMPLES = 4_000

# name, reeds of each way, hours watched, true ratio of medians, share damaged, proportional hazards
WORLDS = [
    ("alike", 20, 12.0, 1.0, 0.0, False), ("alike", 40, 15.0, 1.0, 0.0, False),
    ("alike, a fifth damaged", 20, 15.0, 1.0, 0.2, False),
    ("half as long again", 20, 15.0, 1.5, 0.0, False), ("half as long again", 40, 15.0, 1.5, 0.0, False),
    ("half as long again, a fifth damaged", 20, 15.0, 1.5, 0.2, False),
    ("twice as long", 20, 15.0, 2.0, 0.0, False), ("a third shorter", 20, 15.0, 1 / 1.5, 0.0, False),
    ("no one stretch", 20, 15.0, 1.5, 0.0, True), ("no one stretch", 40, 15.0, 1.5, 0.0, True),
    ("no one stretch, never stopped", 40, math.inf, 1.5, 0.0, True),
]


def lives(rng: np.random.Generator, n: int, ratio: float, hazards: bool) -> np.ndarray:
    """Lives of n reeds of each way, A's and B's in turn."""
    u = -np.log(rng.random(2 * n))
    is_b = np.tile([False, True], n)
    if not hazards:
        return MEDIAN * np.sqrt(u / np.log(2)) * np.where(is_b, ratio, 1.0)
    # Gompertz, hazard growing e-fold in 4 hours; B's hazard is lower by what puts its median at `ratio`
    grow = 0.25
    start = np.log(2) / np.expm1(grow * MEDIAN)
    lower = np.expm1(grow * MEDIAN) / np.expm1(grow * MEDIAN * ratio)
    return np.log1p(u / (start * np.where(is_b, lower, 1.0))) / grow


def play(n: int, end: float, ratio: float, damaged: float, hazards: bool, trials: int, seed: int) -> np.ndarray:
    """Return (plain, cut off) by (holds the truth, rules out 3, "same", worn out of each way) in 100 trials."""
    rng = np.random.default_rng(seed)
    is_b = np.tile([False, True], n)
    deals = Deals.whole(is_b, np.zeros(2 * n), limit=2**16, samples=SAMPLES)
    out = np.zeros((2, 4))
    for _ in range(trials):
        life = lives(rng, n, ratio, hazards)
        hurt = np.where(rng.random(2 * n) < damaged, rng.uniform(0, min(end, 2 * MEDIAN), 2 * n), np.inf)
        hours = np.minimum(np.minimum(life, end), hurt)
        for row, watched in enumerate((None, np.full((1, 2 * n), end))):
            ratios = LifeRatios(hours[None], (life <= hours)[None], deals, watched=watched)
            low, high = ratios.scan(0).hull(0.05)
            same = max(ratios.tails(1 / MARGIN)[0][0], ratios.tails(MARGIN)[1][0]) <= 0.05 + 1e-12
            out[row] += low <= ratio <= high, not low <= 3.0 <= high, same, (life <= hours).sum() / (2 * n)
    return 100 * out / trials


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    print("| world | reeds | watched, h | worn out | holds the ratio: plain, cut off | rules out 3 | no difference |")
    print("|---|---|---|---|---|---|---|")
    for k, (name, n, end, ratio, damaged, hazards) in enumerate(WORLDS):
        plain, cut = play(n, end, ratio, damaged, hazards, args.trials, args.seed + k)
        cells = [f"{a:.0f}, {b:.0f}" if j else f"{a:.1f}, {b:.1f}" for j, (a, b) in enumerate(
            zip(plain[:3], cut[:3], strict=True))]
        watched = "to the end" if math.isinf(end) else f"{end:.0f}"
        print(f"| {name} (ratio {ratio:.2f}) | {n} v {n} | {watched} | {plain[3]:.0f} % | " + " | ".join(cells) + " |",
              flush=True)
    print(f"\n{args.trials} simulated trials a row; standard error of 95 in 100: {(95 * 5 / args.trials) ** 0.5:.1f}.")


if __name__ == "__main__":
    main()
