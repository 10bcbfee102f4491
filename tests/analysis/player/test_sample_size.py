"""Closed-form sample sizes against published values and a second computation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from reedlab.analysis.player import sample_size as ss
from reedlab.errors import InputError


def test_pairs_needed_for_a_medium_effect_is_the_textbook_number() -> None:
    # Cohen 1988; R: power.t.test(delta = .5, power = .8, type = "paired") gives n = 33.36713
    assert ss.pairs_needed(0.5, 1.0) == pytest.approx(33.367, abs=5e-4)


def test_the_number_of_pairs_depends_only_on_difference_over_spread() -> None:
    assert ss.pairs_needed(1.0, 2.0) == pytest.approx(ss.pairs_needed(-0.5, 1.0))


def test_pairs_both_ways_undo_each_other() -> None:
    for n in (2, 5, 14, 60):
        found = ss.pairs_difference(n, 1.7, chance=0.9)
        assert ss.pairs_needed(found, 1.7, chance=0.9) == pytest.approx(n, rel=1e-6)
        assert ss.pairs_chance(n, found, 1.7) == pytest.approx(0.9)


def test_two_groups_needed_is_the_textbook_number_and_undoes_itself() -> None:
    # R: power.t.test(delta = .5, power = .8) gives n = 63.76561 in each group; Cohen 1988 tables give 64
    assert ss.two_groups_needed(0.5, 1.0) == pytest.approx(63.7656, abs=5e-4)
    found = ss.two_groups_difference(8, 1.2)
    assert ss.two_groups_chance(8, found, 1.2) == pytest.approx(0.8)


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


def test_schoenfeld_and_freedman_events_for_hazard_ratio_two() -> None:
    # Schoenfeld 1981: 4 (1.959964 + 0.841621)^2 / log(2)^2; Freedman 1982: (same z)^2 * 9; computed
    assert ss.schoenfeld_events(2.0) == pytest.approx(65.35, abs=0.005)
    assert ss.freedman_events(2.0) == pytest.approx(70.64, abs=0.005)


def test_a_hazard_ratio_and_its_inverse_need_the_same_events() -> None:
    assert ss.schoenfeld_events(0.5) == pytest.approx(ss.schoenfeld_events(2.0))
    assert ss.freedman_events(0.5) == pytest.approx(ss.freedman_events(2.0))


def test_hazard_ratio_is_the_ratio_of_weibull_hazards() -> None:
    shape, ratio, t = 2.0, 1.4, np.array([1.0, 8.0, 30.0])
    a, b = stats.weibull_min(shape, scale=18.0), stats.weibull_min(shape, scale=18.0 * ratio)
    hazards = (a.pdf(t) / a.sf(t)) / (b.pdf(t) / b.sf(t))
    assert np.allclose(hazards, ss.hazard_ratio(ratio, shape))


def test_lives_both_ways_undo_each_other() -> None:
    ratio = ss.life_ratio_found(40, 2.0)
    assert ss.lives_chance(40, ratio, 2.0) == pytest.approx(0.8)
    assert ss.schoenfeld_events(ss.hazard_ratio(ratio, 2.0)) == pytest.approx(40)


def test_nothing_to_find_needs_endless_numbers() -> None:
    assert ss.pairs_needed(0.0, 1.0) == math.inf
    assert ss.two_groups_needed(0.0, 1.0) == math.inf
    assert ss.schoenfeld_events(1.0) == ss.freedman_events(1.0) == math.inf
    assert ss.life_ratio_found(0, 2.0) == math.inf
    assert ss.pairs_chance(10, 0.0, 1.0) == pytest.approx(0.05)


def test_huge_effects_need_two_pairs_and_are_certain() -> None:
    assert ss.pairs_needed(500.0, 1.0) == 2.0
    assert ss.pairs_chance(1000, 50.0, 1.0) == 1.0


@pytest.mark.parametrize("call", [
    lambda: ss.pairs_needed(1.0, 0.0),
    lambda: ss.pairs_needed(1.0, math.nan),
    lambda: ss.pairs_needed(1.0, 1.0, chance=80),
    lambda: ss.pairs_chance(1, 1.0, 1.0),
    lambda: ss.two_groups_needed(1.0, 1.0, level=95),
    lambda: ss.schoenfeld_events(0.0),
    lambda: ss.schoenfeld_events(2.0, share_b=1.0),
    lambda: ss.hazard_ratio(1.5, 0.0),
])
def test_values_out_of_range_are_named(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=r"`\w+` must"):
        call()
