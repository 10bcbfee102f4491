"""What the course of the ratings adds to a comparison of lives, by length of trial. Prints a Markdown table.

The same simulated trials (20 reeds of 2 boxes, an hour a day in all) are read in three ways: the plain test of lives
(reeds really worn out), the lives expected if every reed went on fading as so far, and the fading itself (the wear
rate). Shown is how often each calls the right way at 5 in 100; without a difference, either way; in the last world,
whose habit makes reeds fade less and yet end sooner, each way. `--most` tries other limits to how far a reed's line
is followed: 10 for 5 finds slower fading more often (17 for 13 of 100 at most) and misleads more often, 3 less of both.

Run by hand from the project's folder::

    python -m tests.benchmarks.course --trials 1000

All data are invented; the worlds are our assumptions.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
import numpy.typing as npt  # noqa: E402

from reedlab.analysis.batch import BatchTrials, judge_batch  # noqa: E402
from reedlab.analysis.batch.by_unit import batch_lives  # noqa: E402
from reedlab.analysis.beside.expected_lives import MOST, Courses, expected_hours  # noqa: E402
from reedlab.analysis.shuffling.deals import Deals, used_units  # noqa: E402
from reedlab.analysis.units.blind import playing_hours  # noqa: E402
from reedlab.analysis.units.life_values import Ends  # noqa: E402
from reedlab.analysis.units.rating_values import LEAST_HOURS  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import (  # noqa: E402
    World,
    batch_trials,
    simulate,
)

from .hostile import drawn  # noqa: E402

FloatArray = npt.NDArray[np.float64]
DAYS: Final = (14, 42, 120, 240)
#: Reeds that sink 0.2 points an hour, evenly to the end; else they sink gently, and fail late and at once.
STEADY: Final[Mapping[str, float]] = {"wear_per_hour": 0.2, "wear_sd": 0.06}
#: Here the course misleads.
SOONER: Final = "fades 0.2 points an hour less, but ends sooner, life 0.6 times as long: first way / second way called"
#: What the second habit does, as changes to the assumed world.
WORLDS: Final[Mapping[str, Mapping[str, float]]] = {
    "nothing": {},
    "nothing; reeds that sink evenly": STEADY,
    "fades 0.1 points an hour less, all along": {"effect_wear": 0.1},
    "fades 0.2 points an hour less, all along": {"effect_wear": 0.2},
    "fades 0.1 points an hour less; reeds that sink evenly": {**STEADY, "effect_wear": 0.1},
    "ends later, life 1.5 times as long": {"effect_life": 1.5},
    "ends later, life twice as long": {"effect_life": 2.0},
    "ends later, life twice as long; reeds that sink evenly": {**STEADY, "effect_life": 2.0},
    SOONER: {"effect_wear": 0.2, "effect_life": 0.6},
}
READ: Final = ("lives", "expected lives", "fading")
_SAMPLES = 4000
_PART = 500


def plan(days: int) -> Protocol:
    """Return the plan: 20 reeds of 2 boxes, an hour a day."""
    # in a fortnight three ratings a reed need five reeds a day
    return drawn("drying", "life_hours", 2, 10, days=days, **({"reeds_a_day": 5} if days < 18 else {}))


def batch_courses(trials: BatchTrials, lives: Ends) -> Courses:
    """Return the lines of `expected_lives.courses_of` for many trials, (k, units)."""
    p = trials.protocol
    place = {r: i for i, r in enumerate(p.reeds)}
    before, _ = playing_hours(trials.reed, trials.minutes)
    y = np.where(trials.counted, trials.rating, np.nan)
    shape = lives.hours.shape
    out = {name: np.zeros(shape) for name in ("count", "at", "level", "across", "slope", "rest")}
    enough = np.zeros(shape, dtype=bool)
    for i, unit in enumerate(p.units):
        mine = trials.reed == place[unit.reeds[0]]
        x, v = before[:, mine], y[:, mine]
        here = np.isfinite(v) & (x < lives.hours[:, [i]] - 1e-9)
        n = here.sum(axis=1)
        some = np.maximum(n, 1)
        at = np.where(here, x, 0.0).sum(axis=1) / some
        level = np.where(here, v, 0.0).sum(axis=1) / some
        dx, dy = np.where(here, x - at[:, None], 0.0), np.where(here, v - level[:, None], 0.0)
        across = (dx**2).sum(axis=1)
        slope = (dx * dy).sum(axis=1) / np.where(across > 0, across, 1.0)
        rest = ((dy - slope[:, None] * dx)**2).sum(axis=1)
        for name, found in zip(out, (n, at, level, across, slope, rest), strict=True):
            out[name][:, i] = found
        span = np.where(here, x, -np.inf).max(axis=1) - np.where(here, x, np.inf).min(axis=1)
        enough[:, i] = (n >= 3) & (span >= LEAST_HOURS - 1e-9)
    return Courses(**out, enough=enough)


def expected_batch(trials: BatchTrials, *, most: float = MOST,
                   seed: int = 1) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the p that B's expected lives are longer, that they are shorter, and the share of reeds reckoned."""
    p, block = trials.protocol, [u.block for u in trials.protocol.units]
    lives = batch_lives(trials)
    mark = p.good_below if p.outcome == "good_hours" else p.worn_out_below
    hours = expected_hours(batch_courses(trials, lives), lives.hours, lives.worn_out, mark, most=most)
    used = used_units(np.isfinite(hours), trials.dealt_b, block)
    deals = Deals(trials.dealt_b, used, block, samples=_SAMPLES, seed=seed)
    rows = np.arange(len(trials))
    values = np.where(used, np.log(np.where(used, hours, 1.0)), 0.0)
    tie = 1e-9 * np.maximum(1.0, np.abs(values).sum(axis=1))
    centred = deals.centred(values, rows)
    upper, lower = deals.tails(centred, deals.observed(centred, rows), tie, rows)
    return upper, lower, (used & ~lives.worn_out).mean(axis=1)


def called(trials: BatchTrials, *, most: float = MOST) -> dict[str, FloatArray]:
    """Return 1 where B is called ahead at 5 in 100, -1 where A is, for each way to read; and the shares predicted."""
    out = {}
    for name, protocol in (("lives", trials.protocol), ("fading", _fading(trials.protocol))):
        p = judge_batch(dataclasses.replace(trials, protocol=protocol), samples=_SAMPLES, seed=1, full=True)
        side = np.sign(np.log(np.where(p.estimate > 0, p.estimate, 1e-9)) if name == "lives" else p.estimate)
        out[name] = np.where(p.p_value <= 0.05 + 1e-12, np.nan_to_num(side), 0.0)
    longer, shorter, predicted = expected_batch(trials, most=most)
    out["expected lives"] = (2 * longer <= 0.05 + 1e-12) * 1.0 - (2 * shorter <= 0.05 + 1e-12)
    return {**{name: out[name] for name in READ}, "predicted": predicted,
            "worn out": batch_lives(trials).worn_out.mean(axis=1)}


def _fading(protocol: Protocol) -> Protocol:
    return dataclasses.replace(protocol, outcome="wear_rate", matters=0.1, adjust=("first_play", "order"))  # as usual


@dataclass(frozen=True)
class Cell:
    """One world at one length of trial.

    `right` and `wrong` are the shares of trials that call B ahead and A ahead, by way to read; `predicted` the mean
    share of all reeds whose life is reckoned, `worn_out` the mean share that is worn out (the others leave).
    """

    trials: int
    right: Mapping[str, float]
    wrong: Mapping[str, float]
    predicted: float
    worn_out: float

    @property
    def called(self) -> Mapping[str, float]:
        """The share of trials that call either way ahead, by way to read."""
        return {k: self.right[k] + self.wrong[k] for k in self.right}


def cell(days: int, changes: Mapping[str, float], trials: int, seed: int, *, most: float = MOST) -> Cell:
    """Simulate and read so many trials of one length in one world."""
    protocol, world = plan(days), World(**changes)  # type: ignore[arg-type]
    sizes = [min(_PART, trials - start) for start in range(0, trials, _PART)]
    seeds = np.random.SeedSequence([seed, days]).generate_state(len(sizes))
    parts = [called(batch_trials(simulate(protocol, world, n, int(s), fresh_deals=True)), most=most)
             for n, s in zip(sizes, seeds, strict=True)]
    found = {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}
    right, wrong = ({k: float((side * found[k] > 0).mean()) for k in READ} for side in (1, -1))
    return Cell(trials, right, wrong, float(found["predicted"].mean()), float(found["worn out"].mean()))


def _words(share: float, trials: int) -> str:
    return f"{100 * share:.1f} ({100 * np.sqrt(max(share * (1 - share), 1 / trials) / trials):.1f})"


def table(trials: int, seed: int, days: Sequence[int] = DAYS, most: float = MOST) -> str:
    """Return the table: calls per 100 trials, with their standard error."""
    lines = ["| days | the second way | worn out | reckoned | " + " | ".join(READ) + " |", "|---" * 7 + "|"]
    for n in days:
        for name, changes in WORLDS.items():
            c = cell(n, changes, trials, seed, most=most)
            shown = [c.wrong, c.right] if name == SOONER else [c.called] if name.startswith("nothing") else [c.right]
            said = [" / ".join(_words(each[k], trials) for each in shown) for k in READ]
            shares = f"{100 * c.worn_out:.0f} % | {100 * c.predicted:.0f} %"
            lines.append(f"| {n} | {name} | {shares} | {' | '.join(said)} |")
            print(lines[-1], file=sys.stderr, flush=True)
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=1000, help="in each cell")
    parser.add_argument("--days", type=int, nargs="+", default=list(DAYS))
    parser.add_argument("--most", type=float, default=MOST, help="how many times the most hours played, at most")
    parser.add_argument("--seed", type=int, default=20260301)
    args = parser.parse_args()
    start = time.perf_counter()
    print(table(args.trials, args.seed, args.days, args.most))
    print(f"\n{args.trials} trials a cell, seed {args.seed}; per 100, in brackets the standard error; "
          f"{time.perf_counter() - start:.0f} s.")


if __name__ == "__main__":
    main()
