"""The shuffling tests' simulated power nears the closed forms as numbers grow (normal values, no censoring)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reedlab.analysis.player.sample_size import lives_chance, pairs_chance, two_groups_chance
from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_ratios import LifeRatios

from .shuffling._many import p_values


def within(share: float, theory: float, runs: int, slack: float) -> bool:
    return abs(share - theory) < 4 * math.sqrt(theory * (1 - theory) / runs) + slack


@pytest.mark.parametrize(("pairs", "gap", "slack"), [(10, 1.41, 0.02), (40, 0.64, 0.005)])
def test_pairs_reach_the_power_of_the_paired_t_test(pairs: int, gap: float, slack: float) -> None:
    runs, rng = 3000, np.random.default_rng(11)
    is_b, block = np.tile([False, True], pairs), np.repeat(np.arange(pairs), 2)
    y = rng.standard_normal((runs, 2 * pairs)) + gap * is_b
    p = p_values(y, is_b, block, limit=2**12, samples=4000)
    assert within(float(np.mean(p <= 0.05)), pairs_chance(pairs, gap, math.sqrt(2)), runs, slack)


def test_two_groups_reach_the_power_of_the_t_test() -> None:
    runs, each, rng = 3000, 30, np.random.default_rng(12)
    is_b = np.tile([False, True], each)
    y = rng.standard_normal((runs, 2 * each)) + 0.7 * is_b
    p = p_values(y, is_b, limit=2**12, samples=4000)
    assert within(float(np.mean(p <= 0.05)), two_groups_chance(each, 0.7, 1.0), runs, 0.005)


def test_lives_reach_the_power_of_the_events_formula() -> None:
    runs, each, rng, shape, ratio = 1500, 60, np.random.default_rng(13), 2.0, 1.3
    is_b = np.tile([False, True], each)
    hours = 15 * rng.weibull(shape, (runs, 2 * each)) * np.where(is_b, ratio, 1.0)
    deals = Deals.whole(np.broadcast_to(is_b, hours.shape), np.zeros(2 * each), limit=2**12, samples=3000)
    p = 2 * np.minimum(*LifeRatios(hours, np.ones(hours.shape, dtype=bool), deals).tails(1.0))
    assert within(float(np.mean(p <= 0.05)), lives_chance(2 * each, ratio, shape), runs, 0.01)
