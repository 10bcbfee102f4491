"""The shuffling test of many trials of one plan at once, for checks against theory."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedlab.analysis.shuffling.shuffles import Shuffles
from reedlab.analysis.shuffling.sums import block_centred, tie_of
from reedlab.trial.dealing import layout_dealt


def p_values(values: npt.NDArray[np.float64], is_b: npt.NDArray[np.bool_], block: npt.ArrayLike | None = None, *,
             limit: int = 2**16, samples: int = 20_000) -> npt.NDArray[np.float64]:
    """Return the two-sided p of each row of `values` (k, n)."""
    labels = np.zeros(is_b.size, dtype=int) if block is None else np.asarray(block)
    shuffles = Shuffles(layout_dealt(labels, is_b), is_b, limit=limit, samples=samples, seed=None)
    centred = block_centred(values, shuffles.layout)
    upper, lower = shuffles.tails(centred, tie_of(centred, values))
    return np.minimum(1.0, 2 * np.minimum(upper, lower) / shuffles.size)
