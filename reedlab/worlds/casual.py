"""The usual home-made comparison: a fortnight of one habit, then a fortnight of the other, then a t-test.

It stands here to be measured against a fair plan in the same simulated worlds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from ..errors import InputError
from ..trial.arrays import FloatArray
from ..trial.world import World
from ..wording import tr
from .air import draw_days
from .reeds import draw_reeds, sunk, to_scale

__all__ = ["CasualResults", "casual_trials"]



@dataclass(frozen=True)
class CasualResults:
    """`n` casual trials: their daily ratings (n, days; nan: day off), and what a t-test made of them.

    `gap` is the mean of the second fortnight minus that of the first, `p_value` two-sided (n,).
    """

    ratings: FloatArray
    gap: FloatArray
    p_value: FloatArray

    def claims(self, at: float = 0.05) -> int:
        """Return in how many trials a difference would have been claimed."""
        return int(np.sum(self.p_value <= at))


def casual_trials(world: World, n: int, seed: int, *, days_each: int = 14, reeds: int = 1,
                  new_reeds: bool = False) -> CasualResults:
    """Simulate `n` casual comparisons: `days_each` days of habit A, then as many of B, one rating a day.

    The player keeps `reeds` reeds on the go, plays one a day in turn for the whole day's practice
    within its limit, and puts a broken-in reed in the place of one that is worn out or chipped. Mood, air,
    taste and wear go on as in any trial of the same world; the habit's own effect is `world`'s.

    Parameters
    ----------
    days_each : int
        Days of each habit.
    reeds : int
        Reeds on the go. One is the plain form of the comparison; common practice is 3 to 5.
    new_reeds : bool
        Start the second habit on new reeds ("to be fair to it").
    """
    if n < 1 or days_each < 2 or reeds < 1:
        raise InputError(tr("A casual comparison needs `n` and `reeds` of at least 1 and `days_each` of at least 2."))
    rng = np.random.default_rng(seed)
    total = 2 * days_each
    # enough reeds for every day to need a new one would be wasteful: a reed a place and ten spares
    stock = 2 * reeds + 10
    box = [str(1 + k // 10) for k in range(stock)]
    days = draw_days(world, n, total, int(rng.integers(1, 366)), rng)
    pool = draw_reeds(world, n, box, rng)
    run = np.arange(n)
    place = np.tile(np.arange(reeds)[:, None], (1, n))  # which reed of the stock lies in each place
    next_new = np.full(n, reeds)
    worn = np.full((stock, n), sum(world.ramp_min) / 60)
    low_run = np.zeros((stock, n), dtype=np.int_)
    noise = world.noise_sd * rng.standard_normal((total, n))
    ratings = np.full((total, n), np.nan)
    for t in range(total):
        second = t >= days_each
        if new_reeds and t == days_each:
            place = next_new + np.tile(np.arange(reeds)[:, None], (1, n))
            next_new = next_new + reeds
            place, next_new = np.minimum(place, stock - 1), np.minimum(next_new, stock - 1)
        k = place[t % reeds]
        level, gone = pool.level[k, run], worn[k, run]
        true = (level - sunk(world, level, pool.wear[k, run], pool.life_h[k, run], gone)
                + days.shift[t] + world.effect_points * second)
        up = ~days.off[t]
        ratings[t] = np.where(up, to_scale(true + noise[t], world.step, *world.ends), np.nan)
        hours = np.minimum(days.minutes[t], world.daily_limit_min) / 60 * up
        worn[k, run] = gone + hours / (world.effect_life if second else 1.0)
        low = np.where(up, np.where(ratings[t] < 4, low_run[k, run] + 1, 0), low_run[k, run])
        low_run[k, run] = low
        out = up & ((low >= 2) | (worn[k, run] >= pool.damage_h[k, run]))
        place[t % reeds] = np.where(out, next_new, k)
        next_new = np.minimum(next_new + out, stock - 1)
    return CasualResults(ratings.T, *_t_test(ratings[:days_each], ratings[days_each:]))


def _t_test(first: FloatArray, then: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the gap and the two-sided p of Student's t-test, column by column, missing days left out.

    Where it is undefined (fewer than two ratings, or all alike) nothing is claimed: p is 1.
    """
    counts = [np.isfinite(x).sum(axis=0) for x in (first, then)]
    enough = (counts[0] >= 2) & (counts[1] >= 2)
    means, spreads = [], []
    for x, m in zip((first, then), counts, strict=True):
        mean = np.nansum(x, axis=0) / np.maximum(m, 1)
        means.append(mean)
        spreads.append(np.sqrt(np.nansum((x - mean) ** 2, axis=0) / np.maximum(m - 1, 1)))
    with np.errstate(divide="ignore", invalid="ignore"):
        p = stats.ttest_ind_from_stats(means[1], spreads[1], counts[1], means[0], spreads[0], counts[0]).pvalue
    return means[1] - means[0], np.where(enough & np.isfinite(p), p, 1.0)
