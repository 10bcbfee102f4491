"""Earlier reeds beside a test of lives: the scores, their fit, and that the test stays exact at every ratio."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_ratios import LifeRatios
from reedlab.analysis.shuffling.life_scores import scores
from reedlab.analysis.shuffling.past_lives import PastLives

BOX = ["1"] * 8
DEALS = np.array([[i in b for i in range(8)] for b in itertools.combinations(range(8), 4)])


def drawn(seed: int, m: int = 15, longer: float = 1.0) -> PastLives:
    rng = np.random.default_rng(seed)
    return PastLives(longer * 12 * rng.weibull(2, m), rng.random(m) < 0.8)


def by_hand(hours: list[float], worn: list[bool], past: PastLives) -> list[float]:
    """One reed after the other, one time after the other, in plain Python."""
    shape, scale = past.weibull
    due = sum((t / math.exp(scale))**shape for t in hours)
    factor = min(1.0, (due / (sum(worn) + 0.5))**(1 / shape))
    every = [*zip(hours, worn, strict=True), *((t * factor, bool(e)) for t, e in zip(
        past.hours, past.worn_out, strict=True))]
    out = []
    for t, e in zip(hours, worn, strict=True):
        risk = 0.0
        for at in sorted({x for x, y in every if y and x <= t}):
            risk += sum(y and x == at for x, y in every) / sum(x >= at for x, _ in every)
        out.append(e - risk)
    return out


@pytest.mark.parametrize("longer", [0.5, 1.0, 3.0])
def test_scores_are_those_reckoned_by_hand(longer: float) -> None:
    rng = np.random.default_rng(4)
    past = drawn(1, longer=longer)
    for _ in range(20):
        t, e = 10 * rng.weibull(2, 8), rng.random(8) < 0.7
        found = past.scores(np.log(t)[None], e[None])[0]
        assert found == pytest.approx(by_hand(t.tolist(), e.tolist(), past), abs=1e-12)


def test_equal_hours_are_one_time_where_nothing_is_shortened() -> None:
    past = PastLives(np.array([2.0, 3.0, 3.0, 4.0]), np.array([True, True, True, False]))
    t, e = np.array([3.0, 6.0, 9.0, 12.0]), np.array([True, False, True, False])
    assert past.shortened(np.log(t)[None], e[None])[0] == 0
    risk = [1 / 8, 3 / 7, 1 / 2]  # at 2, 3 and 9 hours
    assert past.scores(np.log(t)[None], e[None])[0] == pytest.approx(
        [1 - risk[0] - risk[1], -risk[0] - risk[1], 1 - sum(risk), -sum(risk)])


@pytest.mark.parametrize("seed", range(4))
def test_the_weibull_life_is_the_likeliest_one(seed: int) -> None:
    """Against the general fit of censored data in SciPy (`stats.CensoredData`), which climbs the likelihood itself."""
    past = drawn(seed, 40)
    shape, scale = past.weibull
    fitted = stats.weibull_min.fit(
        stats.CensoredData(uncensored=past.hours[past.worn_out], right=past.hours[~past.worn_out]), floc=0)
    assert (shape, math.exp(scale)) == pytest.approx((fitted[0], fitted[2]), rel=2e-3)


def test_reeds_that_lasted_longer_are_shortened_to_fit_and_shorter_ones_left_alone() -> None:
    rng = np.random.default_rng(5)
    t, worn = 10 * rng.weibull(2, (1, 4000)), np.ones((1, 4000), dtype=bool)
    for longer, factor in ((2.0, 1 / 2), (0.5, 1.0)):
        past = PastLives(longer * 10 * rng.weibull(2, 4000), np.ones(4000, dtype=bool))
        assert np.exp(past.shortened(np.log(t), worn)[0]) == pytest.approx(factor, rel=0.05)


def test_nobody_is_told_apart_by_a_reed_that_does_not_count() -> None:
    past, rng = drawn(2), np.random.default_rng(6)
    t, e = 10 * rng.weibull(2, 8), np.array([True] * 6 + [False] * 2)
    out = np.log(t)
    out[7] = -1e300
    assert past.scores(out[None], e[None])[0][:7] == pytest.approx(past.scores(np.log(t[:7])[None], e[:7][None])[0])


@pytest.mark.parametrize("watched", [None, 9.0])
@pytest.mark.parametrize("ratio", [0.55, 1.0, 1.8])
@pytest.mark.parametrize("longer", [1.0, 2.5])
def test_over_all_deals_the_true_ratio_is_ruled_out_no_more_often_than_promised(
        watched: float | None, ratio: float, longer: float) -> None:
    rng = np.random.default_rng(round(100 * ratio))
    life = 10 * rng.weibull(2, 8) * np.where(DEALS, ratio, 1.0)
    hours, worn = life, rng.random(8)[None] < np.where(np.ones(DEALS.shape), 0.85, 0)
    limit = None
    if watched is not None:
        limit = np.full(DEALS.shape, watched)
        hours, worn = np.minimum(life, limit), worn & (life <= limit)
        hours = np.where(worn, hours, limit)  # all others were watched to the end
    test = LifeRatios(hours, worn, Deals.whole(DEALS, BOX), watched=limit, past=drawn(3, longer=longer))
    up, down = test.tails(ratio)
    for tail in (up, down):
        for alpha in (0.01, 0.025, 0.05, 0.1, 0.3, 0.5):
            assert (tail <= alpha + 1e-12).mean() <= alpha + 1e-12
        assert np.unique(np.round(tail, 12)).size > 3  # it tells them apart


@pytest.mark.parametrize("watched", [None, 11.0])
@pytest.mark.parametrize("seed", range(3))
def test_the_range_holds_what_a_fine_search_finds(watched: float | None, seed: int) -> None:
    rng = np.random.default_rng(seed)
    is_b = DEALS[rng.integers(70)][None]
    life = 8 * rng.weibull(2, (1, 8)) * np.where(is_b, 1.4, 1.0)
    limit = None if watched is None else np.full((1, 8), watched)
    hours, worn = (life, np.ones((1, 8), dtype=bool)) if limit is None else (np.minimum(life, limit), life <= limit)
    test = LifeRatios(hours, worn, Deals.whole(is_b, BOX), watched=limit, past=drawn(seed + 10, 12, 1.5))
    found = test.in_full(0, level=0.9)
    scan = test.scan(0)
    first, last = (0, len(scan.points) - 1) if watched is None else scan.span
    tried = np.exp(np.linspace(np.log(scan.points[first]), np.log(scan.points[last]), 8000))
    up, down = test.tails(tried, np.zeros(tried.size, dtype=np.intp))  # all of the one trial
    kept = 2 * np.minimum(up, down) > 0.1 + 1e-12
    inside = (tried >= found.low * (1 - 1e-9)) & (tried <= found.high * (1 + 1e-9))
    assert not kept[~inside].any()
    step = tried[1] / tried[0]
    for end, outermost in ((found.low, tried[kept].min()), (found.high, tried[kept].max())):
        assert end in (0.0, math.inf) or 1 / step <= end / outermost <= step
    assert found.low < found.estimate < found.high


def test_without_earlier_reeds_nothing_changes_and_with_very_many_scores_are_those_of_their_life() -> None:
    rng = np.random.default_rng(8)
    t, e = 10 * rng.weibull(2, (1, 10)), rng.random((1, 10)) < 0.7
    many = PastLives(10 * rng.weibull(2, 60_000) * 0.9, np.ones(60_000, dtype=bool))
    assert many.scores(np.log(t), e)[0] == pytest.approx((e - (t / 9)**2)[0], rel=0.1, abs=0.05)
    plain = LifeRatios(t, e, Deals.whole(np.arange(10)[None] < 5, ["1"] * 10))
    assert plain.tails(1.0)[0] == pytest.approx(LifeRatios(t, e, plain.deals, past=None).tails(1.0)[0])
    assert scores(np.log(t), e).sum() == pytest.approx(0)
