"""What both comparisons hand back, and how it is shown: plain attributes, a one-row frame, a table in a notebook."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import pandas as pd

from ...trial.result import Verdict
from .in_full import InFull
from .verdict import decide, inside

__all__ = ["Compared"]


@dataclass(frozen=True, kw_only=True)
class Compared:
    """The part of the answer that `compare` and `compare_lives` share.

    `low`, `high` hold what is not ruled out at `level`; `low90`, `high90` are the 90 % range that "no difference that
    matters" is judged by. `p_above`, `p_below` are the one-sided p that the difference (or ratio) is above the lower
    margin and below the upper one (None without `matters`). `blocks_dropped` blocks had lost an arm (named in
    `dropped`). `units` are the A's and B's that count.
    """

    labels: tuple[Any, Any]
    p_value: float
    least_p: float
    low: float
    high: float
    low90: float
    high90: float
    level: float
    exact: bool
    arrangements: int
    units: tuple[int, int]
    blocks_used: int
    blocks_dropped: int
    dropped: tuple[str, ...]
    matters: float | None = None
    p_above: float | None = None
    p_below: float | None = None
    verdict: Verdict | None = None

    @staticmethod
    def judged(t: InFull, level: float, matters: float | None) -> dict[str, Any]:
        """Return by name what is told where a smallest difference that matters is given; else nothing."""
        if matters is None:
            return {}
        ahead = t.p_upper < t.p_lower  # the tail decides: with lopsided sums the estimate need not
        verdict = decide(t.p_value, ahead, not ahead, inside(t.p_above, t.p_below), False, alpha=1 - level)
        return {"p_above": t.p_above, "p_below": t.p_below, "verdict": str(verdict)}

    def to_frame(self) -> pd.DataFrame:
        """Return the answer as a frame of one row; a pair of numbers becomes two columns, ending in _a and _b."""
        row: dict[str, Any] = {"estimate": self.estimate}  # type: ignore[attr-defined]
        for f in fields(self):
            value = getattr(self, f.name)
            if f.name in ("labels", "units", "events"):
                row[f"{f.name}_a"], row[f"{f.name}_b"] = value
            elif f.name == "dropped":
                row[f.name] = ", ".join(value)
            elif f.name != "ratio":
                row[f.name] = value
        return pd.DataFrame([row])

    def _lines(self, first: str, counts: str, least_p: float) -> str:
        kind = "exact" if self.exact else "sampled"
        lines = [first, f"{self.level:.0%} range {self.low:.4g} to {self.high:.4g}",
                 f"p {self.p_value:.4g} ({kind}; least possible {least_p:.4g})",
                 f"{self.units[0]} v {self.units[1]} units, {counts}blocks {self.blocks_used}"
                 + (f", left out {self.blocks_dropped}" if self.blocks_dropped else "")]
        if self.verdict is not None:
            lines.append(f"verdict: {self.verdict}")
        return f"<{type(self).__name__}\n  " + "\n  ".join(lines) + ">"

    def _repr_html_(self) -> str:
        shown = self.to_frame().T
        return str(shown.to_html(header=False))
