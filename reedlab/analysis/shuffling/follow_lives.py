"""Follow two habits by lives in playing hours, reed after reed: the safe log-rank test, valid at every look."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.result import Verdict
from ._units import check_options, columns, gather
from .always_valid import Path, followed_verdict, hull, winning_side
from .follow import Followed
from .life_scores import critical_ratios, evaluation_points
from .lives import lives_given

__all__ = ["HAZARD_RATIOS", "LOG_HAZARDS", "LifeBlock", "Stand", "excluded", "follow_lives", "path_of", "stands"]


#: How many times as fast reeds of the worse way wear out: with the shape of 2 that lives of reeds are taken to
#: have (`practice`), these are lives 1.25, 1.5, 2 and 3 times as long. Each and its inverse has the same weight.
HAZARD_RATIOS: Final = (1.25**2, 1.5**2, 2.0**2, 3.0**2)
LOG_HAZARDS: Final = np.log([1 / h for h in HAZARD_RATIOS] + [float(h) for h in HAZARD_RATIOS])
_MEET = 2.5e-12  # times this close in their logarithm are one time, as in `life_scores`
_MOST_RATIOS = 300
_CELLS = 2_000_000  # numbers held at once


def follow_lives(hours: npt.ArrayLike, worn_out: npt.ArrayLike, arm: npt.ArrayLike,
                 block: npt.ArrayLike | None = None, *, level: float = 0.95,
                 matters: float | None = None, at_every_step: bool = True,
                 data: pd.DataFrame | None = None) -> Followed:
    """Follow two habits by a test of lives that may be looked at after every worn-out unit.

    Parameters
    ----------
    hours, worn_out, arm, data
        As in `compare_lives`.
    block : (n,) labels or None
        Blocks within which the arms were dealt, in the order in which they were begun.
    level, matters
        As in `follow`; `matters` is a ratio of lives above 1.
    at_every_step : bool
        False: judge by where the e-value stands now, not by the highest it was on the way through the hours. Where
        blocks overlap in the calendar and everything is read anew after every unit, the way through the hours changes
        behind one's back: many blocks at once then name a winner without a difference in 5 of 100, by where it stands
        now in 3 (`tests/benchmarks/standing.py`).

    Returns
    -------
    Followed
        `estimate` and range are ratios of lives. No worn-out units or no block with both arms: estimate nan,
        e 1, range 0 to inf.

    Raises InputError, which names every argument that cannot be used.

    Notes
    -----
    Within a block, in the order of hours, units leave: worn out or censored (at the same hours the worn-out leave
    first). Where the hours are what they are whatever the arm, how many of the d that wear out together are B's is
    hypergeometric given those still there, and a bet on B wearing out h times as fast is the ratio of Fisher's
    non-central to the plain hypergeometric chance: h^z over its mean. Censored units bet nothing. The bets
    multiply over all blocks for each h of `HAZARD_RATIOS` and its inverse, and the e-value is the mean of the
    products (ter Schure, Perez-Ortiz, Ly & Grünwald, arXiv 2011.06931; Ville 1939). Its mean over the deals is
    exactly 1 at every step, also for ties, unequal blocks and units that left.

    The range is in ratios of *lives*: for a ratio r all of B's times, censored ones too, are divided by r and the
    same test is run anew. It is valid where the habit stretches each life by r and reeds leave for other reasons
    at times that are stretched too; and also where censoring is the same clock for both arms, if it knows nothing
    of the lives, since then those still there at the same (divided) hours are as likely to be next, which is all
    that the bets need. It supposes one stretch for all lives; the winner does not. Order changes only where one of
    B's times meets one of A's of its block: every such ratio and every stretch between is tried (of more than 300,
    an even choice, each end then drawn in). `estimate` is where bets on longer and on shorter lives
    have gained the same: the geometric middle where there is a stretch of those.
    """
    faults: list[str] = []
    hours, worn_out, arm, block = columns(data, faults, hours=hours, worn_out=worn_out, arm=arm, block=block)
    t, worn, known = lives_given(hours, worn_out, faults)
    check_options(level, matters, 1.0, None, faults)
    here = (t > 0) & known
    u = gather(here, arm, block, faults)
    bar = 1 / (1 - level)
    blocks = [LifeBlock(np.log(t[mine]), worn[mine], u.every_b[mine])
              for c in range(int(u.every_block.max(initial=-1)) + 1) if (mine := here & (u.every_block == c)).any()]
    path = path_of(blocks)
    low, high, estimate = 0.0, math.inf, math.nan
    if any(b.tells for b in blocks):
        low, high, estimate = _range(blocks, t[here], worn[here], u.every_b[here], u.every_block[here], bar,
                                     at_every_step)
    e = path.e_values[0]
    kept = worn[u.keep]
    return Followed(
        labels=u.labels, estimate=estimate, e_value=float(e[-1]) if e.size else 1.0, e_values=tuple(map(float, e)),
        most=float(path.most[0]), low=low, high=high, level=level, units=u.counts, blocks_used=u.blocks_used,
        blocks_dropped=len(u.dropped), dropped=u.dropped,
        events=(int(kept[~u.is_b].sum()), int(kept[u.is_b].sum())), matters=matters,
        verdict=None if matters is None else followed_verdict(
            winning_side(path if at_every_step else path.last, bar), low, high, 1 / matters, matters))


class LifeBlock:
    """One block's lives: logarithms of the hours, who wore out, who is B."""

    def __init__(self, log_t: FloatArray, worn: BoolArray, is_b: BoolArray) -> None:
        self.log_t, self.worn, self.is_b = log_t, worn, is_b
        self.tells = bool(worn.any() and is_b.any() and not is_b.all())

    def steps(self, log_ratios: FloatArray) -> tuple[IntArray, IntArray]:
        """Return (at risk in A, in B, worn out in A, in B) at each hour at which units wore out, (m, 4).

        For each of the ratios in turn: the first array (m,) says for which.
        """
        time = self.log_t - log_ratios[:, None] * self.is_b
        order = np.argsort(time, axis=1, kind="stable")
        last = np.ones(time.shape, dtype=bool)  # of those that leave at one hour
        last[:, :-1] = np.diff(np.take_along_axis(time, order, axis=1), axis=1) > _MEET
        row = np.nonzero(last)[0]
        upto = np.stack([left[order].cumsum(axis=1)[last] for left in (
            ~self.is_b, self.is_b, self.worn & ~self.is_b, self.worn & self.is_b)], axis=1)
        before = np.zeros_like(upto)
        before[1:] = upto[:-1] * (row[1:] == row[:-1])[:, None]
        risk, gone = [(~self.is_b).sum(), self.is_b.sum()] - before[:, :2], (upto - before)[:, 2:]
        wears: BoolArray = gone.any(axis=1)
        return row[wears], np.hstack([risk, gone])[wears]


def _log_bets(steps: IntArray, log_h: FloatArray) -> FloatArray:
    """Return the logarithm of each bet on B's hazard being so many times A's, (m, h).

    `steps` (m, 4) are at risk in A and in B just before each event time, and of those worn out at it.
    """
    n_a, n_b, d_a, d_b = steps.T
    out: FloatArray = d_b[:, None] * log_h
    single = d_a + d_b == 1
    out[single] -= np.log((n_a[single, None] + n_b[single, None] * np.exp(log_h)) / (n_a + n_b)[single, None])
    factors = tuple(log_h)
    for i in np.flatnonzero(~single):
        out[i] -= _log_mean(int(n_a[i]), int(n_b[i]), int(d_a[i] + d_b[i]), factors)
    return out


@lru_cache(maxsize=4096)
def _log_mean(n_a: int, n_b: int, d: int, log_h: tuple[float, ...]) -> FloatArray:
    """Return log of the mean of h^z where z of d drawn from n_a and n_b without putting back are B's."""
    z = np.arange(max(0, d - n_a), min(d, n_b) + 1)
    log_p = np.array([_log_choose(n_b, int(k)) + _log_choose(n_a, d - int(k)) for k in z]) - _log_choose(n_a + n_b, d)
    out: FloatArray = np.logaddexp.reduce(log_p[:, None] + z[:, None] * np.array(log_h), axis=0)
    return out


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def paths_of(blocks: list[LifeBlock], log_ratios: FloatArray) -> Path:
    """Return the path of the bets on each ratio of lives, block after block in order of hours.

    A path with fewer steps than another stands still at its end.
    """
    found = [b.steps(log_ratios) for b in blocks] or [(np.zeros(0, dtype=int), np.zeros((0, 4), dtype=int))]
    row, steps = (np.concatenate(x) for x in zip(*found, strict=True))
    order = np.argsort(row, kind="stable")
    count = np.bincount(row, minlength=len(log_ratios))
    place = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    logs = np.zeros((len(log_ratios), count.max(initial=0), LOG_HAZARDS.size))
    logs[row[order], place] = _log_bets(steps[order], LOG_HAZARDS)
    return Path.of(logs)


def path_of(blocks: list[LifeBlock]) -> Path:
    """Return the path of the bets on no difference."""
    return paths_of(blocks, np.zeros(1))


def _range(blocks: list[LifeBlock], t: FloatArray, worn: BoolArray, is_b: BoolArray, codes: IntArray,
           bar: float, at_every_step: bool) -> tuple[float, float, float]:
    """Return low, high and estimate of the ratio."""
    telling = [b for b in blocks if b.tells]
    step = max(1, _CELLS // (LOG_HAZARDS.size * t.size))

    def seen(at: FloatArray) -> tuple[BoolArray, FloatArray]:
        paths = [paths_of(telling, at[i:i + step]) for i in range(0, len(at), step)]
        most = np.concatenate([(p if at_every_step else p.last).most for p in paths])
        return most < bar, np.concatenate([p.share_up[:, -1] for p in paths])

    met = [critical_ratios(t[codes == c], worn[codes == c], is_b[codes == c]) for c in np.unique(codes)]
    critical = np.sort(np.concatenate(met))
    critical = critical[np.r_[True, np.diff(np.log(critical)) > 4 * _MEET]]
    whole = critical.size <= _MOST_RATIOS
    if not whole:
        critical = critical[np.linspace(0, critical.size - 1, _MOST_RATIOS).round().astype(int)]
    tried = np.log(evaluation_points(critical))
    still, share_up = seen(tried)
    estimate = _crossing(tried, share_up)
    if not whole:
        low, high = hull(tried, lambda at: still if at is tried else seen(at)[0])
    elif still.any():
        left = np.flatnonzero(still)
        low, high = _edge(tried, int(left[0]), -1), _edge(tried, int(left[-1]), +1)
    else:
        low = high = math.nan
    return math.exp(low), math.exp(high), estimate


def _edge(tried: FloatArray, i: int, side: int) -> float:
    """Return the end of a step: points are stretches and, at odd places, the ratios between them."""
    j = i if i % 2 else i + side
    return float(tried[j]) if 0 <= j < tried.size else side * math.inf


def _crossing(tried: FloatArray, share_up: FloatArray) -> float:
    """Return where bets on longer and on shorter lives are even; 0 or inf where one side leads throughout."""
    longer, shorter = np.flatnonzero(share_up > 0.5 + 1e-9), np.flatnonzero(share_up < 0.5 - 1e-9)
    low = _edge(tried, int(longer[-1]), +1) if longer.size else -math.inf
    high = _edge(tried, int(shorter[0]), -1) if shorter.size else math.inf
    if math.isinf(low) or math.isinf(high):
        return math.nan if low == -math.inf and high == math.inf else math.exp(low if low == -math.inf else high)
    return math.exp((low + high) / 2)


@dataclass(frozen=True)
class Stand:
    """How the odds stood on a day: the e-value, worn-out reeds so far, and who had won by then ("cannot_tell")."""

    on: date
    e_value: float
    ends: int
    side: Verdict


def stands(dates: Sequence[date], hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray,
           bar: float) -> tuple[Stand, ...]:
    """Return how the odds of a standing trial stood on each of m days: read again and again in calendar order.

    Parameters
    ----------
    dates : (m,) date, rising
    hours, worn_out : (m, n)
        Of each unit as on that day; 0 hours: not begun.
    is_b, block : (n,)
        The deal, and the number of each unit's block in the order in which they were begun.
    bar : float
        At which a winner is named; once named it stays.
    """
    out: list[Stand] = []
    side: Verdict = "cannot_tell"
    for on, t, worn in zip(dates, hours, worn_out, strict=True):
        path = path_of(_blocks(t, worn, is_b, block)).last
        e = path.e_values[0]
        side = winning_side(path, bar) if side == "cannot_tell" else side
        out.append(Stand(on, float(e[-1]) if e.size else 1.0, int(worn.sum()), side))
    return tuple(out)


def excluded(ratio: float, hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray, bar: float, *,
             share: FloatArray | None = None) -> bool:
    """Say whether a ratio of lives is ruled out; each life is divided by it to the power of its share of B.

    `share` (n,) is what was done; None: as dealt.
    """
    part = is_b.astype(float) if share is None else share
    return bool(path_of(_blocks(hours / ratio**part, worn_out, is_b, block)).last.most[0] >= bar)


def _blocks(hours: FloatArray, worn_out: BoolArray, is_b: BoolArray, block: IntArray) -> list[LifeBlock]:
    return [LifeBlock(np.log(hours[mine]), worn_out[mine], is_b[mine])
            for c in np.unique(block) if (mine := (block == c) & (hours > 0)).any()]
