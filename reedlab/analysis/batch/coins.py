"""The coins of simulated trials: their cells handed to the one reckoning (`analysis.units.coins`)."""

from __future__ import annotations

import numpy as np

from ...trial.arrays import FloatArray, IntArray
from ..shuffling.coin_odds import CoinOdds, bar_of, left_for_end
from ..units.coins import Coins, coins_of
from ..units.rating_values import Values
from .trials import BatchTrials

__all__ = ["batch_coins", "batch_odds", "left_for_ends"]

#: Ways the coins could have fallen that are drawn for each of thousands of trials: fewer than for one that is told.
_DRAWS = 2_000


def batch_coins(trials: BatchTrials, values: Values, share: FloatArray, rows: IntArray, day: int | None) -> Coins:
    """Return the coins of some of the trials; `share` (k, s) of each sitting that was done on B.

    `day`: as they stood on that trial day, once it was played; None: once the trial is over.
    """
    units = trials.protocol.units
    member = (trials.unit[:, None] == np.arange(len(units))).astype(float)
    plain = values.plain(np.where(values.there, values.rated, 0.0))
    effect = values.plain(np.where(values.there, share, 0.0))
    rated = values.there.astype(float) @ member
    return coins_of(units, trials.dealt_b[rows], values.present[rows], plain[rows], effect[rows],
                    values.values[rows], rated[rows]).closed(trials.protocol.days if day is None else day - 1)


def batch_odds(trials: BatchTrials, coins: Coins) -> CoinOdds:
    """Return the odds of the trials that the coins are of."""
    p = trials.protocol
    return CoinOdds(coins.gap, coins.turn, coins.full, matters=p.matters, bar=bar_of(1 - p.level))


def left_for_ends(odds: CoinOdds, coins: Coins, alpha: float, seed: int | None) -> FloatArray:
    """Return what the odds leave for the planned end of each trial."""
    return np.array([left_for_end(odds, i, coins.final[i], alpha=alpha, draws=_DRAWS, seed=seed or 0)
                     for i in range(len(odds))])
