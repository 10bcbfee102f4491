"""The odds against no difference as the coins of a day-by-day trial came in: valid on whatever day they are read.

Each block is two units, and one coin said which of them had B. Given the two values, and all that was seen before, the
coin is even where there is no difference. So a bet on it, with a stake from the past alone, has a mean of exactly 1,
and so has the product of the bets: a test martingale, which reaches 1/α in at most α of all trials, whenever it is read
(Ville 1939; Howard, Ramdas, McAuliffe & Sekhon 2021, Ann. Stat. 49:1055; Waudby-Smith & Ramdas 2024, JRSS-B 86:1).

The bet is what a normal model says of the coin: for a gap of e spreads and a block whose units lie x spreads apart,
exp(±e x/2) / cosh(e x/2). The spread is that of the units so far, begun at what matters as if that had been seen in a
few blocks, so that a first small one does not make the stakes too bold. Mixed are gaps of a half, one (twice) and two
spreads, either way up.

The planned end of a trial that may be read early is shared with the readings before it: what is left for its p is
reckoned by dealing anew (`left_for_end`), so that either of the two names a winner in at most 5 of 100 trials without a
difference (as Plamadeala & Rosenberger 2012, Ann. Stat. 40:30, share out a reshuffling test among looks).
"""

from __future__ import annotations

import copy
from typing import Final

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from .always_valid import Path, range_of
from .in_full import InFull

__all__ = ["DRAWS", "CoinOdds", "bar_of", "left_for_end"]


#: The part of a trial's p that the odds on the way may use up, by Ville's bound; they mostly use half of it.
_ON_THE_WAY: Final = 0.8
#: Ways the coins could have fallen that are drawn to find what is left for the end.
DRAWS: Final = 20_000
_EFFECTS: Final = np.array([1.0, 2.0])  # gaps tried, in spreads of the units: our assumption
_SEEN: Final = 4  # blocks that the spread begins with: our assumption
_LACKING: Final = 1 / 3  # the weight of a block in which a rating is missing: its gap varies thrice in our worlds
_LISTED = 14  # coins up to which every way they could have fallen is counted


def bar_of(alpha: float) -> float:
    """Return where the odds name a winner in a trial that may be wrong in `alpha`: 25 at 0.05."""
    return round(1 / (_ON_THE_WAY * alpha), 9)


class CoinOdds:
    """The odds in k trials, at any difference: a test in the sense of `verdicts.judge.Test`.

    Parameters
    ----------
    gap, turn : (k, m) float
        Of each block in the order in which they end: the value of the unit dealt B less that of the other, and how much
        of it one unit of difference makes. nan: one of the two is missing, and no bet is made.
    full : (k, m) bool
        Every planned rating of the block is there.
    matters : float
        The smallest difference that matters.
    bar : float
        Where a winner is named.
    """

    none = 0.0

    def __init__(self, gap: FloatArray, turn: FloatArray, full: BoolArray, *, matters: float, bar: float) -> None:
        self.whole = np.isfinite(gap)
        self.gap, self.turn = np.where(self.whole, gap, 0.0), np.where(self.whole, turn, 0.0)
        self.weight = np.where(full, 1.0, _LACKING)
        self.matters, self.bar = matters, bar
        self._estimate = np.full(len(gap), np.nan)

    def __len__(self) -> int:
        return len(self.gap)

    @staticmethod
    def other_way(d: float | FloatArray) -> float | FloatArray:
        """Return the difference that is as large the other way round."""
        return -d

    def told(self, estimate: float | FloatArray) -> CoinOdds:
        """Return the same with what is told as the difference, one for all rows or one for each."""
        out = copy.copy(self)
        out._estimate = np.broadcast_to(np.asarray(estimate, dtype=float), (len(self),))
        return out

    def estimates(self) -> FloatArray:
        """Return what is told as the difference."""
        return self._estimate

    def path(self, d: float | FloatArray = 0.0, where: IntArray | None = None) -> Path:
        """Return the odds block by block once d is taken from B: one for all rows, or one for each of `where`."""
        i = np.arange(len(self)) if where is None else where
        each = np.broadcast_to(np.asarray(d, dtype=float), i.shape)[:, None]
        stake, price = _stakes(self.gap[i] - each * self.turn[i], self.whole[i], self.weight[i], self.matters)
        return Path.of(np.concatenate([stake - price, -stake - price], axis=2))

    def tails(self, d: float | FloatArray, where: IntArray | None = None,
              side: int = 0) -> tuple[FloatArray, FloatArray]:
        """Return the one-sided p that B is ahead by more than d, and by less: half of one over the highest odds."""
        path = self.path(d, where)
        half, up = 0.5 / path.most, self.up(path)
        return np.where(up, half, 1.0), np.where(up, 1.0, half)

    def sides(self, where: IntArray, alpha: FloatArray, up: BoolArray) -> tuple[BoolArray, BoolArray]:
        """Say whether B, and whether A, is named, for rows in which no difference is ruled out."""
        return up, ~up

    def up(self, path: Path) -> BoolArray:
        """Say whether the odds are for B, where they first reached the bar, or else where they were highest."""
        if not path.e_values.shape[1]:
            return np.zeros(len(path.e_values), dtype=bool)
        over = path.e_values >= self.bar
        at = np.where(over.any(axis=1), over.argmax(axis=1), path.e_values.argmax(axis=1))
        out: BoolArray = np.take_along_axis(path.share_up, at[:, None], axis=1)[:, 0] > 0.5
        return out

    def named(self) -> BoolArray:
        """Say where the odds have reached the bar."""
        return self.path().most >= self.bar * (1 - 1e-12)

    def least_p(self) -> FloatArray:
        """Return the smallest p that any numbers could have given: no bet more than doubles."""
        return np.minimum(1.0, 2.0 ** (1 - self.whole.sum(axis=1, dtype=float)))

    def range(self, i: int) -> tuple[float, float]:
        """Return the hull of the differences at which the odds of row i never reached the bar: true at all times."""
        return range_of(float(np.nan_to_num(self._estimate[i])), float(np.ptp(self.gap[i])),
                        lambda d: self.path(d, np.full(len(d), i)).most,
                        2 * len(_EFFECTS) * self.gap.shape[1], self.bar)

    def in_full(self, i: int) -> InFull:
        """Return one row's test with its range, at 1 − 1/bar; its p is one over the highest odds."""
        at = np.array([i])
        upper, lower = (float(x[0]) for x in self.tails(0.0, at))
        low, high = self.range(i)
        p = min(1.0, 2 * min(upper, lower))
        if p <= 1 / self.bar:  # no difference was ruled out once, and stays so
            low, high = (max(low, np.nextafter(0.0, 1.0)), high) if upper < lower else (
                low, min(high, -np.nextafter(0.0, 1.0)))
        return InFull(
            estimate=float(self._estimate[i]), p_value=p, p_upper=upper, p_lower=lower, low=float(low),
            high=float(high), low90=float(low), high90=float(high), p_above=np.nan, p_below=np.nan,
            least_p=float(self.least_p()[i]), exact=True,
            arrangements=2 ** int(self.whole[i].sum()))


def _stakes(gap: FloatArray, whole: BoolArray, weight: FloatArray, matters: float) -> tuple[FloatArray, FloatArray]:
    """Return the stakes on B and the price of each bet, both as logarithms (k, m, effects); 0 where none is made."""
    seen = _SEEN + whole.cumsum(axis=1)
    spread = np.sqrt((_SEEN * matters**2 + (weight * gap**2 / 2).cumsum(axis=1)) / seen)
    stake = (weight * gap / spread)[:, :, None] * (_EFFECTS / 2)
    return stake, np.logaddexp(stake, -stake) - np.log(2)


def left_for_end(odds: CoinOdds, i: int, final: FloatArray, *, alpha: float, draws: int, seed: int) -> float:
    """Return the p that a winner needs at the planned end of trial i, what the readings before it take allowed for.

    Parameters
    ----------
    odds : CoinOdds
    i : int
        Its row.
    final : (m,) float
        By block, in the same order: what the coin turns round in the statistic of the planned end.
    alpha : float
        Of the whole trial.
    draws, seed : int
        Ways that the coins could have fallen, drawn if there are more than are listed.

    Notes
    -----
    Were there no difference, the numbers would be the same however the coins had fallen. So of ways drawn anew it is
    known whether their odds would have reached the bar, and where they would stand at the end. The p is the largest at
    which both together name a winner in no more than `alpha` of them; with the trial itself counted among them this
    holds exactly, whatever the numbers.
    """
    here = np.flatnonzero(odds.whole[i])
    m = len(here)
    if m <= _LISTED:
        ways = 2.0 * ((np.arange(2**m)[:, None] >> np.arange(m)) & 1) - 1
    else:
        ways = 2.0 * np.random.default_rng(seed).integers(0, 2, (draws, m)) - 1
    at = (np.array([[i]]), here[None])
    stake, price = _stakes(odds.gap[at], odds.whole[at], odds.weight[at], odds.matters)
    sums = np.zeros((len(ways), m))
    for e in range(len(_EFFECTS)):
        course, paid = np.cumsum(ways * stake[0, :, e], axis=1), np.cumsum(price[0, :, e])
        sums += np.exp(course - paid) + np.exp(-course - paid)
    early = (sums >= odds.bar * 2 * len(_EFFECTS)).any(axis=1)
    far = np.abs(ways @ np.nan_to_num(final[here]))
    far = np.round(far / (far.max() or 1.0), 9)
    room = int(np.floor(alpha * (len(ways) + (m > _LISTED)) + 1e-9)) - early.sum() - (m > _LISTED)
    values, count = np.unique(-far[~early], return_counts=True)
    fits = int(np.searchsorted(np.cumsum(count), room, side="right"))  # the furthest ways that there is room for
    if room <= 0 or fits == 0:
        return 0.0
    return float((far >= -values[fits - 1]).mean())
