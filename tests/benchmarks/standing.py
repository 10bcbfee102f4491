"""Standing trials in hostile worlds: false winners, false sameness, cover at all times at once; when one is settled.

    nice python -m tests.benchmarks.standing --trials 10000
    nice python -m tests.benchmarks.standing --gain --trials 2000

Reeds go to one of several places on the go; as one ends, the next of the open box takes its place, and a box is opened
when none is left of the one before. So boxes overlap, and reeds of a box begin at different times. Every trial is read
after every reed that comes to its end, in the order of the calendar, and judged by where the odds stand then. With
`--steps` it is judged by every step of each reading, in the order of hours, too: the hardest that `follow_lives` can be
asked. `--ratings` does the same for `follow`, after every matched set.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt

import reedlab
from reedlab.analysis.batch.standing_lives import Looks, Played, looks
from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_ratios import LifeRatios
from reedlab.plan.standing_outlook import courses
from reedlab.worlds.standing import play_boxes

FloatArray = npt.NDArray[np.float64]
_BAR: Final = 20.0
_MATTERS: Final = 1.5


@dataclass(frozen=True)
class Hostile:
    """A world: `spread` of boxes (of log lives), `drift` of lives over the whole trial, `chips` (share of reeds that
    may be chipped), `places` on the go, `pace` of A's and B's reeds, `given_up` (share of weak reeds given up early,
    both ways alike), `shape` of lives, `size` of a box, `fours`, `follows` (share of reeds kept to their way).
    """

    spread: float = 0.0
    drift: float = 1.0
    chips: float = 0.15
    places: int = 4
    pace: tuple[float, float] = (1.0, 1.0)
    uneven: float = 0.0
    given_up: float = 0.0
    shape: float = 2.0
    size: int = 10
    fours: bool = False


WORLDS: Final[Mapping[str, Hostile]] = {
    "as assumed, 15 in 100 chipped": Hostile(),
    "40 in 100 chipped": Hostile(chips=0.4),
    "boxes differ (spread of half)": Hostile(spread=0.5),
    "lives halve as the trial goes on": Hostile(drift=0.5),
    "lives double as the trial goes on": Hostile(drift=2.0),
    "one way played three times as much": Hostile(pace=(1.5, 0.5)),
    "every reed at its own pace": Hostile(uneven=0.7),
    "all ten of a box on the go at once": Hostile(places=10),
    "three boxes on the go at once": Hostile(places=30),
    "weak reeds given up, both ways alike": Hostile(given_up=0.3),
    "lives all but alike (shape 6)": Hostile(shape=6.0),
    "lives wild (shape 1)": Hostile(shape=1.0),
    "fours": Hostile(fours=True),
    "boxes of five": Hostile(size=5),
    "all of it": Hostile(spread=0.5, drift=0.5, chips=0.3, pace=(1.4, 0.6), uneven=0.5, places=12, given_up=0.2),
}


def played(world: Hostile, trials: int, boxes: int, ratio: float, seed: int) -> Played:
    """Play so many trials of so many boxes; B's lives are `ratio` times as long."""
    rng = np.random.default_rng(seed)
    n = 4 if world.fours else world.size
    shape = (trials, boxes, n)
    odd = np.arange(boxes)[None, :, None] % 2
    is_b = np.argsort(np.argsort(rng.random(shape), axis=2), axis=2) < (n + (n % 2) * odd) // 2
    box = np.exp(world.spread * rng.normal(size=(trials, boxes, 1)))
    drift = world.drift ** (np.arange(boxes) / max(1, boxes - 1))[None, :, None]
    natural = rng.weibull(world.shape, shape) * 18 * box * drift
    life = natural * np.where(is_b, ratio, 1.0)
    lost = np.where(rng.random(shape) < world.chips, rng.random(shape) * 20, np.inf)
    weak = (natural < 12) & (rng.random(shape) < world.given_up)
    lost = np.where(weak, np.minimum(lost, rng.random(shape) * 6), lost)
    pace = np.where(is_b, world.pace[1], world.pace[0]) * np.exp(world.uneven * rng.normal(size=shape))
    hours = np.minimum(life, lost)
    return Played(_begun(hours / pace, world.places), pace, hours, life <= lost, is_b)


def _begun(takes: FloatArray, places: int) -> FloatArray:
    """Put the reeds one after the other, each in the place that is free first; return when each begins."""
    k, b, n = takes.shape
    free = np.zeros((k, places))
    out = np.empty((k, b * n))
    rows, flat = np.arange(k), takes.reshape(k, -1)
    for i in range(b * n):
        at = free.argmin(axis=1)
        out[:, i] = free[rows, at]
        free[rows, at] += flat[:, i]
    return out.reshape(takes.shape)


def ends(reeds: Played) -> FloatArray:
    """Return when each trial is read: whenever a reed comes to its end."""
    return np.sort(reeds.ends.reshape(len(reeds.hours), -1), axis=1)


def ever(found: Looks, bar: float = _BAR) -> npt.NDArray[np.bool_]:
    """Say of each trial whether any look reached the bar."""
    stood = found.e_value if found.most is None else found.most
    out: npt.NDArray[np.bool_] = (stood >= bar).any(axis=1)
    return out


def hostile_row(world: Hostile, trials: int, boxes: int, seed: int, *,
                steps: bool = False) -> tuple[float, float, float]:
    """Return how often a winner is ever named without a difference; how often a ratio of just what matters is ever
    ruled out, without which ways that differ by it are never called alike; how often a ratio of 2 is.
    """
    out = []
    for ratio in (1.0, _MATTERS, 2.0):
        parts = []
        for k, start in enumerate(range(0, trials, 500)):
            reeds = played(world, min(500, trials - start), boxes, ratio, seed + 7919 * k + round(100 * ratio))
            parts.append(ever(looks(reeds, ends(reeds), ratio=ratio, steps=steps)))
        out.append(float(np.concatenate(parts).mean()))
    return out[0], out[1], out[2]


def settled(trials: int, boxes: int, size: int, ratio: float, seed: int) -> npt.NDArray[np.int64]:
    """Return for each trial the box that was being played when B was named (0: never; -1: A was)."""
    reeds = played(Hostile(size=size), trials, boxes, ratio, seed)
    at = ends(reeds)
    found = looks(reeds, at)
    over = found.e_value >= _BAR
    first = over.argmax(axis=1)
    rows = np.arange(trials)
    box = (reeds.begun.min(axis=2) <= at[rows, first][:, None]).sum(axis=1)
    return np.where(over.any(axis=1), np.where(found.up[rows, first], box, -1), 0)


def pairs_named(trials: int, pairs: int, gap: float, seed: int, *, drift: float = 0.0, spread: float = 0.0,
                truth: float | None = None, heavy: bool = False) -> npt.NDArray[np.int64]:
    """Return for each trial of numbers in pairs the pair at which B was named (0: never, -1: A was).

    With `truth` the test is of that difference.
    """
    rng = np.random.default_rng(seed)
    out = []
    for _ in range(trials):
        y = rng.standard_t(2.5, 2 * pairs) if heavy else rng.normal(0, 1, 2 * pairs)
        y += np.repeat(spread * rng.normal(size=pairs), 2) + drift * np.arange(2 * pairs) / (2 * pairs)
        first_b = rng.random(pairs) < 0.5
        arm = np.ravel(np.where(first_b[:, None], ["b", "a"], ["a", "b"]))
        y += gap * (arm == "b")
        found = reedlab.follow(y - (truth or 0.0) * (arm == "b"), arm, np.repeat(np.arange(pairs), 2), level=0.95)
        over = np.flatnonzero(np.array(found.e_values) >= _BAR)
        at_first = 0 if not over.size else int(over[0]) + 1
        out.append(-1 if at_first and y[arm == "b"].sum() < y[arm == "a"].sum() else at_first)
    return np.array(out)


def _row(name: str, at: npt.NDArray[np.int64]) -> str:
    when = np.where(at > 0, at, np.inf)
    half, most = (np.sort(when)[int(np.ceil(q * at.size)) - 1] for q in (0.5, 0.8))
    return f"{name:44} B {np.mean(at > 0):6.1%}  A {np.mean(at < 0):6.1%}  half by {half:4g}  80 in 100 by {most:4g}"


def fixed(ratio: float, boxes: int, trials: int, seed: int) -> float:
    """Return how often a trial that was planned to end with this box names the better way (`compare_lives`).

    The same players as those of `plan.standing_outlook`; reeds still going count up to then.
    """
    drawn = play_boxes(trials, boxes, 10, ratio=ratio, shape=2.0, damage=0.15, seed=seed)
    until = boxes * float(drawn.hours.sum(axis=2).mean())
    so_far = np.clip((until - drawn.begun) * drawn.pace, 1e-6, drawn.hours).reshape(trials, -1)
    worn = (drawn.worn_out & (drawn.begun + drawn.hours / drawn.pace <= until)).reshape(trials, -1)
    deals = Deals.whole(drawn.is_b.reshape(trials, -1), np.repeat(np.arange(boxes), 10).tolist(), limit=1000,
                        samples=1000)
    longer, shorter = LifeRatios(so_far, worn, deals).tails(1.0)
    return float(((2 * longer <= 0.05 + 1e-12) & (longer < shorter)).mean())


def _gain(n: int, seed: int) -> None:
    for ratio in (1.5, 2.0, 3.0):
        standing = courses(2.0, 0.15, 10, ratio, 1.5, trials=n, boxes=13, seed=seed)
        for boxes in (2, 3, 4, 5, 8, 13):
            print(f"ratio {ratio:g}, {boxes:2} boxes: standing {standing.right[4 * boxes - 1]:4.0%}  "
                  f"planned to end then {fixed(ratio, boxes, n, seed):4.0%}", flush=True)
    for ratio in (1.0, 2.0):
        print(_row(f"ratio {ratio:g}, fours", settled(n, 30, 4, ratio, seed)), flush=True)


def _ratings(n: int, seed: int) -> None:
    worlds: dict[str, dict[str, object]] = {
        "pairs": {}, "pairs, drift of 3 spreads": {"drift": 3.0}, "pairs, sets differ by 2 spreads": {"spread": 2.0},
        "pairs, heavy tails": {"heavy": True}}
    for name, more in worlds.items():
        none = pairs_named(n, 60, 0.0, seed, **more)  # type: ignore[arg-type]
        one = pairs_named(n, 60, 1.0, seed + 1, truth=1.0, **more)  # type: ignore[arg-type]
        print(f"{name:40} named without a difference {np.mean(none != 0):6.2%}  true gap of 1 ruled out "
              f"{np.mean(one != 0):6.2%}", flush=True)


def _hostile(n: int, seed: int, *, steps: bool = False) -> None:
    for name, world in WORLDS.items():
        no, same, two = hostile_row(world, n, 25 if world.fours or world.size < 10 else 10, seed, steps=steps)
        print(f"{name:40} named without a difference {no:6.2%}  ratio of {_MATTERS:g} ever ruled out {same:6.2%}  "
              f"ratio of 2 ever ruled out {two:6.2%}", flush=True)


def main() -> None:
    """Print the tables."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--trials", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--gain", action="store_true")
    ask.add_argument("--ratings", action="store_true")
    ask.add_argument("--steps", action="store_true")
    args = ask.parse_args()
    hostile = partial(_hostile, steps=args.steps)
    table: Callable[[int, int], None] = _gain if args.gain else _ratings if args.ratings else hostile
    table(args.trials, args.seed)


if __name__ == "__main__":
    main()
