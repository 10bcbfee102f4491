"""Lives read as done: each unit's hours are divided by ratio ** (share of its sittings on B).

The dealt arms are reshuffled, never the habit used (relabelling by the habit used gives false alarms when
bad days decide it). With everything done as dealt this is `compare_lives` itself.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..dealing import counts_of_b, layout_of
from .life_scores import evaluation_points, scores_at
from .lives import _Scan, _tails
from .shuffles import Shuffles

__all__ = ["DoneLives", "lives_as_done"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
_FARTHEST = np.log(1000.0)  # ratios beyond are not told apart from no end
_MERGE = 1e-11


class DoneLives(_Scan):
    """The scan of `compare_lives` with shares in place of 0 and 1.

    Parameters
    ----------
    hours, worn_out : ndarray (n,)
        As in `compare_lives`, hours above 0.
    share : ndarray (n,)
        Share of each unit's sittings done on B, 0 to 1.
    is_b : ndarray (n,) of bool
        As dealt.
    block : ndarray (n,)
        Labels.
    seed : int, optional
        For arrangements too many to count.
    """

    def __init__(self, hours: FloatArray, worn_out: BoolArray, share: FloatArray, is_b: BoolArray,
                 block: npt.NDArray[np.generic], *, seed: int | None = None) -> None:
        layout = layout_of(block, counts_of_b(block, is_b))
        self.hours, self.worn, self.is_b, self.share = hours, worn_out, is_b, share
        self.shuffles = Shuffles(layout, is_b, seed=seed)
        self.critical = _critical(hours, worn_out, share)
        self.points = evaluation_points(self.critical)
        self.scores = scores_at(hours, worn_out, share, self.points)  # type: ignore[arg-type]
        self._tails = {}
        self._rough = None

    def tails_at(self, ratios) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
        """Return (upper, lower) tail shares of Σ scores in B at each ratio."""
        rows = scores_at(self.hours, self.worn, self.share, ratios)  # type: ignore[arg-type]
        return [_tails(row, self.shuffles) for row in rows]


def _critical(hours: FloatArray, worn_out: BoolArray, share: FloatArray) -> FloatArray:
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
                  seed: int | None = None) -> dict[str, float]:
    """Return estimate, p_value, low, high, low90, high90, p_above and p_below of the ratio, read as done."""
    scan = DoneLives(hours, worn_out, share, is_b, block, seed=seed)
    upper, lower = scan.tails_at((1.0,))[0]
    p = min(1.0, 2 * min(upper, lower))
    (low, high), (low90, high90) = scan.hull(1 - level), scan.hull(0.10)
    if p > 1 - level + 1e-12:
        low, high = min(low, 1.0), max(high, 1.0)
    above = scan.tails_at((1 / matters,))[0][1] if matters else float("nan")
    below = scan.tails_at((matters,))[0][0] if matters else float("nan")
    return dict(estimate=scan.crossing(), p_value=p, low=low, high=high, low90=low90, high90=high90,
                p_above=above, p_below=below)
