"""Every way a layout could have been dealt, written out: the slow way that counts and draws are held against."""

from __future__ import annotations

import itertools

import numpy as np

from reedlab.trial.dealing import Layout


def every_deal(layout: Layout) -> np.ndarray:
    """Return all allowed arrangements, each once, as a bool matrix (arrangements, units)."""
    out = np.zeros((layout.count, layout.units), dtype=bool)
    ways = itertools.product(*(itertools.combinations(m, k) for m, k in zip(layout.members, layout.n_b, strict=True)))
    for row, picks in zip(out, ways, strict=True):
        row[list(itertools.chain(*picks))] = True
    return out
