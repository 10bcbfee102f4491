"""What it brings to move a day-by-day plan along by the days on which nothing was played. Prints a table.

Beside each other, the same players and reeds: a missed day keeps its number and its ratings are lost; or it is skipped
as soon as the player is back ("Not playing"), and the plan ends as many days later, within a limit. Days missed at the
very end are lost either way: the answer is open then.

Run by hand from the project's folder::

    python -m tests.benchmarks.slides --trials 2000

All data are invented; the numbers are our assumptions.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402

from reedlab.analysis.batch import judge_batch  # noqa: E402
from reedlab.plan.forecast import with_effect  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import World, batch_trials, simulate  # noqa: E402
from reedlab.worlds.air import Days, draw_days  # noqa: E402

from .hostile import drawn  # noqa: E402

played = sys.modules["reedlab.worlds.simulate"]  # the package gives its function the same name

GAPS = (0.0, 0.5, 1.0)


def moved_along(days: Days, planned: int, most: int) -> tuple[Days, np.ndarray]:  # type: ignore[type-arg]
    """Return the days that get the plan's numbers, (planned, n), and by how many each player's plan moved.

    `days` are those of the calendar, at least `planned` + `most`. A day without playing is skipped unless it stands
    last or the plan has moved by `most` already.
    """
    n = days.off.shape[1]
    at, moved = np.empty((planned, n), dtype=int), np.zeros(n, dtype=int)
    for who in range(n):
        on = 0
        for number in range(planned):
            while days.off[on, who] and moved[who] < most and number < planned - 1:
                on += 1
                moved[who] += 1
            at[number, who] = on
            on += 1
    picked = {f.name: np.take_along_axis(getattr(days, f.name), at, axis=0) for f in fields(Days)}
    return Days(**picked), moved


@contextmanager
def sliding(most: int) -> Iterator[list[np.ndarray]]:  # type: ignore[type-arg]
    """Play plans whose missed days move them along by up to `most` days; yields by how many they did."""
    told: list[np.ndarray] = []  # type: ignore[type-arg]

    def draw(world: World, n: int, days: int, day_of_year: int, rng: np.random.Generator) -> Days:
        long, moved = moved_along(draw_days(world, n, days + most, day_of_year, rng), days, most)
        told.append(moved)
        return long

    plain = played.draw_days
    played.draw_days = draw  # type: ignore[attr-defined]
    try:
        yield told
    finally:
        played.draw_days = plain  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Slid:
    """Shares of trials with the right answer at each of `GAPS` and a wrong one without a gap, and days moved."""

    right: tuple[float, ...]
    wrong: float
    moved: float


def tried(plan: Protocol, day_off: float, most: int, trials: int, seed: int = 4) -> Slid:
    """Play a plan whose missed days move it along by up to `most` days; 0: as if they keep their numbers."""
    right, wrong = [], 0.0
    with sliding(most) as told:
        for gap in GAPS:
            world = with_effect(World(day_off=day_off), plan.outcome, gap)
            made = batch_trials(simulate(plan, world, trials, seed, fresh_deals=True))
            verdict = judge_batch(made, samples=5_000).verdict
            right.append(float((verdict == ("b_better" if gap else "no_real_difference")).mean()))
            if not gap:
                wrong = float(np.isin(verdict, ("a_better", "b_better")).mean())
    return Slid(tuple(right), wrong, float(np.mean(np.concatenate(told))))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=2000)
    args = parser.parse_args()
    print("| plan | days not played, in 100 | named at a gap of 1 | at 0.5 | alike called alike | "
          "named without a gap | ends later by days |\n" + "|---" * 7 + "|")
    for days in (14, 28):
        for a_day in (4, 1):
            plan = drawn("wetting", "day_rating", 2, 2, days=days, reeds_a_day=a_day)
            for off in (0.08, 0.15, 0.3):
                kept, slid = (tried(plan, off, most, args.trials) for most in (0, days // 2))
                cells = [f"{100 * a:.0f} → {100 * b:.0f}" for a, b in (
                    (kept.right[2], slid.right[2]), (kept.right[1], slid.right[1]), (kept.right[0], slid.right[0]),
                    (kept.wrong, slid.wrong))]
                row = (f"{days} days, {a_day} a day", f"{100 * off:.0f}", *cells, f"{slid.moved:.1f}")
                print("| " + " | ".join(row) + " |", flush=True)
    print(f"{args.trials} trials a cell.")


if __name__ == "__main__":
    main()
