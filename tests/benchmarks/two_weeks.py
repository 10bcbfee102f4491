"""Print the two-week truth: what the default two-week plan of every question can and cannot show.

Run: ``python tests/benchmarks/two_weeks.py [trials]``. The numbers are our assumptions played through.
"""

from __future__ import annotations

import sys
import time

from reedlab.plan.two_weeks import two_weeks
from reedlab.summary.words.two_weeks import two_weeks_table


def main(trials: int = 1000) -> None:
    start = time.perf_counter()
    print(two_weeks_table(two_weeks(trials=trials, progress=sys.stderr.isatty())))
    print(f"{trials} simulated trials at each true gap; standard error at most {50 / trials ** 0.5:.1f} in 100; "
          f"{time.perf_counter() - start:.0f} s.")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
