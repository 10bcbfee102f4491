"""Hours left and the next box: the closed form against draws, and whether the width keeps its promise."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reedlab.analysis.player.spreads import Estimate
from reedlab.reedcase.lasting import LOW, LifeBelief, belief, left, reserve, span

SHAPE = 2.0


def estimate(value: float, worn: int) -> Estimate:
    return Estimate("life_median_h", 15.0, value, value, 0.2, 0.5, worn)


def test_belief_keeps_the_median_it_was_made_from() -> None:
    b = belief(estimate(15.0, 8), SHAPE)
    assert b.alpha == 10
    mean_rate = b.alpha / b.beta
    assert math.exp(-mean_rate * 15.0**SHAPE) == pytest.approx(0.5)


@pytest.mark.parametrize("played", [0.0, 5.0, 20.0])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_hours_left_agree_with_draws_of_rate_and_life(played: float, share: float) -> None:
    b = LifeBelief(6.0, 1500.0, SHAPE, 4)
    rng = np.random.default_rng(4)
    rate = rng.gamma(b.alpha, 1 / b.beta, 400_000)
    life = (played**SHAPE + rng.exponential(1, 400_000) / rate) ** (1 / SHAPE) - played
    assert left(b, played, share) == pytest.approx(np.quantile(life, share), rel=0.02)


def test_older_reeds_have_fewer_hours_left_and_more_worn_out_reeds_narrow_the_range() -> None:
    young, old = span(belief(estimate(15, 3), SHAPE), 0.0), span(belief(estimate(15, 3), SHAPE), 15.0)
    assert old.low < young.low
    assert old.high < young.high
    few, many = span(belief(estimate(15, 0), SHAPE), 5.0), span(belief(estimate(15, 60), SHAPE), 5.0)
    assert many.high - many.low < few.high - few.low


def test_range_holds_the_truth_about_four_times_in_five() -> None:
    rng = np.random.default_rng(8)
    inside, total, scale_events = 0, 0, 2.0
    for _ in range(1500):  # players drawn from the prior, eight worn-out reeds each, then one more reed
        rate = rng.gamma(scale_events, 1 / (scale_events * 18.0**SHAPE))
        seen = rng.exponential(1, 8) / rate
        b = LifeBelief(scale_events + 8, scale_events * 18.0**SHAPE + seen.sum(), SHAPE, 8)
        played = 4.0
        life = (played**SHAPE + rng.exponential() / rate) ** (1 / SHAPE) - played
        s = span(b, played)
        inside += s.low <= life <= s.high
        total += 1
    assert inside / total == pytest.approx(1 - 2 * LOW, abs=0.035)


def test_reserve_agrees_with_playing_the_reeds_in_turn_hour_by_hour() -> None:
    b = LifeBelief(400.0, 400 * 16.0**SHAPE, SHAPE, 398)  # lives all but known
    ages, hours_a_day, least = [0.0, 2.0, 5.0, 9.0, 1.0], 1.0, 3
    rng = np.random.default_rng(1)
    days = []
    for _ in range(600):
        lives = [(a**SHAPE + rng.exponential() * 16.0**SHAPE) ** (1 / SHAPE) for a in ages]
        now, day, step = list(ages), 0.0, 0.05
        while sum(n < t for n, t in zip(now, lives, strict=True)) >= least:
            alive = [i for i, (n, t) in enumerate(zip(now, lives, strict=True)) if n < t]
            for i in alive:
                now[i] += step * hours_a_day / len(alive)
            day += step
        days.append(day)
    got = reserve(b, ages, hours_a_day, least)
    assert got is not None
    assert got.low == pytest.approx(np.quantile(days, 0.1), rel=0.15)
    assert got.high == pytest.approx(np.quantile(days, 0.9), rel=0.08)


def test_too_few_reeds_have_no_reserve() -> None:
    assert reserve(LifeBelief(2, 650, 2, 0), [1.0, 2.0], 1.0, 3) is None
