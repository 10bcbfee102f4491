"""The casual comparison beside the fair plan: how often each names a way where there is none."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from reedlab.analysis.batch import judge_batch
from reedlab.errands.why import fair_plan
from reedlab.worlds import World, batch_trials, simulate

from .casual import FalseAlarms, false_alarms, judge_fairly


@pytest.mark.parametrize(("claims", "players", "low", "high"), [
    (0, 10, 0.0, 0.3085), (1, 10, 0.0025, 0.4450), (3, 10, 0.0667, 0.6525), (5, 10, 0.1871, 0.8129)])
def test_the_range_of_a_share_is_clopper_and_pearsons(claims: int, players: int, low: float, high: float) -> None:
    """Exact binomial ranges, Clopper & Pearson 1934; values computed from the beta quantiles."""
    f = FalseAlarms.of("x", players, claims)
    assert (f.low, f.high) == pytest.approx((low, high), abs=5e-5)
    assert f.share == claims / players


def test_side_by_side_the_casual_comparison_misleads_many_and_the_fair_plan_few() -> None:
    """A thousand players a way; the full run is tests/benchmarks/casual.py."""
    found = false_alarms(1000, 20260301)
    assert [f.players for f in found] == [1000] * len(found)
    assert found[0].claims >= 250
    assert found[-1].method.startswith("reedlab")
    assert found[-1].low <= 0.05


def test_the_fair_plan_misleads_at_most_five_and_a_half_in_a_hundred() -> None:
    """Its own shuffling test on 1,500 players a world; in one world bad days decide."""
    for world in (World(), World(adherence=0.7, bad_days_decide=True, effect_points=0.0)):
        b = simulate(fair_plan(1), world, 1500, 2, fresh_deals=True)
        claims = int((judge_batch(batch_trials(b), full=True).p_value <= 0.05 + 1e-12).sum())
        low, _ = proportion_confint(claims, 1500, alpha=0.01, method="beta")
        assert low <= 0.05


def test_the_full_analysis_finds_a_large_true_difference_and_its_side() -> None:
    w = World(effect_points=3.0, level=5.0, adherence=1.0)
    verdicts = judge_fairly(simulate(fair_plan(1), w, 8, 3, fresh_deals=True))
    assert np.mean([v == "b_better" for v in verdicts]) > 0.8


def test_a_world_with_an_effect_has_no_false_alarms_to_count() -> None:
    with pytest.raises(ValueError, match="effect"):
        false_alarms(10, 1, world=World(effect_points=1.0))
