"""Peak memory of the largest grid: every catalogue question and outcome, five true differences, three worlds.

Each process is measured by itself (its largest resident size, libraries included). In the sum, the pages of
library files, which all processes share, count once (Linux; elsewhere for each process).

Run by hand from the project's folder::

    python tests/benchmarks/memory.py

All data are invented.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import time
from datetime import date
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

from joblib import Parallel, delayed  # noqa: E402

from reedlab.errors import PlanRefused  # noqa: E402
from reedlab.plan import draw_up, forecast  # noqa: E402
from reedlab.questions import CATALOGUE  # noqa: E402
from reedlab.rows.tables import typed  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import World  # noqa: E402

WORLDS = (World(), World(noise_sd=1.5), World(minutes_a_day=120))


def scenarios() -> list[tuple[Protocol, World]]:
    """Return every plan the catalogue allows with two boxes of ten, in each world."""
    reeds = typed("reeds", [{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1), "first_play": 8 - i / 2}
                            for b in range(2) for i in range(10)])
    out: list[tuple[Protocol, World]] = []
    for key, question in CATALOGUE.items():
        for design in question.designs:
            for outcome in question.outcomes_for(design):
                try:
                    plan = draw_up(key, reeds, start=date(2026, 1, 5), seed=3, instrument="clarinet",
                                   design=design, outcome=outcome, simulations=100).protocol
                except PlanRefused:
                    continue
                out += [(plan, world) for world in WORLDS]
    return out


def _peak_mb(_: int = 0) -> tuple[int, tuple[float, float]]:
    """Return the process and its peak and shared memory, in MB."""
    shared = 0.0
    status = Path("/proc/self/status")
    if status.exists():
        shared = sum(float(line.split()[1]) for line in status.read_text().splitlines()
                     if line.startswith("RssFile")) / 1024
    return os.getpid(), (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, shared)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=None, help="at each gap; default as in a forecast")
    parser.add_argument("--jobs", type=int, default=2)
    args = parser.parse_args()
    grid = scenarios()
    at_rest = _peak_mb()[1][0]
    start = time.perf_counter()
    found = Parallel(n_jobs=args.jobs)(
        delayed(forecast)(plan, world=world, trials=args.trials) for plan, world in grid)
    took = time.perf_counter() - start
    # the same workers answer again: joblib keeps them
    workers = dict(Parallel(n_jobs=args.jobs)(delayed(_peak_mb)(i) for i in range(20 * args.jobs)))
    workers.pop(os.getpid(), None)
    here = _peak_mb()[1]
    every = [here, *workers.values()]
    total = sum(peak - shared for peak, shared in every) + max(shared for _, shared in every)
    print(f"{len(grid)} scenarios, {sum(o.trials for f in found for o in f.odds)} trials in {took:.0f} s "
          f"on {args.jobs} processes")
    print(f"libraries alone {at_rest:.0f} MB; this process at most {here[0]:.0f} MB; workers "
          + ", ".join(f"{peak:.0f}" for peak, _ in workers.values()) + f" MB; together at most {total:.0f} MB")
    return 0 if total < 500 else 1


if __name__ == "__main__":
    sys.exit(main())
