"""How several trials were written down, put together: what was missing or given up by habit, and leaning ratings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..remarks.leaning import p_of_sums
from ..units.left_out import Counted
from ..verdicts.held_back import depth
from .parts import Part

__all__ = ["leans_together", "mean_depth", "told_together"]


def told_together(parts: Sequence[Part]) -> tuple[Counted, ...]:
    """Put every kind that all trials have under one another, unit by planned unit."""
    kinds = [c.kind for c in parts[0].counted if all(any(c.kind == d.kind for d in p.counted) for p in parts)]

    def joined(kind: str) -> Counted:
        found = [next(c for c in p.counted if c.kind == kind) for p in parts]
        return Counted(kind, np.concatenate([c.count for c in found]), np.concatenate([c.of for c in found]))

    return tuple(joined(kind) for kind in kinds)


def mean_depth(parts: Sequence[Part]) -> float:
    """Return how far the lowest ratings lie below the mean, each trial by its own, weighted by its ratings."""
    of = [int(np.isfinite(p.ratings).sum()) for p in parts]
    return float(sum(n * float(depth(p.ratings)) for n, p in zip(of, parts, strict=True)) / max(1, sum(of)))


def leans_together(parts: Sequence[Part]) -> float:
    """Return the p that ratings lean on the one before, over all trials; 1 where none has enough of them."""
    return float(p_of_sums(sum(p.leans[0] for p in parts), sum(p.leans[1] for p in parts)))
