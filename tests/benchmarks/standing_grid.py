"""Make the table of the forecast of a standing trial: `python -m tests.benchmarks.standing_grid FILE`."""

from __future__ import annotations

import sys
from pathlib import Path

from reedlab.plan.standing_outlook import RATIOS, courses

TRIALS = 1000
MATTERS = (1.25, 1.5, 2.0, 3.0)
_HEAD = '''"""When standing trials are settled, box by box: lives of shape 2, 15 in 100 reeds damaged, boxes of ten.

Made by `python -m tests.benchmarks.standing_grid`, {trials} trials a row; a test plays some of it again. By (true ratio
of lives, what matters where the ratio is 1): the share settled rightly by each quarter of a box, the share settled
wrongly, and the hours of a box in median lives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

__all__ = ["GRID"]

GRID: Final[Mapping[tuple[float, float], tuple[tuple[float, ...], tuple[float, ...], float]]] = {{
'''


def _wrapped(values: tuple[float, ...]) -> str:
    text = ", ".join(f"{v:g}" for v in values)
    lines, line = [], ""
    for word in text.split(" "):
        if len(line) + len(word) > 100:
            lines.append(line)
            line = ""
        line = f"{line} {word}".strip()
    return "\n        ".join([*lines, line])


def main(trials: int = TRIALS) -> str:
    """Return the text of the module."""
    out = _HEAD.format(trials=trials)
    for ratio, matters in [*((r, 0.0) for r in RATIOS), *((1.0, m) for m in MATTERS)]:
        c = courses(2.0, 0.15, 10, ratio, matters or 1.5, trials=trials, seed=1)
        out += (f"    ({ratio}, {matters}): (\n        ({_wrapped(c.right)}),\n        ({_wrapped(c.wrong)}),\n"
                f"        {c.hours:.4f}),\n")
        print(ratio, matters, c.right[1::2][:16], c.hours, flush=True)
    return out + "}\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(main(int(sys.argv[2]) if len(sys.argv) > 2 else TRIALS), encoding="utf-8")
