"""How several trials were written down, put together: what was missing or given up by habit, and leaning ratings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...trial.result import Uneven
from ..remarks.leaning import p_of_sums
from ..remarks.uneven import Counted, compared, depth
from .parts import Part

__all__ = ["leans_together", "mean_depth", "uneven_together"]


def uneven_together(parts: Sequence[Part], *, seed: int | None = None) -> tuple[Uneven, ...]:
    """Compare every kind that all trials have, the habits reshuffled within each trial's own sets."""
    kinds = [c.kind for c in parts[0].counted if all(any(c.kind == d.kind for d in p.counted) for p in parts)]
    if not kinds:
        return ()
    is_b = np.concatenate([p.planned_b for p in parts])
    block = [f"{i}: {b}" for i, p in enumerate(parts) for b in p.planned_block]

    def joined(kind: str) -> Counted:
        found = [next(c for c in p.counted if c.kind == kind) for p in parts]
        return Counted(kind, np.concatenate([c.count for c in found]), np.concatenate([c.of for c in found]))

    return tuple(compared(joined(kind), is_b, block, seed=seed) for kind in kinds)


def mean_depth(parts: Sequence[Part]) -> float:
    """Return how far the lowest ratings lie below the mean, each trial by its own, weighted by its ratings."""
    of = [int(np.isfinite(p.ratings).sum()) for p in parts]
    return float(sum(n * float(depth(p.ratings)) for n, p in zip(of, parts, strict=True)) / max(1, sum(of)))


def leans_together(parts: Sequence[Part]) -> float:
    """Return the p that ratings lean on the one before, over all trials; 1 where none has enough of them."""
    return float(p_of_sums(sum(p.leans[0] for p in parts), sum(p.leans[1] for p in parts)))
