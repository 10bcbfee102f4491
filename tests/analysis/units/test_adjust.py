"""Adjustment: linear, blind, redone inside the range, and never for what the habit may change."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from reedlab.analysis.units.adjust import ADJUSTMENTS, adjustments, allowed_adjustments
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.evening import even_units
from reedlab.analysis.units.shares import planned_share
from reedlab.analysis.units.unit_values import rating_values

from .._players import by_reed, frames, on, one_a_day, rated, squares


def test_never_hours_where_the_habit_sets_them_nor_day_with_one_reed_a_day() -> None:
    assert allowed_adjustments("reed_by_reed", "mean_rating") == ADJUSTMENTS
    assert allowed_adjustments("reed_by_reed", "mean_rating", same_days=False) == ("humidity", "first_play", "break_in")
    limit = (("limit", "daily_limit_min", 30.0),)
    assert "age_hours" not in allowed_adjustments("reed_by_reed", "mean_rating", overrides=limit)
    assert "age_hours" not in allowed_adjustments("reed_by_reed", "wear_rate")
    assert adjustments(replace(one_a_day(), adjust=ADJUSTMENTS)) == ("humidity", "order")
    assert "day" in adjustments(replace(squares(), adjust=ADJUSTMENTS))
    assert allowed_adjustments("reed_by_reed", "life_hours") == ()


def _trial(make, adjust, **more):
    rng = np.random.default_rng(8)
    p = make(adjust=adjust, **more)
    rows = [{**r, "play_min": float(rng.integers(10, 50))} for r in rated(p, lambda *_: float(rng.normal(6, 1)))]
    days = [{"date": on(d), "humidity_pct": float(rng.uniform(30, 60))} for d in range(1, p.days + 1)]
    first = [{"reed": r, "box": "1", "first_play": float(rng.normal(6, 1))} for r in p.reeds]
    kept = [r for r in rows if rng.random() > 0.1]
    return p, blind(p, frames(p, kept, days=days, reeds=first))


def test_cell_adjustment_is_least_squares_within_reeds() -> None:
    """Coefficients equal those of an ordinary regression on reed and covariates (statsmodels formula)."""
    _, trial = _trial(by_reed, ())
    cells = trial.cells()
    v = rating_values(trial, "mean_rating", ("age_hours", "humidity"))
    frame = pd.DataFrame({"y": cells.rating, "reed": cells.reed, "age": cells.hours, "hum": cells.humidity})
    kept = frame[[(r, d) in set(zip(v.cells.reed, v.cells.day, strict=True))
                  for r, d in zip(cells.reed, cells.day, strict=True)]]
    fit = smf.ols("y ~ C(reed) + age + hum", kept).fit()
    centred = kept[["age", "hum"]] - kept[["age", "hum"]].mean()
    want = (kept["y"] - centred @ fit.params[["age", "hum"]]).groupby(kept["reed"]).mean()
    np.testing.assert_allclose(v.values, want.to_numpy(), atol=1e-9)


def test_adjusting_reed_by_reed_takes_nothing_from_the_gap_between_reeds() -> None:
    p, trial = _trial(by_reed, ())
    v = rating_values(trial, "mean_rating", ("day", "age_hours", "humidity", "order"))
    share = planned_share(p, v)
    is_b = np.array([a == "B" for a in p.arms], dtype=float)
    np.testing.assert_allclose(v.effect(share), is_b, atol=1e-9)


def test_first_play_is_taken_out_within_matched_sets() -> None:
    p, trial = _trial(lambda **m: by_reed((6, 6), **m), ("first_play",))
    plain = rating_values(trial, "mean_rating")
    v = rating_values(trial, "mean_rating", ("first_play",))
    frame = pd.DataFrame({"y": plain.values, "f": trial.before, "set": [u.block for u in p.units]})
    slope = smf.ols("y ~ C(set) + f", frame).fit().params["f"]
    inside = frame["f"] - frame.groupby("set")["f"].transform("mean")
    np.testing.assert_allclose(v.values, frame["y"] - slope * inside, atol=1e-9)
    assert v.used == ("first_play",)


@pytest.mark.parametrize(("make", "outcome"), [(squares, "day_rating"), (one_a_day, "day_rating"),
                                                (by_reed, "mean_rating"), (by_reed, "wear_rate")])
def test_a_gap_added_to_raw_ratings_moves_the_values_by_exactly_the_effect(make, outcome) -> None:
    """The map is linear: values of (ratings + d for B) are values + d·effect, adjustment and all."""
    p, trial = _trial(make, ADJUSTMENTS)
    adjust = allowed_adjustments(p.design, outcome, unit_kind=p.unit_kind)
    v = rating_values(trial, outcome, adjust)
    share = planned_share(p, v)
    keep = trial.sittings["rated"].to_numpy()
    cells = zip(v.cells.reed, v.cells.day, share * v.gain, strict=True)
    of_cell = {(int(r), int(d)): g for r, d, g in cells}
    gap = [of_cell.get((r, d), 0.0) for r, d in zip(trial.sittings["place"], trial.sittings["day"], strict=True)]
    moved = trial.sittings.assign(rating=trial.sittings["rating"] + 2.5 * np.array(gap) * keep)
    again = rating_values(replace(trial, sittings=moved), outcome, adjust)
    here = v.present
    np.testing.assert_allclose(again.values[here], (v.values + 2.5 * v.effect(share))[here], atol=1e-9)


def test_adding_a_constant_to_all_ratings_moves_every_adjusted_value_alike() -> None:
    _, trial = _trial(squares, ())
    adjust = ("age_hours", "humidity", "order")
    up = replace(trial, sittings=trial.sittings.assign(rating=trial.sittings["rating"] + 3))
    moved = rating_values(up, "day_rating", adjust).values - rating_values(trial, "day_rating", adjust).values
    np.testing.assert_allclose(moved, 3.0, atol=1e-9)


def test_complete_squares_cannot_be_adjusted_for_the_air_of_the_day() -> None:
    """Reed and day cancel in a square, so a day's air has no say in the gap."""
    p = squares()
    rng = np.random.default_rng(2)
    days = [{"date": on(d), "humidity_pct": float(rng.uniform(20, 70))} for d in range(1, 15)]
    trial = blind(p, frames(p, rated(p, lambda *_: float(rng.normal(6, 1))), days=days))
    plain, wet = rating_values(trial, "day_rating"), rating_values(trial, "day_rating", ("humidity",))
    np.testing.assert_allclose(np.diff(wet.values)[::2], np.diff(plain.values)[::2], atol=1e-9)


def test_humidity_missing_on_most_days_is_left_out_and_said_so() -> None:
    p = one_a_day(8)
    rng = np.random.default_rng(1)
    days = [{"date": on(d), "humidity_pct": 40.0 + d} for d in (1, 2, 3)]
    trial = blind(p, frames(p, rated(p, lambda *_: float(rng.normal(6, 1))), days=days))
    v = rating_values(trial, "day_rating", ("humidity",))
    assert v.left_out == (("humidity", "missing"),)
    np.testing.assert_array_equal(v.values, rating_values(trial, "day_rating").values)


def _evened(first_play: list[float], sets: list[int], room: float) -> tuple[np.ndarray, str]:
    """The map of unit values as a matrix, and why it does nothing."""
    first, n = np.array([first_play]), len(sets)
    even, why = even_units(first, np.ones((1, n), dtype=bool), np.array(sets), np.array([room]))
    return even(np.eye(n)).T, str(why[0])


def test_first_play_unknown_for_most_reeds_does_nothing_and_for_one_is_read_as_its_sets_mean() -> None:
    turn, why = _evened([np.nan, np.nan, 5.0, 6.0], [0] * 4, 9)
    assert why == "missing"
    assert (turn == np.eye(4)).all()
    turn, why = _evened([4.0, 6.0, np.nan, 5.0, 7.0], [0] * 5, 9)
    assert why == ""
    assert (turn[2] == np.eye(5)[2]).all()


def test_first_play_is_left_alone_in_pairs_since_they_are_matched_on_it() -> None:
    turn, why = _evened([float(x) for x in range(12)], [x // 2 for x in range(12)], 6)
    assert why == "matched"
    assert (turn == np.eye(12)).all()
