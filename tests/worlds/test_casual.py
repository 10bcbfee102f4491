from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from reedlab.errors import InputError
from reedlab.worlds import World
from reedlab.worlds.casual import casual_trials

STILL = World(day_off=0, mood_sd=0, taste_sd=0, air_points_sd=0, life_median_h=1000, wear_per_hour=0, wear_sd=0,
              damage_share=0, level=5.0, box_sd=0, reed_sd=0.2)


def test_the_t_test_is_scipys() -> None:
    """Column by column, days off left out, as scipy.stats.ttest_ind says."""
    r = casual_trials(World(), 40, 1)
    for i in range(40):
        x, y = r.ratings[i, :14], r.ratings[i, 14:]
        x, y = x[np.isfinite(x)], y[np.isfinite(y)]
        assert r.p_value[i] == pytest.approx(stats.ttest_ind(y, x).pvalue)
        assert r.gap[i] == pytest.approx(y.mean() - x.mean())


def test_where_nothing_drifts_and_one_reed_lasts_the_t_test_keeps_its_promise() -> None:
    """The engine of the false alarms is drift and reeds, not the t-test: without them it errs 5 times in 100."""
    r = casual_trials(STILL, 4000, 2)
    assert r.claims() / 4000 == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 4000))


def test_with_the_usual_drift_and_one_reed_at_a_time_a_quarter_to_a_half_are_misled() -> None:
    r = casual_trials(World(), 2000, 20260301)
    assert 0.25 <= r.claims() / 2000 <= 0.5


def test_the_same_seed_gives_the_same_players() -> None:
    np.testing.assert_array_equal(casual_trials(World(), 20, 3).p_value, casual_trials(World(), 20, 3).p_value)


def test_a_true_effect_is_in_the_second_fortnight() -> None:
    r = casual_trials(STILL.but(effect_points=1.5), 500, 4)
    assert r.gap.mean() == pytest.approx(1.5, abs=0.07)


def test_more_reeds_in_turn_mislead_fewer() -> None:
    few, many = (casual_trials(World(), 4000, 5, reeds=k).claims() for k in (1, 4))
    assert many < few


def test_ratings_all_alike_claim_nothing() -> None:
    r = casual_trials(STILL.but(noise_sd=0, reed_sd=0), 10, 6)
    assert (r.p_value == 1).all()


def test_a_comparison_without_days_is_refused() -> None:
    with pytest.raises(InputError, match="days_each"):
        casual_trials(World(), 10, 1, days_each=1)
