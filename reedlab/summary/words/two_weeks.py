"""The two-week truth as a Markdown table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Protocol

from ...trial.outcomes import OUTCOMES
from ...trial.outlook import Outlook
from .forecast import gap_words

__all__ = ["two_weeks_table"]

_HEAD: Final = (
    "Question", "Judged by", "Plan", "Matters", "Names the better way, if it is better by that",
    "... by twice that", "Says \"no difference that matters\", if there is none", "Names a way, if there is none",
    "Smallest chance p")


class _Row(Protocol):
    @property
    def title(self) -> str: ...
    @property
    def outcome(self) -> str: ...
    @property
    def plan(self) -> Outlook | None: ...
    @property
    def twice(self) -> float: ...
    @property
    def wrong(self) -> float: ...
    @property
    def why(self) -> str: ...


def two_weeks_table(rows: Sequence[_Row]) -> str:
    """Return the table, chances as times in 100; twice a ratio means its square."""
    lines = ["| " + " | ".join(_HEAD) + " |", "|" + "---|" * len(_HEAD)]
    for r in rows:
        if r.plan is None:
            lines.append(f"| {r.title} | {OUTCOMES[r.outcome].short} | none: {r.why} |" + " |" * (len(_HEAD) - 3))
            continue
        p = r.plan.protocol
        kind = "day by day" if p.design == "day_by_day" else "reed by reed"
        plan = f"{kind}, {len(p.reeds)} reeds, {p.days} days"
        if p.card.lives:
            plan += f"; {_few(r.plan.worn_out)} worn out"
        cells = [r.title, OUTCOMES[r.outcome].short, plan, gap_words(p), _in_100(r.plan.right), _in_100(r.twice),
                 _in_100(r.plan.same), _in_100(r.wrong), _least(r.plan.least_p)]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _in_100(share: float) -> str:
    if math.isnan(share):
        return ""
    return "almost never" if share < 0.005 else f"{100 * share:.0f}"


def _least(p: float) -> str:
    return f"{p:.3f}" if p >= 0.001 else "below 0.001"


def _few(n: float) -> str:
    return f"{n:.1f}" if n < 10 else f"{n:.0f}"
