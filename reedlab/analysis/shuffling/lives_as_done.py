"""Lives read as done: each unit's hours are divided by ratio ** (share of its sittings on B).

The dealt arms are reshuffled, never the habit used (relabelling by the habit used gives false alarms when
bad days decide it). With everything done as dealt this is `compare_lives` itself.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...trial.dealing import counts_of_b, layout_of
from .life_scan import Scan
from .shuffles import Shuffles
from .verdict import SAMENESS_P

__all__ = ["lives_as_done", "meeting_ratios"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
_FARTHEST = np.log(1000.0)  # ratios beyond are not told apart from no end
_MERGE = 1e-11


def meeting_ratios(hours: FloatArray, worn_out: BoolArray, share: FloatArray) -> FloatArray:
    """Return the sorted ratios at which two scaled lives meet, one of them at least worn out."""
    i, j = np.triu_indices(len(hours), k=1)
    apart = share[i] - share[j]
    matter = (np.abs(apart) > 1e-12) & (worn_out[i] | worn_out[j])
    i, j, apart = i[matter], j[matter], apart[matter]
    where = np.sort((np.log(hours[i]) - np.log(hours[j])) / apart)
    where = where[np.abs(where) < _FARTHEST]
    if not where.size:
        return np.zeros(0)
    return np.exp(where[np.r_[True, np.diff(where) > _MERGE]])


def lives_as_done(hours: FloatArray, worn_out: BoolArray, share: FloatArray, is_b: BoolArray,
                  block: npt.NDArray[np.generic], *, level: float, matters: float | None,
                  seed: int | None = None, watched: FloatArray | None = None,
                  same_p: float = SAMENESS_P) -> dict[str, float]:
    """Return estimate, p_value, low, high, low90, high90, p_above and p_below of the ratio, read as done."""
    shuffles = Shuffles(layout_of(block, counts_of_b(block, is_b)), is_b, seed=seed)
    scan = Scan(hours, worn_out, shuffles, share=share, critical=meeting_ratios(hours, worn_out, share),
                watched=watched)
    upper, lower = scan.tails_at((1.0,))[0]
    p = min(1.0, 2 * min(upper, lower))
    (low, high), (low90, high90) = scan.hull(1 - level), scan.hull(2 * same_p)
    if p > 1 - level + 1e-12:
        low, high = min(low, 1.0), max(high, 1.0)
    above = scan.tails_at((1 / matters,))[0][1] if matters else float("nan")
    below = scan.tails_at((matters,))[0][0] if matters else float("nan")
    return {"estimate": scan.crossing(), "p_value": p, "low": low, "high": high, "low90": low90,
            "high90": high90, "p_above": above, "p_below": below}
