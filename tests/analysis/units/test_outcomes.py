"""Unit values against slow, separate reckoning, and the rules for what is missing."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.rating_values import window_hours
from reedlab.analysis.units.unit_values import rating_values

from .._players import by_reed, frames, on, one_a_day, rated, squares


def _noise(seed: int = 4):
    rng = np.random.default_rng(seed)
    return lambda reed, day, habit: float(rng.normal(6, 1))


def test_the_mean_rating_ends_where_the_shortest_played_reed_of_the_block_does() -> None:
    p = by_reed((2,), slots=False)
    short, long = p.reeds
    rows = [{"date": on(d), "reed": short, "play_min": 30, "overall": 7} for d in (1, 2, 3)]
    rows += [{"date": on(d), "reed": long, "play_min": 30, "overall": 8 if d <= 3 else 2} for d in range(1, 11)]
    v = rating_values(blind(p, frames(p, rows)), "mean_rating")
    assert dict(v.windows) == {"set 1": 1.5}
    assert v.values == pytest.approx([7.0, 8.0])


def test_a_reed_with_too_few_ratings_is_missing_and_shortens_no_window() -> None:
    p = by_reed((3,), slots=False)
    broken, second, third = p.reeds
    rows = [{"date": on(1), "reed": broken, "play_min": 10, "overall": 1}]
    rows += [{"date": on(d), "reed": r, "play_min": 30, "overall": 6} for r in (second, third)
             for d in range(1, 6)]
    v = rating_values(blind(p, frames(p, rows)), "mean_rating")
    assert v.present.tolist() == [False, True, True]
    assert np.isnan(v.values[0])
    assert dict(v.windows) == {"set 1": 2.5}


def test_window_hours_work_on_many_trials_at_once() -> None:
    total = np.array([[5.0, 3.0, 9.0, 8.0], [5.0, 0.1, 9.0, 8.0]])
    enough = np.array([[True] * 4, [True, False, True, True]])
    assert window_hours(total, enough, ["a", "a", "b", "b"]).tolist() == [[3, 3, 8, 8], [5, 5, 8, 8]]


def test_wear_is_the_least_squares_slope_on_playing_hours() -> None:
    p = by_reed((2, 2), outcome="wear_rate")
    trial = blind(p, frames(p, rated(p, _noise())))
    v = rating_values(trial, "wear_rate")
    rows = trial.sittings
    for i, reed in enumerate(p.reeds):
        mine = rows[rows["reed"] == reed]
        assert v.values[i] == pytest.approx(np.polyfit(mine["hours_before"], mine["rating"], 1)[0])


def test_wear_in_minutes_would_only_change_the_unit() -> None:
    p = by_reed((2, 2), outcome="wear_rate")
    one = rating_values(blind(p, frames(p, rated(p, _noise(), minutes=20))), "wear_rate").values
    two = rating_values(blind(p, frames(p, rated(p, _noise(), minutes=40))), "wear_rate").values
    np.testing.assert_allclose(one, 2 * two)


def test_wear_needs_three_ratings_and_half_an_hour_between_them() -> None:
    p = by_reed((4,), outcome="wear_rate", slots=False)
    plays = {p.reeds[0]: (60, 2), p.reeds[1]: (5, 4), p.reeds[2]: (15, 3), p.reeds[3]: (60, 3)}
    rows = [{"date": on(d), "reed": r, "play_min": m, "overall": 6 + d % 2}
            for r, (m, n) in plays.items() for d in range(1, n + 1)]
    assert rating_values(blind(p, frames(p, rows)), "wear_rate").present.tolist() == [False, False, True, True]


def test_a_diagonal_is_the_mean_of_its_rated_cells_and_missing_without_any() -> None:
    p = squares(2)
    score = {(r, d): 10.0 * i + d for i, r in enumerate(p.reeds) for d in range(1, 5)}
    gone = {("1-01", 1), ("1-03", 3), ("1-04", 4)}
    rows = [r for r in rated(p, lambda reed, day, habit: score[reed, day])
            if (r["reed"], (r["date"] - on(1)).days + 1) not in gone]
    v = rating_values(blind(p, frames(p, rows)), "day_rating")
    assert v.units == ("d1a", "d1b", "d3a", "d3b")
    assert v.values[:2] == pytest.approx([score["1-02", 2], (score["1-02", 1] + score["1-01", 2]) / 2])
    assert np.isnan(v.values[2])
    assert v.present.tolist() == [True, True, False, True]
    assert v.gaps == ("set 1", "set 2")


def test_a_rating_on_a_day_that_was_not_dealt_does_not_count() -> None:
    p = one_a_day(2)
    rows = rated(p, lambda r, d, h: 5.0)
    extra = {"date": on(1), "reed": "1-02", "play_min": 20, "overall": 10}
    np.testing.assert_array_equal(
        rating_values(blind(p, frames(p, rows)), "day_rating").values,
        rating_values(blind(p, frames(p, [*rows, extra])), "day_rating").values)
