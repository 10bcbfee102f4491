"""What earlier reeds of the same kind would add to a test of lives that ends on a planned day. Prints a Markdown table.

The test shuffles the trial's own reeds, as ever; only their scores change. Three ways to score them are compared:

- as now: worn out or not, less what was to be expected by its hours, reckoned from the trial's own reeds;
- joined: earlier reeds, all played to their end before the start, stand among those at risk and are never dealt;
- fitted: joined, but where they lasted longer than the trial's reeds their hours are first shortened until they fit. By
  how much is reckoned blind, so every shuffle is as likely as before. So it is done (`analysis.shuffling.past_lives`).

Reeds are watched for one median life each, as long as plans are drawn up to last, or until the last comes to its end.

Run by hand from the project's folder::

    python -m tests.benchmarks.past_reeds --trials 4000
    nice python -m tests.benchmarks.past_reeds --judged --trials 1000

All data are invented; the worlds are our assumptions.
"""

from __future__ import annotations

import argparse
import dataclasses
import time
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_scores import score_tie, scores
from reedlab.analysis.shuffling.past_lives import PastLives
from reedlab.worlds import World, batch_trials, simulate

from .hostile import drawn

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
READ: Final = ("as now", "joined", "fitted")
WATCHED: Final[Mapping[str, float]] = {"a median life each": 1.0, "to the end": 4.0}
_ALPHA: Final = 0.05 + 1e-12
_CHIPPED: Final = 0.15  # share of reeds damaged before the end of their life


@dataclass(frozen=True)
class Lives:
    """A world of lives, in medians of the first way's: their Weibull `shape`, or lognormal (0).

    `past` is how many times as long the earlier reeds lasted, half of them `season` times that; `spread` is that of
    boxes, earlier ones too; `uneven` that of how long each reed is watched (both of logarithms).
    """

    shape: float = 2.0
    past: float = 1.0
    season: float = 1.0
    spread: float = 0.0
    uneven: float = 0.0


WORLDS: Final[Mapping[str, Lives]] = {
    "as assumed": Lives(),
    "lives more alike (shape 4)": Lives(shape=4.0),
    "lives wild (shape 1)": Lives(shape=1.0),
    "lives lognormal": Lives(shape=0.0),
    "boxes differ (spread of half)": Lives(spread=0.5),
    "reeds watched unequally (spread of half)": Lives(uneven=0.5),
    "earlier reeds lasted 0.6 times as long": Lives(past=0.6),
    "earlier reeds lasted 1.6 times as long": Lives(past=1.6),
    "earlier reeds lasted 2.5 times as long": Lives(past=2.5),
    "half of the earlier reeds lasted twice as long": Lives(season=2.0),
}


@cache
def _layout(boxes: int) -> tuple[tuple[str, ...], npt.NDArray[np.intp]]:
    """Return the matched set and the box of each reed of a plan."""
    plan = drawn("drying", "life_hours", boxes, 10, days=240)
    names = [u.reeds[0].rpartition("-")[0] for u in plan.units]
    return tuple(u.block for u in plan.units), np.array([sorted(set(names)).index(b) for b in names])


def _drawn_lives(world: Lives, shape: tuple[int, ...], rng: np.random.Generator) -> FloatArray:
    if not world.shape:
        return np.exp(0.6 * rng.normal(size=shape))
    return rng.weibull(world.shape, shape) / np.log(2)**(1 / world.shape)


def _chipped(life: FloatArray, rng: np.random.Generator) -> FloatArray:
    return np.where(rng.random(life.shape) < _CHIPPED, rng.random(life.shape) * life, np.inf)


def called(world: Lives, boxes: int, past: int, watched: float, ratio: float, trials: int,
           seed: int) -> dict[str, FloatArray]:
    """Return 1 where B is called ahead at 5 in 100, -1 where A is, for each way to score; and the share worn out."""
    rng = np.random.default_rng([seed, boxes, past])
    sets, box = _layout(boxes)
    n, shape = len(sets), (trials, len(sets))
    is_b = np.zeros(shape, dtype=bool)
    for s in dict.fromkeys(sets):
        mine = np.flatnonzero(np.array(sets) == s)
        is_b[:, mine] = np.argsort(np.argsort(rng.random((trials, len(mine))), axis=1), axis=1) < len(mine) // 2
    level = np.exp(world.spread * rng.normal(size=(trials, boxes)))[:, box]
    life = _drawn_lives(world, shape, rng) * level * np.where(is_b, ratio, 1.0)
    hurt = _chipped(life, rng)
    end = watched * np.exp(world.uneven * rng.normal(size=shape))
    hours, worn = np.minimum(np.minimum(life, hurt), end), (life <= hurt) & (life <= end)
    before = _drawn_lives(world, (trials, past), rng) * world.past * np.exp(world.spread * rng.normal(
        size=(trials, past))) * np.where(rng.random((trials, past)) < 0.5, 1.0, world.season)
    gone = _chipped(before, rng)
    known, ended = np.minimum(before, gone), before <= gone
    beside = [PastLives(h, e) for h, e in zip(known, ended, strict=True)]
    log = np.log(hours)
    scored = {"as now": scores(log, worn),
              "joined": scores(np.concatenate([log, np.log(known)], axis=1), np.c_[worn, ended])[:, :n],
              "fitted": np.concatenate([b.scores(log[i:i + 1], worn[i:i + 1]) for i, b in enumerate(beside)])}
    deals, rows = Deals.whole(is_b, list(sets), limit=1000, samples=2000), np.arange(trials)
    out = {"worn out": worn.mean(axis=1)}
    for name, s in scored.items():
        centred = deals.centred(s, rows)
        upper, lower = deals.tails(centred, deals.observed(centred, rows), score_tie(s), rows)
        out[name] = (2 * lower <= _ALPHA) * 1.0 - (2 * upper <= _ALPHA)  # few events in B: it lasts longer
    return out


@dataclass(frozen=True)
class Cell:
    """Shares of trials, by way to score: the longer way called at 1.5 and at 2, and either way called at 1."""

    half: Mapping[str, float]
    twice: Mapping[str, float]
    false: Mapping[str, float]
    worn_out: float


def cell(world: Lives, boxes: int, past: int, watched: float, trials: int, seed: int = 1) -> Cell:
    """Play one world at ratios 1, 1.5 and 2."""
    none, half, twice = (called(world, boxes, past, watched, r, trials, seed) for r in (1.0, 1.5, 2.0))
    return Cell({k: float((half[k] > 0).mean()) for k in READ}, {k: float((twice[k] > 0).mean()) for k in READ},
                {k: float((none[k] != 0).mean()) for k in READ}, float(none["worn out"].mean()))


def judged(days: int, boxes: int, life: float, trials: int, seed: int = 1) -> dict[str, dict[str, float]]:
    """Return the shares of trials with each verdict, alone and with 25 earlier reeds written into the plan.

    By the judge of every trial, range and all, in a plan of so many days at an hour a day; B's lives are `life` times
    as long.
    """
    world = World(effect_life=life)
    rng = np.random.default_rng([seed, 25])
    past = tuple((float(h), bool(e)) for h, e in zip(
        world.life_scale_h * rng.weibull(world.life_shape, 25), rng.random(25) >= _CHIPPED, strict=True))
    plain = drawn("drying", "life_hours", boxes, 10, days=days)
    out = {}
    for name, plan in (("as now", plain), ("fitted", dataclasses.replace(plain, past_lives=past))):
        found = judge_batch(batch_trials(simulate(plan, world, trials, seed, fresh_deals=True)), samples=2000, seed=1)
        out[name] = {v: float((found.verdict == v).mean()) for v in ("a_better", "b_better", "no_real_difference")}
    return out


def _judged(trials: int) -> None:
    head = ("days", "reeds", "alike: named", "life 1.5 times: named", "2 times: named", "alike: said so")
    print("| " + " | ".join(head) + " |\n" + "|---" * len(head) + "|")
    for days in (120, 300, 600):
        for boxes in (1, 2):
            none, half, twice = (judged(days, boxes, r, trials) for r in (1.0, 1.5, 2.0))
            told = [[none[k]["a_better"] + none[k]["b_better"], half[k]["b_better"], twice[k]["b_better"],
                     none[k]["no_real_difference"]] for k in ("as now", "fitted")]
            cells = [f"{100 * a:.1f} → {100 * b:.1f}" for a, b in zip(*told, strict=True)]
            print(f"| {days} | {10 * boxes} | {' | '.join(cells)} |", flush=True)


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--trials", type=int, default=4000, help="in each cell")
    ask.add_argument("--boxes", type=int, default=2)
    ask.add_argument("--past", type=int, default=20, help="earlier reeds")
    ask.add_argument("--judged", action="store_true", help="by the judge, in plans of 120 to 600 days")
    args = ask.parse_args()
    began = time.perf_counter()
    if args.judged:
        _judged(args.trials)
        return
    print("| lives | " + " | ".join(f"{w}: 1.5 times | 2 times | none" for w in WATCHED) + " |\n" + "|---" * 7 + "|")
    for name, world in WORLDS.items():
        cells = []
        for watched in WATCHED.values():
            c = cell(world, args.boxes, args.past, watched, args.trials)
            cells += [" / ".join(f"{100 * x[k]:.1f}" for k in READ) for x in (c.half, c.twice, c.false)]
        print(f"| {name} | {' | '.join(cells)} |", flush=True)
    print(f"\n{10 * args.boxes} reeds, {args.past} earlier ones; {' / '.join(READ)}; {args.trials} trials a cell; "
          f"{time.perf_counter() - began:.0f} s.")


if __name__ == "__main__":
    main()
