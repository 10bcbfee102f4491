from __future__ import annotations

import numpy as np
import pytest

from reedlab.worlds import World
from reedlab.worlds.air import autocorrelated, draw_days


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.7, 0.97])
def test_series_have_the_wished_spread_and_autocorrelation(rho: float) -> None:
    x = autocorrelated(30, 20_000, 2.0, rho, np.random.default_rng(1))
    assert x.std(axis=1) == pytest.approx(np.full(30, 2.0), rel=0.03)
    assert np.corrcoef(x[9], x[10])[0, 1] == pytest.approx(rho, abs=0.03)
    assert np.corrcoef(x[9], x[12])[0, 1] == pytest.approx(rho**3, abs=0.03)


def test_the_air_has_seasons() -> None:
    """Humidity is lowest in winter and highest half a year later, by twice the swing."""
    w = World()
    winter = draw_days(w, 20_000, 1, 20, np.random.default_rng(2)).humidity_pct.mean()
    summer = draw_days(w, 20_000, 1, 20 + 183, np.random.default_rng(3)).humidity_pct.mean()
    assert winter == pytest.approx(w.humidity_pct - w.humidity_season, abs=0.5)
    assert summer == pytest.approx(w.humidity_pct + w.humidity_season, abs=0.5)


def test_what_the_air_does_has_no_sign_built_in() -> None:
    """Over players, rating shift and humidity are unrelated; for single players they are related."""
    w = World(mood_sd=0.0, taste_sd=0.0, air_points_sd=0.5)
    d = draw_days(w, 3000, 60, 110, np.random.default_rng(4))
    dry = d.humidity_pct - w.humidity_pct
    slope = (d.shift * dry).sum(axis=0) / (dry**2).sum(axis=0)
    assert slope.mean() == pytest.approx(0, abs=4 * 0.05 / np.sqrt(3000))
    assert slope.std() == pytest.approx(0.05, rel=0.06)


def test_days_off_and_minutes_come_as_often_and_as_long_as_the_world_says() -> None:
    w = World(day_off=0.2, minutes_a_day=80)
    d = draw_days(w, 2000, 30, 1, np.random.default_rng(5))
    assert d.off.mean() == pytest.approx(0.2, abs=0.007)
    assert np.median(d.minutes) == pytest.approx(80, rel=0.01)


def test_taste_drifts_so_that_ratings_weeks_apart_differ_more_than_neighbours() -> None:
    w = World(mood_sd=0.0, air_points_sd=0.0)
    shift = draw_days(w, 4000, 29, 1, np.random.default_rng(6)).shift
    near, far = (shift[1] - shift[0]).std(), (shift[28] - shift[0]).std()
    assert far > 3 * near
