"""A trial with a planned end that may be read on any day before it: by the odds on the way, and at the end by both.

The odds name a winner once they reach 1/(0.8 α), of an α of 0.05 as ever: 25 to 1. What that leaves for the test of
the planned end is reckoned by dealing anew (`shuffling.coin_odds`), whether anybody looked or not. So a look costs
nothing, and it makes no difference who looked, how often, or why.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...trial.protocol import Protocol
from ...trial.result import OnTheWay
from ..shuffling.coin_odds import DRAWS, CoinOdds, bar_of, left_for_end
from ..shuffling.linear import Linear
from ..units.coins import Coins, coins_of
from ..units.shares import AsDone, planned_share, share_by_cell
from ..units.unit_values import UnitValues
from .findings import Reading

__all__ = ["EarlyOdds", "early_odds"]


@dataclass(frozen=True)
class EarlyOdds:
    """The odds of one trial, as planned and as done, and what they leave for the planned end (nan before it)."""

    coins: Coins
    planned: CoinOdds
    done: CoinOdds
    left: float

    @property
    def alpha(self) -> float:
        """The p that a winner needs by the odds: one over the bar."""
        return 1 / self.planned.bar

    @property
    def named(self) -> bool:
        """Whether the odds have reached the bar."""
        return bool(self.planned.named()[0])

    def of(self, read: Reading, *, as_done: bool = False) -> Reading:
        """Return a reading of the fixed test as one by the odds: same units and estimate; p and range of the odds."""
        f = read.finding
        if not isinstance(read.test, Linear):
            return read
        odds = (self.done if as_done else self.planned).told(f.estimate)
        t = odds.in_full(0)
        level = 1 - self.alpha
        return Reading(replace(f, low=t.low, high=t.high, low90=t.low90, high90=t.high90, level=level, same_level=level,
                               p_value=t.p_value, least_p=t.least_p), odds, read.used)

    def told(self, *, decides: bool) -> OnTheWay:
        """Return what is told of them."""
        path = self.planned.path()
        e = path.e_values[0][self.planned.whole[0]]
        days = self.coins.last[self.planned.whole[0]]
        course = tuple((int(d), float(x)) for d, x in zip(days, e, strict=True))
        return OnTheWay(e_value=course[-1][1] if course else 1.0, most=float(path.most[0]), bar=self.planned.bar,
                        course=course, left=self.left, decides=decides)


def early_odds(protocol: Protocol, values: UnitValues, done: AsDone, *, until: int, alpha: float,
               ended: bool) -> EarlyOdds:
    """Return the odds of a trial that may be read early.

    Parameters
    ----------
    protocol, values, done
        The plan, its units' values, and what was done.
    until : int
        The last trial day that is behind; a block that ends later counts if it is full.
    alpha : float
        Of the whole trial.
    ended : bool
        The planned end has come: reckon what the odds leave for it.
    """
    n = len(values.units)
    rated = np.bincount(values.unit_of_cell, minlength=n).astype(float)

    def coins(share: npt.NDArray[np.float64]) -> Coins:
        effect = np.bincount(values.unit_of_cell, weights=share, minlength=n) / np.maximum(rated, 1)
        return coins_of(protocol.units, protocol.dealt_b[None], values.present[None], values.plain[None], effect[None],
                        values.values[None], rated[None]).closed(until)

    planned, as_done = coins(planned_share(protocol, values)), coins(share_by_cell(protocol, done, values))
    odds = [CoinOdds(c.gap, c.turn, c.full, matters=protocol.matters, bar=bar_of(alpha)) for c in (planned, as_done)]
    left = float("nan")
    if ended:
        left = left_for_end(odds[0], 0, planned.final[0], alpha=alpha, draws=DRAWS, seed=protocol.seed or 0)
    return EarlyOdds(planned, odds[0], odds[1], left)
