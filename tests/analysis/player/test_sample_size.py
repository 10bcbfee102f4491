"""Closed-form chances against published values and a second computation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from reedlab.analysis.player import sample_size as ss


def test_pairs_for_a_medium_effect_have_the_textbook_chance() -> None:
    # Cohen 1988; R: power.t.test(delta = .5, power = .8, type = "paired") gives n = 33.36713
    assert ss.pairs_chance(33.36713, 0.5, 1.0) == pytest.approx(0.8, abs=1e-6)
    assert ss.pairs_chance(33.36713, -1.0, 2.0) == pytest.approx(0.8, abs=1e-6)


def test_two_groups_have_the_textbook_chance() -> None:
    # R: power.t.test(delta = .5, power = .8) gives n = 63.76561 in each group; Cohen 1988 tables give 64
    assert ss.two_groups_chance(63.76561, 0.5, 1.0) == pytest.approx(0.8, abs=1e-6)


def test_paired_chance_agrees_with_the_noncentral_t_written_out() -> None:
    n, d = 9, 0.8
    crit = stats.t.isf(0.025, n - 1)
    shift = d * math.sqrt(n)
    by_hand = stats.nct.sf(crit, n - 1, shift) + stats.nct.cdf(-crit, n - 1, shift)
    assert ss.pairs_chance(n, d, 1.0) == pytest.approx(by_hand, abs=1e-9)


def test_paired_chance_agrees_with_simulated_t_tests() -> None:
    rng = np.random.default_rng(1)
    p = stats.ttest_1samp(rng.normal(0.9, 1.3, size=(20000, 10)), 0, axis=1).pvalue
    share, want = float(np.mean(p <= 0.05)), ss.pairs_chance(10, 0.9, 1.3)
    assert abs(share - want) < 4 * math.sqrt(want * (1 - want) / 20000)


def test_the_published_number_of_events_has_the_chance_it_was_made_for() -> None:
    # Schoenfeld 1981, hazard ratio 2, 80 %: 4 (1.959964 + 0.841621)^2 / log(2)^2 = 65.35, computed
    assert ss.lives_chance(65.35, 2.0, 1.0) == pytest.approx(0.8, abs=1e-4)
    assert ss.lives_chance(65.35, 0.5, 1.0) == pytest.approx(0.8, abs=1e-4)
    assert ss.lives_chance(65.35 / 4, 2.0, 2.0) == pytest.approx(0.8, abs=1e-4)  # hazards in the ratio 4


def test_weibull_lives_stretched_by_a_ratio_have_hazards_in_its_power() -> None:
    shape, ratio, t = 2.0, 1.4, np.array([1.0, 8.0, 30.0])
    a, b = stats.weibull_min(shape, scale=18.0), stats.weibull_min(shape, scale=18.0 * ratio)
    hazards = (a.pdf(t) / a.sf(t)) / (b.pdf(t) / b.sf(t))
    assert [ss.lives_chance(30, h, 1.0) for h in hazards] == pytest.approx([ss.lives_chance(30, ratio, shape)] * 3)


def test_no_difference_is_found_by_luck_only_and_a_huge_one_always() -> None:
    assert ss.pairs_chance(10, 0.0, 1.0) == pytest.approx(0.05)
    assert ss.pairs_chance(1000, 50.0, 1.0) == 1.0
    assert ss.lives_chance(40, 1.0, 2.0) == pytest.approx(0.025)  # the far tail is left out
