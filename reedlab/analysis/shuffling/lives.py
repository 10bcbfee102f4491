"""Compare two habits by lives in playing hours, one per randomised unit, some still going."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...trial.arrays import BoolArray, FloatArray
from ...trial.dealing import least_p
from ...wording import tr
from ._units import check_options, column, columns, gather, numbers, rows
from .compared import Compared
from .deals import Deals
from .in_full import InFull
from .life_ratios import LifeRatios

__all__ = ["LifeComparison", "compare_lives", "lives_given"]


@dataclass(frozen=True, repr=False, kw_only=True)
class LifeComparison(Compared):
    """The answer of `compare_lives`. Ratios are B's life over A's; `low`, `high` are 0 and inf without end.

    `events` counts the worn-out units of A and of B; `exact` concerns ratio 1. `least_p` is the design's, as for
    numbers; `reachable_p` is the smallest p that any dealing of just these lives could give, larger where few
    wore out.
    """

    ratio: float
    reachable_p: float
    events: tuple[int, int]

    @property
    def estimate(self) -> float:
        """The ratio, under the name that `Comparison` has for its estimate."""
        return self.ratio

    def __repr__(self) -> str:
        a, b = self.labels
        return self._lines(f"{b} over {a}: {self.ratio:.4g}", f"worn out {self.events[0]} v {self.events[1]}, ",
                           self.reachable_p)


def compare_lives(hours: npt.ArrayLike, worn_out: npt.ArrayLike, arm: npt.ArrayLike,
                  block: npt.ArrayLike | None = None, *, level: float = 0.95,
                  matters: float | None = None, seed: int | None = None, data: pd.DataFrame | None = None,
                  watched: npt.ArrayLike | None = None) -> LifeComparison:
    """Compare two habits by a randomisation test of lives.

    Parameters
    ----------
    hours : (n,) float
        Playing hours (any one unit of time) until worn out, or until last seen. Longer is better.
        Zero or empty: the unit leaves before scoring.
    worn_out : (n,) bool
        False: censored, the unit was not worn out when last seen. Empty: the unit leaves.
    arm, block, level, seed
        As in `compare`.
    matters : float or None
        The smallest ratio of lives that matters, above 1; gives a `verdict`.
    data : DataFrame, optional
        As in `compare`, for `watched` too.
    watched : (n,) float or None
        Hours up to which each unit was watched, or would have been had it lasted, whatever its arm: a common end of
        playing, fixed beforehand. Ratios other than 1 then read both arms only as far as either could have been seen
        (see Notes); ranges are narrower and keep their level. p and ratio 1 are the same without it. inf where
        nothing ended the watching; empty: as far as it was seen.

    Returns
    -------
    LifeComparison
        No worn-out units or no block with both arms: ratio nan, p 1, range 0 to inf.

    Raises InputError, which names every argument that cannot be used.

    Notes
    -----
    A unit's score is worn_out − Σ d(t)/n(t) over the distinct event times t up to its own, pooled over
    all units (martingale residual of the empty Cox model, Breslow); the statistic is Σ scores in B,
    reshuffled within blocks. For a ratio r all of B's times, censored ones too, are divided by r and
    everything is scored anew. Scores change only where one of B's times meets one of A's, so every
    critical ratio t_B/t_A and every stretch between is tried; the range is the hull of what is not
    ruled out. `ratio` is where the statistic crosses its reshuffling mean: the geometric middle of the
    largest ratio with the statistic below it and the smallest with the statistic above it; 0 or inf
    where there is only one side, nan where there is neither. The range is exact while arrangements can
    be counted: a drawn sample only spares ratios that are far (six standard errors) from the verge. Where
    lives are many (units times ratios above two million) both ends are found by narrowing; see `Scan`.

    Dividing B's times, censored ones too, suits censoring that comes sooner or later as lives do. Where all were
    watched to one common end L, a reed of B can be seen to wear out up to L / ratio only, in A's hours, and the plain
    set covers too much (97 to 100 % for 95). With `watched`, units of both arms are cut off at the smaller of L and
    L / ratio before scoring, so that nothing but chance tells them apart at the true ratio: Robins & Tsiatis 1991,
    Commun. Stat. Theory Methods 20, 2609-2631; White et al. 1999, Stat. Med. 18, 2617-2634 (both from memory).
    Either way one ratio stands for all lives: the habit is taken to stretch every life alike.

    Examples
    --------
    Eight invented reeds, two of them still going:

    >>> from reedlab import compare_lives
    >>> compare_lives([9.5, 14.0, 12.0, 20.0, 8.0, 16.5, 11.0, 18.0], [1, 1, 1, 0, 1, 1, 1, 0],
    ...               ["mouth", "water"] * 4, matters=1.5)
    <LifeComparison
      water over mouth: 1.818
      95% range 1.167 to inf
      p 0.02857 (exact; least possible 0.02857)
      4 v 4 units, worn out 4 v 2, blocks 1
      verdict: b_better>
    """
    faults: list[str] = []
    hours, worn_out, arm, block = columns(data, faults, hours=hours, worn_out=worn_out, arm=arm, block=block)
    t, worn, known = lives_given(hours, worn_out, faults)
    limit = _limits(watched, data, t, faults)
    check_options(level, matters, 1.0, seed, faults)
    u = gather((t > 0) & known, arm, block, faults)
    t, worn = t[u.keep], worn[u.keep]
    found = InFull.nothing(1.0)
    if u.keep.size:
        deals = Deals.whole(u.is_b, u.block, seed=seed)
        found = LifeRatios(t[None], worn[None], deals, watched=None if limit is None else limit[None, u.keep]).in_full(
            0, level=level, margin=matters)
    told = found.told()
    return LifeComparison(labels=u.labels, level=level, units=u.counts, blocks_used=u.blocks_used,
                          blocks_dropped=len(u.dropped), dropped=u.dropped, matters=matters,
                          events=(int(worn[~u.is_b].sum()), int(worn[u.is_b].sum())), ratio=told.pop("estimate"),
                          reachable_p=told.pop("least_p"), least_p=least_p(found.arrangements),
                          **LifeComparison.judged(found, level, matters), **told)


def _limits(watched: Any, data: pd.DataFrame | None, t: FloatArray, faults: list[str]) -> FloatArray | None:
    if watched is None:
        return None
    (watched,) = columns(data, faults, watched=watched)
    read = column(watched, "watched", faults)
    ends = np.array([x == float("inf") for x in read], dtype=bool)
    limit = numbers([None if e else x for x, e in zip(read, ends, strict=True)], "watched", faults)
    limit[ends] = np.inf
    if limit.size != t.size:
        faults.append(tr("`watched` has {size} values for {size2} units; give one for each unit").format(
                          size=limit.size, size2=t.size))
        return None
    limit = np.where(np.isnan(limit), t, limit)
    short = limit < t * (1 - 1e-9)
    if short.any():
        faults.append(tr("`watched` is below `hours` at {rows}; no unit is seen for longer than it was watched").format(
                          rows=rows(short)))
    return np.maximum(limit, t)


def lives_given(hours: Any, worn_out: Any, faults: list[str]) -> tuple[FloatArray, BoolArray, BoolArray]:
    """Read hours and who wore out, (n,) each, and where the latter is known; what cannot be used is a fault."""
    t = numbers(hours, "hours", faults)
    if (t < 0).any():
        faults.append(tr("`hours` is below 0 at {rows}; playing time cannot be negative").format(rows=rows(t < 0)))
    worn, known = _flags(worn_out, faults)
    if len(worn) != t.size:
        faults.append(tr("`worn_out` has {n} values for {size} units; give one for each unit").format(
                          n=len(worn), size=t.size))
        known = np.ones(t.size, dtype=bool)
    return t, worn, known


def _flags(worn_out: Any, faults: list[str]) -> tuple[BoolArray, BoolArray]:
    """Read a column of True and False: the flags, and where they are known; anything else is a fault."""
    read = column(worn_out, "worn_out", faults)
    known = np.array([x is not None for x in read], dtype=bool)
    odd = np.array([x is not None and x not in (True, False) for x in read], dtype=bool)  # 1 and 0 will do
    if odd.any():
        faults.append(tr("`worn_out` holds {read!r} at {rows}; wanted True, False or empty").format(
                          read=read[int(np.flatnonzero(odd)[0])], rows=rows(odd)))
    return np.array([x is not None and x != 0 for x in read], dtype=bool), known
