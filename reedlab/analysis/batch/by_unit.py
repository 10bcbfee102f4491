"""What was written down in simulated trials, unit by unit: handed to the one reckoning in `analysis.units`.

A cell is a sitting.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ..shuffling.coin_odds import CoinOdds, bar_of, left_for_end
from ..units.adjust import adjustments
from ..units.blind import playing_hours
from ..units.coins import Coins, coins_of
from ..units.left_out import GIVEN_UP, in_halves, missing_and_due, unit_groups
from ..units.life_values import Ends, Rule, ends_of
from ..units.rating_values import Rated, Values, values_of
from .trials import BatchTrials

__all__ = ["batch_coins", "batch_lives", "batch_odds", "batch_values", "given_up_by_unit", "left_for_ends",
           "missing_by_unit", "unrated_low"]

#: Ways the coins could have fallen that are drawn for each of thousands of trials: fewer than for one that is told.
_DRAWS = 2_000


def batch_values(trials: BatchTrials) -> Values:
    """Return the plan's rating outcome for k trials, adjusted as the plan says."""
    p = trials.protocol
    adjust = adjustments(p)
    n, unit = len(p.units), trials.unit
    hours, total, before = np.zeros((1, 1)), np.zeros((1, n)), np.zeros((1, n))
    if p.design == "reed_by_reed":
        unit = np.argsort(trials.reed_of)[trials.reed]
        hours, after = playing_hours(trials.reed, trials.minutes)
        total = np.zeros((len(trials), n))
        for u in np.unique(unit):
            total[:, u] = after[:, np.flatnonzero(unit == u)[-1]]
        before = trials.first_play[:, trials.reed_of]
    elif "age_hours" in adjust:
        hours, _ = playing_hours(trials.reed, trials.minutes)
    facts = {"day": lambda: trials.day.astype(float), "order": lambda: trials.order.astype(float),
             "humidity": lambda: trials.humidity[:, trials.day - 1], "age_hours": lambda: hours}
    return values_of(Rated(
        units=p.units, squares=p.unit_kind == "diagonal", reed=trials.reed, unit=unit, rating=trials.scores,
        count=np.ones((1, 1)), hours=hours, total=total, before=before,
        facts={a: facts[a]() for a in adjust if a in facts},
        half=None if p.halves is None else p.halves.of(trials.day)), p.outcome, adjust)


def batch_lives(trials: BatchTrials) -> Ends:
    """Return the playing hours until worn out, or while good, by the plan's rule."""
    p = trials.protocol
    # the rule reads the overall rating, whatever the plan rates besides
    reads = p.ends_by_ratings and p.rating == "overall"
    return ends_of(
        np.argsort(trials.reed_of)[trials.reed], playing_hours(trials.reed, trials.minutes)[1],
        np.where(trials.counted, trials.rating, np.nan) if reads else None, trials.left_why[:, trials.reed_of],
        p.blocks, Rule(p.life_mark, p.in_a_row, p.worn_out_rule == "player", p.cap_hours, p.same_days))


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


def missing_by_unit(trials: BatchTrials, day: int | None = None) -> tuple[FloatArray, FloatArray]:
    """Return ratings missing and ratings due of each unit, (k, n) each, read at the end of a trial day."""
    p = trials.protocol
    rated = np.isfinite(trials.scores) & (trials.unit >= 0)
    left = trials.left_day[:, trials.reed]
    due = (trials.unit >= 0) & ((left == 0) | (trials.day <= left))
    if p.cap_hours is not None:
        due &= playing_hours(trials.reed, trials.minutes)[0] < p.cap_hours - 1e-6
    if day is not None:
        due &= (trials.day < day) | ((trials.day == day) & rated)
    rated &= due
    group, n = unit_groups(p.halves, trials.unit, trials.day, trials.dealt_b.shape[1])
    return missing_and_due(due, rated, group, trials.day, n, by_day=p.unit_kind == "sitting")


def given_up_by_unit(trials: BatchTrials, worn_out: BoolArray | None = None) -> FloatArray:
    """Return 1 for each unit whose reed was given up by choice, (k, n), or (k, 2n) in halves; reed by reed.

    `worn_out` (k, n): of lives, the rule was met; a reed retired as worn out without it was given up.
    """
    why = trials.left_why[:, trials.reed_of]
    gone = np.isin(why, GIVEN_UP)
    if trials.protocol.halves is not None:
        return in_halves(gone, trials.protocol.halves.second(trials.left_day[:, trials.reed_of])).astype(float)
    if worn_out is not None:
        gone = (gone | (why == "worn_out")) & ~worn_out
    return gone.astype(float)


def unrated_low(trials: BatchTrials) -> BatchTrials:
    """Return the trials with every unrated sitting rated below any mark."""
    return replace(trials, rating=np.where(trials.counted & np.isnan(trials.rating), -1.0, trials.rating))
