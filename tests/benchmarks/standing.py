"""Standing trials: how often a winner is ever named without a difference, and by which box a difference is.

    python -m tests.benchmarks.standing --trials 2000

Lives are Weibull of shape 2; 15 in 100 reeds are chipped on the way. Every figure is for looks after every step of
every box. With `--calendar`, boxes are opened while others are still played and reeds of a box are not kept even;
the whole is read anew after every reed that ends, in calendar order: the hardest case for the order of hours.
"""

from __future__ import annotations

import argparse

import numpy as np

import reedlab
from reedlab.analysis.shuffling.follow_lives import _FIXED, _Block, _log_bets, _path

_HIGH = 20.0


def lives(rng: np.random.Generator, boxes: int, size: int, ratio: float) -> list[_Block]:
    """Draw the boxes of one player."""
    out = []
    for _ in range(boxes):
        is_b = rng.permutation(np.arange(size) % 2).astype(bool)
        life = rng.weibull(2, size) * 15 * np.where(is_b, ratio, 1.0)
        chipped = np.where(rng.random(size) < 0.15, rng.random(size) * 20, np.inf)
        out.append(_Block(np.log(np.minimum(life, chipped)), life <= chipped, is_b))
    return out


def named_by(blocks: list[_Block]) -> tuple[int, str]:
    """Return the box at which a winner was first named (0: never) and which."""
    steps = [b.steps(0.0) for b in blocks]
    path = _path(blocks, 0.0)
    over = np.flatnonzero(path.e_values[0] >= _HIGH)
    if not over.size:
        return 0, ""
    box = int(np.searchsorted(np.cumsum([len(s) for s in steps]), over[0], side="right")) + 1
    return box, "b" if path.share_up[0, over[0]] > 0.5 else "a"


def settled(trials: int, boxes: int, size: int, ratio: float, seed: int) -> np.ndarray:
    """Return for each trial the box at which B was named (0: never; -1: A was)."""
    rng = np.random.default_rng(seed)
    out = []
    for _ in range(trials):
        box, side = named_by(lives(rng, boxes, size, ratio))
        out.append(-1 if side == "a" else box)
    return np.array(out)


def in_calendar(trials: int, boxes: int, size: int, ratio: float, seed: int) -> np.ndarray:
    """Say of each trial whether any look, after every reed that ends, named a winner: two boxes are in play."""
    rng = np.random.default_rng(seed)
    out = []
    for _ in range(trials):
        opened = np.repeat(np.arange(boxes) * 40.0, size)  # days
        pace = rng.uniform(0.05, 1.0, boxes * size)  # hours a day, very uneven
        is_b = np.concatenate([rng.permutation(np.arange(size) % 2) for _ in range(boxes)]).astype(bool)
        life = rng.weibull(2, boxes * size) * 15 * np.where(is_b, ratio, 1.0)
        chip = np.where(rng.random(life.size) < 0.15, rng.random(life.size) * 20, np.inf)
        ends = opened + np.minimum(life, chip) / pace
        named = False
        for day in np.sort(ends):
            hours = np.minimum(np.minimum(life, chip), np.maximum(day - opened, 0) * pace)
            worn = (life <= chip) & (ends <= day)
            here = hours > 0
            steps = []
            for k in range(boxes):
                mine = here & (np.arange(life.size) // size == k)
                if mine.any():
                    steps.append(_Block(np.log(hours[mine]), worn[mine], is_b[mine]).steps(0.0))
            sums = _log_bets(np.concatenate(steps), _FIXED).sum(axis=0)
            named |= bool(np.exp(sums).mean() >= _HIGH)
        out.append(named)
    return np.array(out)


def pairs_named(trials: int, pairs: int, gap: float, seed: int) -> np.ndarray:
    """Return for each trial of numbers in pairs the pair at which B was named (0: never, -1: A was)."""
    rng = np.random.default_rng(seed)
    out = []
    for _ in range(trials):
        y = rng.normal(0, 1, 2 * pairs)
        first_b = rng.random(pairs) < 0.5
        arm = np.ravel(np.where(first_b[:, None], ["b", "a"], ["a", "b"]))
        y += gap * (arm == "b")
        found = reedlab.follow(y, arm, np.repeat(np.arange(pairs), 2), level=0.95)
        over = np.flatnonzero(np.array(found.e_values) >= _HIGH)
        at_first = 0 if not over.size else int(over[0]) + 1
        out.append(-1 if at_first and y[arm == "b"].sum() < y[arm == "a"].sum() else at_first)
    return np.array(out)


def _row(name: str, at: np.ndarray) -> str:
    when = np.where(at > 0, at, np.inf)
    half, most = (np.sort(when)[int(np.ceil(q * at.size)) - 1] for q in (0.5, 0.8))
    return f"{name:44} B {np.mean(at > 0):6.1%}  A {np.mean(at < 0):6.1%}  half by {half:4g}  80 in 100 by {most:4g}"


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--trials", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--calendar", action="store_true")
    args = ask.parse_args()
    n, seed = args.trials, args.seed
    if args.calendar:
        print(f"no difference, overlapping boxes of ten, uneven play, ever named: "
              f"{in_calendar(n, 10, 10, 1.0, seed).mean():.1%}")
        return
    print(_row("no difference, 40 boxes of ten", settled(n, 40, 10, 1.0, seed)))
    print(_row("no difference, 40 fours", settled(n, 40, 4, 1.0, seed)))
    for ratio in (1.25, 1.5, 2.0, 3.0):
        print(_row(f"ratio {ratio:g}, boxes of ten", settled(n, 40, 10, ratio, seed)))
    print(_row("ratio 2, fours", settled(n, 40, 4, 2.0, seed)))


if __name__ == "__main__":
    main()
