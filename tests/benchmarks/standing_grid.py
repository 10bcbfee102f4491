"""Make the table of the forecast of a standing trial: `python -m tests.benchmarks.standing_grid FILE`."""

from __future__ import annotations

import sys
from pathlib import Path

from reedlab.plan.standing_outlook import RATIOS, courses

TRIALS = 1000
MATTERS = (1.25, 1.5, 2.0, 3.0)


def main(trials: int = TRIALS) -> str:
    """Return the text of `reedlab/plan/standing_grid.csv`: lives of shape 2, 15 in 100 reeds damaged, boxes of ten.

    By true ratio of lives, and what matters where the ratio is 1: the hours of a box in median lives, and the shares
    of trials settled rightly, and wrongly, by each quarter of a box.
    """
    out = "ratio,matters,hours,right,wrong\n"
    for ratio, matters in [*((r, 0.0) for r in RATIOS), *((1.0, m) for m in MATTERS)]:
        c = courses(2.0, 0.15, 10, ratio, matters or 1.5, trials=trials, seed=1)
        right, wrong = (" ".join(f"{v:g}" for v in shares) for shares in (c.right, c.wrong))
        out += f"{ratio:g},{matters:g},{c.hours:.4f},{right},{wrong}\n"
        print(ratio, matters, c.right[1::2][:16], c.hours, flush=True)
    return out


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(main(int(sys.argv[2]) if len(sys.argv) > 2 else TRIALS), encoding="utf-8")
