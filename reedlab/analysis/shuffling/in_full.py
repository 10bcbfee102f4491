"""One test in full: what is read off a comparison of numbers or of lives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = ["InFull"]


@dataclass(frozen=True)
class InFull:
    """One test. Differences are B minus A, ratios B over A.

    `p_upper`, `p_lower` are the one-sided p at no difference (B higher, B lower). `p_above` tests that the difference
    is above the lower margin, `p_below` that it is below the upper one (nan without a margin). `low90` to `high90` is
    the range that sameness is judged by. `arrangements` is the number the plan allows, `exact` whether all were
    counted. `least_p` is what the plan, for lives what just these lives, could reach.
    """

    estimate: float
    p_value: float
    p_upper: float
    p_lower: float
    low: float
    high: float
    low90: float
    high90: float
    p_above: float
    p_below: float
    least_p: float
    exact: bool
    arrangements: int

    def told(self) -> dict[str, Any]:
        """Return by name what every answer tells of a test."""
        return {name: getattr(self, name) for name in (
            "estimate", "low", "high", "low90", "high90", "p_value", "least_p", "exact", "arrangements")}

    @classmethod
    def nothing(cls, none: float) -> InFull:
        """Return the test of nothing: no matched set holds both habits. `none` is 0 for differences, 1 for ratios."""
        inf, low = float("inf"), float("-inf") if none == 0 else 0.0
        return cls(estimate=float("nan"), p_value=1.0, p_upper=1.0, p_lower=1.0, low=low, high=inf, low90=low,
                   high90=inf, p_above=1.0, p_below=1.0, least_p=1.0, exact=True, arrangements=1)
