"""Lives of k trials, tested at ratios of life: tails at any ratio, and a range for a row that asks."""

from __future__ import annotations

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .deals import Deals
from .in_full import InFull
from .life_reach import reachable_p
from .life_scan import Scan
from .life_scores import critical_ratios, meeting_ratios, merged, recensored, score_tie
from .past_lives import PastLives, scores_among
from .verdict import SAMENESS_P, two_sided

__all__ = ["LifeRatios"]

_SLACK = 1e-12
_OUT = -1e300  # logarithm of the time of a unit that does not count: it is never at risk
_ROWS = 20_000  # rows scored at once


class LifeRatios:
    """Lives of k trials along the ratio of B's life over A's, as `linear.Linear` has numbers along the difference.

    Parameters
    ----------
    hours : (r, n) float
    worn : (r, n) bool
    deals : Deals
        Says which units count.
    rows : (r,) int or None
        Which of its trials they belong to; None: all.
    watched : (r, n) float or None
        As in `life_scan.Scan`.
    share : (r, n) float or None
        How much of the ratio each unit's time is divided by, ratio ** share (the share of its sittings on B, for the
        reading as done: the dealt arms are reshuffled, never the habit used); None: as dealt.
    strata : (n,) int or None
        Units are scored among those of their own stratum (a trial, where several are combined); None: among all.
    past : PastLives or None
        Earlier reeds that stand among those at risk and are never dealt; not with `strata`.
    """

    none = 1.0

    def __init__(self, hours: FloatArray, worn: BoolArray, deals: Deals, rows: IntArray | None = None, *,
                 watched: FloatArray | None = None, share: FloatArray | None = None,
                 strata: IntArray | None = None, past: PastLives | None = None) -> None:
        self.deals, self.rows = deals, np.arange(len(hours)) if rows is None else rows
        self.used = deals.used[self.rows]
        self.hours, self.watched = hours, watched
        self.log_watched = None if watched is None else np.log(np.where(self.used, watched, np.inf))
        self.log_t = np.where(self.used, np.log(np.where(hours > 0, hours, 1.0)), _OUT)
        self.worn = worn & self.used
        self.is_b = (deals.is_b[self.rows] & self.used).astype(float)
        self.share = self.is_b if share is None else np.where(self.used, share, 0.0)
        self.strata, self.past = strata, past

    def __len__(self) -> int:
        return len(self.rows)

    @staticmethod
    def other_way(ratio: float | FloatArray) -> float | FloatArray:
        """Return the ratio that is as large the other way round."""
        return 1 / ratio

    def tails(self, ratio: float | FloatArray, where: IntArray | None = None,
              side: int = 0) -> tuple[FloatArray, FloatArray]:
        """Return (p that B's life is more than `ratio` times A's, p that it is less), one ratio or one for each row.

        `side`: 1 or -1 where only one of them is asked for.
        """
        i = np.arange(len(self.rows)) if where is None else where
        if not len(i):
            return np.zeros(0), np.zeros(0)
        s = self._scores(i, np.broadcast_to(np.log(np.asarray(ratio, dtype=float)), i.shape))
        # Σ scores in B is high where B wears out sooner: the lower tail speaks for longer lives
        upper, lower = self.deals.tails(s, self.deals.observed(s, self.rows[i]), score_tie(s), self.rows[i], -side)
        return lower, upper

    def _scores(self, i: IntArray, log_ratio: FloatArray) -> FloatArray:
        log_t, worn = self.log_t[i] - log_ratio[:, None] * self.share[i], self.worn[i]
        if self.log_watched is not None:
            log_t, worn = recensored(log_t, worn, self.log_watched[i], log_ratio[:, None])
        return scores_among(log_t, worn, self.strata, self.past)

    def least_p(self) -> FloatArray:
        """Return the smallest p that any dealing of each trial's lives could give, (r,)."""
        s = np.where(self.used, self._scores(np.arange(len(self)), np.zeros(len(self))), 0.0)
        return reachable_p(s, self.deals.is_b[self.rows], self.deals.members, self.used)

    def estimates(self) -> FloatArray:
        """Return where the statistic crosses its reshuffling mean, (r,). Not quick."""
        return np.array([self.scan(i).crossing() for i in range(len(self))])

    def scan(self, i: int) -> Scan:
        """Return one row along all ratios at which its scores can change."""
        shuffles, units = self.deals.one(int(self.rows[i]))
        hours, worn, share, is_b = self.hours[i, units], self.worn[i, units], self.share[i, units], shuffles.observed
        as_dealt = bool((share == is_b).all())
        strata = np.zeros(len(units), dtype=int) if self.strata is None else self.strata[units]
        met = [critical_ratios(hours[at], worn[at], is_b[at]) if as_dealt else meeting_ratios(
            hours[at], worn[at], share[at]) for at in (strata == s for s in np.unique(strata))]
        return Scan(hours, worn, shuffles, share=share, critical=merged(np.concatenate(met)),
                    strata=None if self.strata is None else strata, past=self.past,
                    watched=None if self.watched is None else self.watched[i, units])

    def in_full(self, i: int, *, level: float, margin: float | None = None, same_p: float = SAMENESS_P) -> InFull:
        """Return one row's test with its ranges."""
        at = np.array([i])
        longer, shorter = (float(x[0]) for x in self.tails(1.0, at))
        p = float(two_sided(longer, shorter))
        scan = self.scan(i)
        (low, high), (low90, high90) = scan.hull(1 - level), scan.hull(2 * same_p)
        if p > 1 - level + _SLACK:
            low, high = min(low, 1.0), max(high, 1.0)
        nan = float("nan")
        return InFull(
            estimate=scan.crossing(), p_value=p, p_upper=longer, p_lower=shorter, low=low, high=high, low90=low90,
            high90=high90, p_above=nan if margin is None else float(self.tails(1 / margin, at)[0][0]),
            p_below=nan if margin is None else float(self.tails(margin, at)[1][0]),
            least_p=float(self.least_p()[i]), exact=scan.shuffles.exact, arrangements=scan.shuffles.total)

    def sides(self, where: IntArray, alpha: FloatArray, up: BoolArray) -> tuple[BoolArray, BoolArray]:
        """Say whether the whole range lies above 1, and below 1, for rows in which 1 is ruled out; `up`: B is ahead.

        The steps on the wrong side of 1 are all tried, since a set of ratios may have holes: first the farthest
        one, where most ranges without an end are found out.
        """
        above, below = np.zeros(len(where), dtype=bool), np.zeros(len(where), dtype=bool)
        if not len(where):
            return above, below
        scans = [self.scan(int(i)) for i in where]
        points = [s.points[s.span[0]:s.span[1] + 1] for s in scans]
        far = np.array([p[0] if u else p[-1] for p, u in zip(points, up, strict=True)])
        open_ = np.flatnonzero(~self._kept(where, far, alpha))
        wrong = [self._wrong_side(points[i], bool(up[i])) for i in open_]
        clean = open_[~self._any_kept(where, open_, wrong, alpha)]
        # somewhere on the right side something must be kept: farthest first, then everything
        other = np.array([points[i][-1] if up[i] else points[i][0] for i in clean])
        some = self._kept(where[clean], other, alpha[clean])
        rest = clean[~some]
        right = [points[i][points[i] > 1] if up[i] else points[i][points[i] < 1] for i in rest]
        some[~some] = self._any_kept(where, rest, right, alpha)
        good = clean[some]
        above[good], below[good] = up[good], ~up[good]
        return above, below

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
        longer, shorter = self.tails(ratios, rows)
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
