"""Does the forecast say what then happens? Forecast chances beside trials kept and read in the normal way.

For seven plans, each with a true difference of what matters: sittings are simulated, written into a logbook file,
read back and analysed (`--stored` runs of each plan), or made into the same tables in memory and analysed (the
rest of `--runs`). Runs and forecasts use different luck. Both are compared by a chi-squared test of the four
verdicts.

Run by hand from the project's folder (5000 runs of seven plans take about an hour on two cores)::

    python tests/benchmarks/truth.py --runs 1000 --stored 25

All data are invented.
"""

from __future__ import annotations

import argparse
import dataclasses
import math
import os
import sys
import tempfile
import time
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
from joblib import Parallel, delayed  # noqa: E402
from scipy import stats  # noqa: E402

from reedlab.analysis.trial import analyse  # noqa: E402
from reedlab.logbook import Logbook  # noqa: E402
from reedlab.plan import draw_up  # noqa: E402
from reedlab.plan.forecast import VERDICTS, forecast, with_effect  # noqa: E402
from reedlab.rows import records  # noqa: E402
from reedlab.rows.tables import typed  # noqa: E402
from reedlab.trial.calendar import calendar_with  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import (  # noqa: E402
    Batch,
    World,
    simulate,
    to_frames,
)
from reedlab.worlds.diary import box_rows, day_rows, reed_rows, retirement_rows, sitting_rows  # noqa: E402

START = date(2026, 1, 5)
SHORT = World(life_median_h=6, minutes_a_day=120)


def _plan(question: str, outcome: str, boxes: int, each: int, **more: Any) -> Protocol:
    reeds = typed("reeds", [{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1), "first_play": 8 - i / 2}
                            for b in range(boxes) for i in range(each)])
    return draw_up(question, reeds, start=START, seed=3, instrument="clarinet", outcome=outcome, simulations=100,
                   **more).protocol


def plans() -> dict[str, tuple[Protocol, World]]:
    """Return the seven plans, each with the world it is played in."""
    return {
        "day by day, squares": (_plan("wetting", "day_rating", 1, 4), World()),
        "day by day, one reed a day": (_plan("position", "day_rating", 1, 4, reeds_a_day=1, days=28), World()),
        "two boxes": (_plan("cut_or_strength", "day_rating", 2, 10), World()),
        "reed by reed, mean rating": (_plan("drying", "mean_rating", 2, 10, matters=2.0), World()),
        "reed by reed, wear": (_plan("storage_case", "wear_rate", 2, 10, matters=0.8), World()),
        "reed by reed, lives": (_plan("drying", "life_hours", 2, 10, days=60, matters=2.0), SHORT),
        "the habit sets the hours, wear": (_plan("rotation", "wear_rate", 1, 10, cap_hours=5.0, matters=0.6),
                                           World(adherence=0.8)),
    }


def _verdict(protocol: Protocol, frames: Any) -> str:
    main = analyse(protocol, frames, today=START + timedelta(days=protocol.days), side_readings=False).main
    return "sealed" if main is None else str(main.verdict)


def in_memory(protocol: Protocol, world: World, n: int, seed: int) -> list[str]:
    """Return the verdicts on n runs that become tables in memory."""
    batch = simulate(protocol, world, n, seed, fresh_deals=protocol.same_days)
    return [_verdict(batch.protocol_of(i), to_frames(batch, i)) for i in range(n)]


def _entry(kind: type, row: Mapping[str, Any]) -> Any:
    """Return a row as the record a form would write; what is not known stays empty."""
    known = {f.name for f in dataclasses.fields(kind)}
    return kind(**{k: v for k, v in row.items()
                   if k in known and not (v is None or (isinstance(v, float) and math.isnan(v)))})


def write_down(batch: Batch, i: int, path: Path) -> None:
    """Write run i into a new logbook file, as its player would have."""
    own = batch.protocol_of(i)
    dates = calendar_with(own).dates()
    with Logbook.create(path) as book:
        book.add_many([_entry(records.Box, r) for r in box_rows(own)])
        book.add_many([_entry(records.Reed, r) for r in reed_rows(batch, i)])
        book.start_trial(own)
        book.add_many([_entry(records.Day, r) for r in day_rows(batch, i, dates)])
        book.add_many([_entry(records.Sitting, r) for r in sitting_rows(batch, i, dates)])
        book.add_many([_entry(records.Retirement, r) for r in retirement_rows(batch, i, dates)])


def stored(protocol: Protocol, world: World, n: int, seed: int) -> list[str]:
    """Return the verdicts on n runs that go through a logbook file."""
    batch = simulate(protocol, world, n, seed, fresh_deals=protocol.same_days)
    out = []
    with tempfile.TemporaryDirectory() as folder:
        for i in range(n):
            path = Path(folder) / f"run{i}.sqlite"
            write_down(batch, i, path)
            with Logbook.open(path, read_only=True) as book:
                frames = book.frames()
                out.append(_verdict(book.protocol(protocol.trial), frames))
                same = _verdict(batch.protocol_of(i), to_frames(batch, i))
            if out[-1] != same:
                raise AssertionError(f"run {i}: {out[-1]} from the file, {same} from memory")
    return out


def compare(said: np.ndarray, seen: np.ndarray) -> float:
    """Return the p of a chi-squared test of two rows of verdict counts; verdicts rare in both are pooled."""
    table = np.vstack([said, seen])
    rare = table.sum(axis=0) * table.sum(axis=1).min() / table.sum() < 5
    if rare.any():
        table = np.hstack([table[:, ~rare], table[:, rare].sum(axis=1, keepdims=True)])
    table = table[:, table.sum(axis=0) > 0]
    return 1.0 if table.shape[1] < 2 else float(stats.chi2_contingency(table, correction=False).pvalue)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--stored", type=int, default=25)
    parser.add_argument("--forecast", type=int, default=10_000)
    parser.add_argument("--plans", type=int, nargs="+", default=[1, 2, 3, 4, 5, 6, 7], help="which of the seven")
    parser.add_argument("--jobs", type=int, default=-1)
    parser.add_argument("--seed", type=int, default=20260301)
    args = parser.parse_args()
    least = 1.0
    for k, (name, (protocol, world)) in enumerate(plans().items()):
        if k + 1 not in args.plans:
            continue
        start = time.perf_counter()
        said = forecast(protocol, world=world, gaps=(protocol.matters,), trials=args.forecast, seed=1)
        half = time.perf_counter()
        truth = with_effect(world, protocol.outcome, protocol.matters)
        rest = max(0, args.runs - args.stored)
        part = 25
        jobs = [(stored, min(5, args.stored - s), 1) for s in range(0, args.stored, 5)]
        jobs += [(in_memory, min(part, rest - s), 2) for s in range(0, rest, part)]
        seeds = np.random.SeedSequence([args.seed, k]).generate_state(len(jobs))
        found = Parallel(n_jobs=args.jobs)(
            delayed(how)(protocol, truth, n, int(seed)) for (how, n, _), seed in zip(jobs, seeds, strict=True))
        verdicts = np.array([v for part_ in found for v in part_])
        seen = np.array([(verdicts == v).sum() for v in VERDICTS])
        if seen.sum() != len(verdicts):
            raise AssertionError(f"{name}: a run was still sealed at its end")
        chances = np.array([getattr(said.odds[0], v) for v in VERDICTS])
        p = compare(np.rint(args.forecast * chances), seen)
        least = min(least, p)
        print(f"\n{name}: {protocol.outcome}, {len(protocol.units)} units, true difference {protocol.matters:g}; "
              f"{args.forecast} forecast in {half - start:.1f} s, {len(verdicts)} runs ({args.stored} through a "
              f"file) in {time.perf_counter() - half:.0f} s")
        for j, verdict in enumerate(VERDICTS):
            share = seen[j] / len(verdicts)
            chance = chances[j]
            error = math.sqrt(chance * (1 - chance) * (1 / args.forecast + 1 / len(verdicts)))
            print(f"  {verdict:20s} forecast {chance:.4f}   runs {share:.4f}   "
                  f"difference {share - chance:+.4f} (standard error {error:.4f})")
        print(f"  agreement: p = {p:.3f}", flush=True)
    print(f"\nSmallest p: {least:.3f} (by chance alone below {1 - 0.95 ** (1 / len(args.plans)):.4f} "
          "in 5 of 100 such tables)")
    return 0 if least > 0.001 else 1


if __name__ == "__main__":
    sys.exit(main())
