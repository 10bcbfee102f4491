"""Tests of life ratios for many trials at once: tails at given ratios, and on which side of 1 the range lies."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...trial.dealing import counts_of_b, layout_of
from ..shuffling.life_reach import reachable_p
from ..shuffling.life_scan import Scan, farthest
from ..shuffling.life_scores import (
    critical_ratios,
    evaluation_points,
    limit_ratios,
    merged,
    recensored,
    scores,
    scores_at,
)
from ..shuffling.shuffles import Shuffles
from ..shuffling.sums import FloatArray
from .tails import Deals

__all__ = ["LifeTails", "crossings"]

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int_]

_TIE = 1e-9
_SLACK = 1e-12
_OUT = -1e300  # logarithm of the time of a unit that does not count: it is never at risk
_ROWS = 20_000  # rows scored at once


class LifeTails:
    """Lives of k trials along the ratio.

    Parameters
    ----------
    hours : (k, n) float
    worn : (k, n) bool
    deals : Deals
        Says which units count.
    watched : (k, n) float or None
        As in `life_scan.Scan`.
    """

    def __init__(self, hours: FloatArray, worn: BoolArray, deals: Deals, watched: FloatArray | None = None) -> None:
        self.hours, self.deals, self.watched = hours, deals, watched
        self.log_watched = None if watched is None else np.log(np.where(deals.used, watched, np.inf))
        self.log_t = np.where(deals.used, np.log(np.where(hours > 0, hours, 1.0)), _OUT)
        self.worn = worn & deals.used
        self.is_b = (deals.is_b & deals.used).astype(float)

    def at(self, rows: IntArray, ratios: npt.ArrayLike, share: FloatArray | None = None,
           ) -> tuple[FloatArray, FloatArray]:
        """Return (p that the life ratio is above, p that it is below) `ratios`, one ratio or one for each row.

        `share` (r, n) says how much of the ratio each unit's time is divided by; None: as dealt.
        """
        share = self.is_b[rows] if share is None else share
        log_ratio = np.atleast_1d(np.log(np.asarray(ratios, dtype=float)))[:, None]
        log_t, worn = self.log_t[rows] - log_ratio * share, self.worn[rows]
        if self.log_watched is not None:
            log_t, worn = recensored(log_t, worn, self.log_watched[rows], log_ratio)
        s = scores(log_t, worn)
        tie = _TIE * np.maximum(1.0, np.abs(s).sum(axis=1))
        # Σ scores in B is high where B wears out sooner: the lower tail speaks for longer lives
        upper, lower = self.deals.tails(s, self.deals.observed(s, rows), tie, rows)
        return lower, upper

    def reachable_p(self) -> FloatArray:
        """Return the smallest p that any dealing of each trial's lives could give, (k,)."""
        s = np.where(self.deals.used, scores(self.log_t, self.worn), 0.0)
        return reachable_p(s, self.deals.is_b, self.deals.members, self.deals.used)

    def side(self, rows: IntArray, alpha: FloatArray) -> tuple[BoolArray, BoolArray]:
        """Say whether the whole range lies above 1, and below 1, for trials in which 1 is ruled out.

        The steps on the wrong side of 1 are all tried, since a set of ratios may have holes: first the farthest
        one, where most ranges without an end are found out.
        """
        above, below = np.zeros(len(rows), dtype=bool), np.zeros(len(rows), dtype=bool)
        longer, shorter = self.at(rows, 1.0)
        up = longer < shorter
        points = [self._points(int(r)) for r in rows]
        far = np.array([p[0] if u else p[-1] for p, u in zip(points, up, strict=True)])
        open_ = np.flatnonzero(~self._kept(rows, far, alpha))
        wrong = [self._wrong_side(points[i], bool(up[i])) for i in open_]
        clean = open_[~self._any_kept(rows, open_, wrong, alpha)]
        # somewhere on the right side something must be kept: farthest first, then everything
        other = np.array([points[i][-1] if up[i] else points[i][0] for i in clean])
        some = self._kept(rows[clean], other, alpha[clean])
        rest = clean[~some]
        right = [points[i][points[i] > 1] if up[i] else points[i][points[i] < 1] for i in rest]
        some[~some] = self._any_kept(rows, rest, right, alpha)
        good = clean[some]
        above[good], below[good] = up[good], ~up[good]
        return above, below

    def _points(self, row: int) -> FloatArray:
        """Return the steps between which the range is sought, as `life_scan.Scan` does."""
        used = self.deals.used[row]
        hours, worn, is_b = self.hours[row, used], self.worn[row, used], self.deals.is_b[row, used]
        critical = critical_ratios(hours, worn, is_b)
        if self.watched is None:
            return evaluation_points(critical)
        share, watched = is_b.astype(float), self.watched[row, used]
        points = evaluation_points(merged(np.r_[critical, limit_ratios(hours, worn, share, watched)]))
        s = np.zeros((len(points), used.size))
        s[:, used] = scores_at(hours, worn, share, points, watched)
        first, last = farthest(self.deals.deviations(s, np.full(len(points), row)))
        return points[first:last + 1]

    @staticmethod
    def _wrong_side(points: FloatArray, up: bool) -> FloatArray:
        """Return the steps on the wrong side of 1, and the stretch that begins right at 1 if one does."""
        wrong = points < 1 if up else points > 1
        at = np.flatnonzero(points[1::2] == 1.0)
        out = points[wrong]
        if len(at):  # its range would begin at exactly 1, which does not rule 1 out
            step = 2 * int(at[0]) + (2 if up else 0)
            out = np.append(out, points[step])
        return out

    def _kept(self, rows: IntArray, ratios: FloatArray, alpha: FloatArray) -> BoolArray:
        if not len(rows):
            return np.zeros(0, dtype=bool)
        longer, shorter = self.at(rows, ratios)
        out: BoolArray = 2 * np.minimum(longer, shorter) > alpha + _SLACK
        return out

    def _any_kept(self, rows: IntArray, which: IntArray, points: list[FloatArray], alpha: FloatArray) -> BoolArray:
        out = np.zeros(len(which), dtype=bool)
        if not len(which):
            return out
        lengths = np.array([len(p) for p in points])
        owner = np.repeat(np.arange(len(which)), lengths)
        every = np.concatenate(points)
        for start in range(0, len(every), _ROWS):
            part = slice(start, start + _ROWS)
            mine = owner[part]
            kept = self._kept(rows[which[mine]], every[part], alpha[which[mine]])
            out |= np.bincount(mine[kept], minlength=len(which)) > 0
        return out


def crossings(hours: FloatArray, worn: BoolArray, deals: Deals, watched: FloatArray | None = None) -> FloatArray:
    """Return the estimated life ratio of each trial, (k,); nan where nothing can be compared. Not quick."""
    out = np.full(len(hours), np.nan)
    for i in range(len(hours)):
        u = deals.used[i]
        if u.any():
            is_b, block = deals.is_b[i, u], deals.block[u]
            layout = layout_of(list(block), counts_of_b(list(block), is_b))
            out[i] = Scan(hours[i, u], worn[i, u], Shuffles(layout, is_b, limit=0, samples=1),
                          watched=None if watched is None else watched[i, u]).crossing()
    return out
