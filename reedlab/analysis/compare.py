"""Compare two habits by numbers, one per randomised unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ._units import check_options, gather, numbers
from .randomise import linear_test
from .verdict import verdict_of

__all__ = ["Comparison", "compare"]


@dataclass(frozen=True)
class Comparison:
    """The answer of `compare`. Differences are B minus A, in the outcome's unit.

    `low`, `high` hold the differences not ruled out at `level` (±inf: no end); `low90`, `high90` the
    90 % range that "no difference that matters" is judged by. `p_above`, `p_below` are the one-sided p
    that the difference is above −matters and below +matters (None without `matters`). `blocks_dropped`
    blocks had lost an arm (named in `dropped`). `units` are the A's and B's that count.
    """

    labels: tuple[Any, Any]
    estimate: float
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
    verdict: str | None = None

    def __repr__(self) -> str:
        a, b = self.labels
        kind = "exact" if self.exact else "sampled"
        lines = [f"{b} minus {a}: {self.estimate:.4g}",
                 f"{self.level:.0%} range {self.low:.4g} to {self.high:.4g}",
                 f"p {self.p_value:.4g} ({kind}; least possible {self.least_p:.4g})",
                 f"{self.units[0]} v {self.units[1]} units, blocks {self.blocks_used}"
                 + (f", left out {self.blocks_dropped}" if self.blocks_dropped else "")]
        if self.verdict is not None:
            lines.append(f"verdict: {self.verdict}")
        return "<Comparison\n  " + "\n  ".join(lines) + ">"


def compare(outcome: npt.ArrayLike, arm: npt.ArrayLike, block: npt.ArrayLike | None = None, *,
            level: float = 0.95, matters: float | None = None, seed: int | None = None) -> Comparison:
    """Compare two habits by a randomisation test of one number per randomised unit.

    Parameters
    ----------
    outcome : (n,) float
        One number per unit; higher is better. nan or empty: the unit is missing and leaves.
    arm : (n,) labels
        Exactly two; the first in sorted order is A.
    block : (n,) labels or None
        Blocks within which the arms were dealt. A block that has lost an arm leaves.
    level : float
        Of the range `low` to `high`.
    matters : float or None
        The smallest difference that matters; gives a `verdict`.
    seed : int or None
        For drawing arrangements where there are too many to count (above 2^22); None: a fixed one.

    Returns
    -------
    Comparison
        Where no block holds both arms: estimate nan, p 1, range without ends.

    Raises
    ------
    InputError
        Names every argument that cannot be used.

    Notes
    -----
    Every way to deal the same number of each arm within each block is equally likely. The estimate is
    Σ w·(mean_B − mean_A) / Σ w with w = n_A·n_B/(n_A+n_B); p is twice the smaller tail, at most 1, the
    observed arrangement counted; sums within 1e-9·max(1, Σ|outcome|) are equal, each outcome taken from its
    block's mean first, so that a number added to all of them changes nothing. `least_p` is the design's,
    2 / arrangements. Sources: Fisher 1935; Schuirmann 1987 for the two one-sided tests.
    """
    faults: list[str] = []
    y = numbers(outcome, "outcome", faults)
    check_options(level, matters, 0.0, seed, faults)
    units = gather(~np.isnan(y), arm, block, faults)
    if units.keep.size:
        t = linear_test(y[units.keep], units.is_b.astype(float), units.is_b, units.block,
                        level=level, margin=matters, seed=seed)
        found = {name: getattr(t, name) for name in (
            "estimate", "p_value", "least_p", "low", "high", "low90", "high90", "exact", "arrangements")}
        above, below = t.p_above, t.p_below
        b_higher = t.p_upper < t.p_lower  # the tail decides: with lopsided sums the estimate need not
    else:
        b_higher, above, below = False, 1.0, 1.0
        inf = float("inf")
        found = {"estimate": float("nan"), "p_value": 1.0, "least_p": 1.0, "low": -inf, "high": inf,
                 "low90": -inf, "high90": inf, "exact": True, "arrangements": 1}
    judged: dict[str, Any] = {} if matters is None else {
        "p_above": above, "p_below": below,
        "verdict": verdict_of(found["p_value"], b_higher, above, below, level)}
    return Comparison(labels=units.labels, level=level, units=units.counts, blocks_used=units.blocks_used,
                      blocks_dropped=len(units.dropped), dropped=units.dropped, matters=matters,
                      **judged, **found)
