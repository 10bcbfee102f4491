"""How often does a home-made comparison see a difference that is not there, and how often does reedlab?

Run by hand:  python tests/benchmarks/casual.py --players 2000
"""

from __future__ import annotations

import argparse
import sys
import time

from reedlab.errands.side_by_side import false_alarms


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20260301)
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args()
    start = time.perf_counter()
    found = false_alarms(args.players, args.seed, jobs=args.jobs,
                         say=lambda what: print(f"... {what}", file=sys.stderr))
    print(f"{args.players} simulated players for whom the habit makes no difference; seed {args.seed}.")
    print("Told of a difference all the same (in brackets: exact 95 % range, Clopper-Pearson):")
    for f in found:
        print(f"  {100 * f.share:5.1f} %  ({100 * f.low:.1f} to {100 * f.high:.1f} %)  {f.method}")
    print(f"{time.perf_counter() - start:.0f} s. The players and reeds are our assumptions.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
