"""How often is reedlab wrong in awkward worlds, and what is the player told? One Markdown table for each plan.

For each world of `awkward.py`, before and after what holds answers back (ratings missing or reeds given up with one
way; ratings that lean on the one before), from the same trials:

- "better" where there is no difference, the way that the world favours or not;
- "no difference" where the ways differ by what matters, the worse of both signs; then how many of these are held back;
- how often the 95 % range holds the true gap, none and at the margin (of lives: none);
- how many sound answers are lost: held back where the world bends nothing.

With `--told` so many trials of each cell are read the long way, and the remarks that stand in one of ten trials or
more, and in many more than in the world as assumed, are named.

Run by hand from the project's folder::

    python -m tests.benchmarks.awkward_worlds --trials 10000
    python -m tests.benchmarks.awkward_worlds --trials 1000 --days 14 28 --told 60

All data are invented; how strong each world is, is our assumption.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import sys
import time
import zlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402

from reedlab.analysis.batch import judge_batch  # noqa: E402
from reedlab.analysis.trial import analyse  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import Batch, World, batch_trials, to_frames  # noqa: E402

from .awkward import AWKWARD, Awkward, play  # noqa: E402
from .hostile import drawn  # noqa: E402

_PART = 1000
_WINNERS = ("a_better", "b_better")
_TOLD, _MORE = 0.10, 2.0
#: Said in every other trial whatever the world.
_USUAL = ("half_squares", "reeds_left_out", "one_box", "few_worn_out", "wide_range", "unsure_reed", "worn_out_unmarked")


@dataclass(frozen=True)
class Cell:
    """Of so many trials with one true gap: claims before and after, what was held back, cover, and remarks told."""

    better: tuple[float, float]
    same: tuple[float, float]
    uneven: float
    leans: float
    cover: float
    remarks: dict[str, float]


def plans(days: int, lives: bool) -> Iterator[tuple[str, Protocol, World]]:
    """Yield what is played: day by day with four reeds, mean rating with twenty, and lives of twenty."""
    made = [("day by day", drawn("wetting", "day_rating", 1, 4, days=days), World()),
            ("mean rating, 20 reeds", drawn("drying", "mean_rating", 2, 10, days=days, reeds_a_day=6), World())]
    if lives:
        made.append(("lives, 20 reeds", drawn("drying", "life_hours", 2, 10, days=60, matters=2.0),
                     World(life_median_h=6, minutes_a_day=120)))
    for name, plan, world in made:  # the player said which way would be better: the second
        yield f"{name}, {plan.days} days", dataclasses.replace(plan, expected=plan.habits[1].key), world


def cell(plan: Protocol, world: World, awkward: Awkward, gap: float, trials: int, seed: int, told: int = 0) -> Cell:
    """Play and judge so many trials; `gap` in points, 0 for lives."""
    none = 1.0 if plan.outcome == "life_hours" else 0.0
    truth = none or gap
    counts, seen = np.zeros(7), 0
    said: Counter[str] = Counter()
    first = True
    while seen < trials:
        n = min(_PART, trials - seen)
        batch = play(plan, world, n, seed + seen, awkward, gap=gap)
        made = batch_trials(batch)
        after = judge_batch(made, seed=seed, at=(truth,))
        before = judge_batch(made, seed=seed, hold=False).verdict
        better = [np.isin(v, _WINNERS).sum() for v in (before, after.verdict)]
        same = [(v == "no_real_difference").sum() for v in (before, after.verdict)]
        held = after.p_at[:, 0] > 1 - plan.level + 1e-12
        counts += [*better, *same, after.uneven.sum(), after.leans.sum(), held.sum()]
        seen += n
        if first and told:
            said, first = _remarks(batch, min(told, n)), False
    share = counts / seen
    return Cell((share[0], share[1]), (share[2], share[3]), share[4], share[5], share[6],
                {code: c / told for code, c in said.items()})


def _remarks(batch: Batch, told: int) -> Counter[str]:
    out: Counter[str] = Counter()
    for i in range(told):
        r = analyse(batch.protocol_of(i), to_frames(batch, i),
                    today=batch.protocol.start + timedelta(days=batch.protocol.days + 1), side_readings=False)
        out.update({x.code for x in r.remarks} - set(_USUAL))
    return out


def row(plan: Protocol, world: World, awkward: Awkward, trials: int, seed: int, told: int,
        usual: dict[str, float]) -> tuple[str, dict[str, float]]:
    """Return one line of the table, and the remarks told where there is no difference."""
    at = [cell(plan, world, awkward, 0.0, trials, seed, told)]
    if plan.outcome != "life_hours":
        at += [cell(plan, world, awkward, s * plan.matters, trials, seed + 1 + k) for k, s in enumerate((1, -1))]
    none, *apart = at
    worst = max(apart, key=lambda c: c.same[0], default=None)
    many = {c: s for c, s in none.remarks.items() if s >= _TOLD and s >= _MORE * usual.get(c, 0.0)}
    cover = [none.cover, *(c.cover for c in apart)]
    cells = [
        _two(none.better),
        _two(none.same), "" if worst is None else _two(worst.same),
        f"{100 * none.uneven:.1f}" + "".join(f" / {100 * c.uneven:.1f}" for c in apart),
        f"{100 * none.leans:.1f}" + "".join(f" / {100 * c.leans:.1f}" for c in apart),
        " / ".join(f"{100 * c:.1f}" for c in cover),
    ]
    if told:
        cells.append(", ".join(f"{c} {100 * s:.0f}" for c, s in sorted(many.items(), key=lambda x: -x[1])))
    return " | ".join(cells), none.remarks


def _two(pair: tuple[float, float]) -> str:
    return f"{100 * pair[0]:.1f} → {100 * pair[1]:.1f}"


def table(name: str, plan: Protocol, world: World, trials: int, seed: int, told: int = 0,
          words: list[str] | None = None) -> Iterator[str]:
    """Yield the lines of one plan's table."""
    heads = ["world", "\"better\", no gap", "\"no difference\", no gap", "\"no difference\", gap of what matters",
             "held: one way has more missing (no gap / ahead / behind)", "held: ratings lean (the same)",
             "95 % range holds the gap (the same)", *(["told more often than as assumed"] if told else [])]
    yield f"\n### {name}, per 100 trials\n"
    yield "| " + " | ".join(heads) + " |"
    yield "|---" * len(heads) + "|"
    usual: dict[str, float] = {}
    for title, awkward in AWKWARD.items():
        if plan.outcome in awkward.where and (not words or any(w in title for w in words) or title == "as assumed"):
            text, remarks = row(plan, world, awkward, trials, seed + zlib.crc32(title.encode()) % 10**6, told, usual)
            usual = usual or remarks
            yield f"| {title} | {text} |"


def main() -> int:
    """Print a table for each plan."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=1000, help="in each cell")
    parser.add_argument("--days", type=int, nargs="+", default=[14, 28])
    parser.add_argument("--told", type=int, default=0, help="trials in each world whose remarks are counted")
    parser.add_argument("--worlds", nargs="+", default=[], help="words that the wanted worlds' names hold")
    parser.add_argument("--seed", type=int, default=20260301)
    args = parser.parse_args()
    start = time.perf_counter()
    for k, days in enumerate(args.days):
        for name, plan, world in plans(days, lives=k == 0):
            for line in table(name, plan, world, args.trials, args.seed, args.told, args.worlds):
                print(line, flush=True)
    print(f"\n{args.trials} trials in each cell, seed {args.seed}; {time.perf_counter() - start:.0f} s.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
