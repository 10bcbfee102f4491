"""What it takes to learn about lives: how many reeds, and how long, for one player's hours."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..analysis.batch.by_unit import batch_lives
from ..analysis.shuffling.deals import Deals
from ..analysis.shuffling.life_ratios import LifeRatios
from ..trial.outlook import LifeNeeds
from ..trial.protocol import Habit, Protocol, Unit
from ..wording import tr
from ..worlds import World, batch_trials, simulate
from .slots import even_slots

__all__ = ["life_needs"]

_SET = 10  # reeds of one box, dealt five and five
_MOST = 320  # more reeds than anybody will wear out
_SHARE = 0.8  # reeds are played until about this share would be worn out
_POOL, _RUNS = 20, 150  # reeds of the plan that is played, and how often: 1500 lives for each way
_A_DAY = 4
_SAMPLES = 1_000
_CHANCE, _LEVEL = 0.8, 0.95
_SEED = 0  # always the same: one player is told one number


@dataclass(frozen=True)
class _Pool:
    """Reeds played to their end or the plan's: hours and whether worn out, (2, reeds), first way and second."""

    hours: npt.NDArray[np.float64]
    worn_out: npt.NDArray[np.bool_]
    days_a_reed: float


@lru_cache(maxsize=32)
def life_needs(world: World, *, ratio: float, minutes_a_day: float, trials: int = 300) -> LifeNeeds:
    """Return how many reeds, in boxes of ten, and how many days find a true ratio of lives 80 times in 100.

    Twenty reeds are played sitting by sitting, many times over, until most of them are worn out by the
    plan's rule. Trials of any size are then drawn from these lives and go through the shuffling test of the
    end. That reeds of one trial share their days is left out, and no minute is lost while reeds come and go.

    Parameters
    ----------
    world : World
        The player and the reeds.
    ratio : float
        True ratio of lives, above 1.
    minutes_a_day : float
        All of it on these reeds.
    trials : int
        Simulated trials of each size.
    """
    pool = _play(world.but(minutes_a_day=minutes_a_day, effect_life=ratio))

    def enough(boxes: int) -> bool:
        return _found(pool, boxes, trials, np.random.default_rng([_SEED, boxes])) >= _CHANCE

    high = 1
    while not enough(high):
        high *= 2
        if high * _SET > _MOST:
            return LifeNeeds(ratio, _CHANCE, minutes_a_day, None, None, math.nan, _MOST)
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    reeds = high * _SET
    return LifeNeeds(ratio, _CHANCE, minutes_a_day, reeds, math.ceil(reeds * pool.days_a_reed),
                     reeds * float(pool.worn_out.mean()), _MOST)


def _play(world: World) -> _Pool:
    hours = world.life_scale_h * (-math.log(1 - _SHARE)) ** (1 / world.life_shape)
    # Together the two ways last longer than the first alone, and days off count as days.
    days = math.ceil(_POOL * hours * math.sqrt(world.effect_life) * 60 / world.minutes_a_day / (1 - world.day_off))
    reeds = tuple(f"1-{i + 1:02d}" for i in range(_POOL))
    slots = even_slots((reeds,), days, _A_DAY, np.random.default_rng([_SEED, 2]))
    protocol = Protocol(
        trial="lives", question="own", ask=tr("Which way makes reeds last longer?"), instrument="clarinet",
        habits=(Habit("first", tr("the first way")), Habit("second", tr("the second way"))), design="reed_by_reed",
        outcome="life_hours", matters=max(1.01, world.effect_life), start=date(2001, 1, 1), days=days,
        units=tuple(Unit(r, "1", (r,)) for r in reeds), dealt=("first", "second") * (_POOL // 2), slots=slots)
    trials = batch_trials(simulate(protocol, world, _RUNS, _SEED, fresh_deals=True))
    lives = batch_lives(trials)
    side = [trials.dealt_b == b for b in (False, True)]
    return _Pool(np.stack([lives.hours[s] for s in side]), np.stack([lives.worn_out[s] for s in side]),
                 float(lives.hours.mean()) * 60 / world.minutes_a_day / (1 - world.day_off))


def _found(pool: _Pool, boxes: int, trials: int, rng: np.random.Generator) -> float:
    """Return how often trials of so many boxes name the second way."""
    n, half = boxes * _SET, _SET // 2
    is_b = np.tile(np.repeat([False, True], half), boxes)
    block: list[Hashable] = [i // _SET for i in range(n)]
    pick = rng.integers(pool.hours.shape[1], size=(trials, n))
    row = is_b.astype(int)
    hours = np.maximum(pool.hours[row, pick], 1e-6)
    deals = Deals.whole(np.broadcast_to(is_b, hours.shape), block, limit=_SAMPLES, samples=_SAMPLES)
    longer, shorter = LifeRatios(hours, pool.worn_out[row, pick], deals).tails(1.0)
    return float(((2 * longer <= 1 - _LEVEL + 1e-12) & (longer < shorter)).mean())
