"""Blindness by construction, and which sittings count."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values
from reedlab.analysis.units.rating_values import RATINGS
from reedlab.analysis.units.unit_values import rating_values
from reedlab.errors import InputError

from .._players import A, B, by_reed, frames, on, one_a_day, rated, squares


def _some(reed: str, day: int, habit: str) -> float:
    return 5.0 + (sum(map(ord, reed)) * 7 + day * 3) % 5 + (habit == "water")


@pytest.mark.parametrize("column", ["habit", "arm", "dealt", "share_b", "position"])
def test_a_blind_trial_refuses_sittings_that_still_tell_the_habit(column: str) -> None:
    p = squares()
    trial = blind(p, frames(p, rated(p, _some)))
    with pytest.raises(InputError, match=column):
        dataclasses.replace(trial, sittings=trial.sittings.assign(**{column: "water"}))


@pytest.mark.parametrize("make", [squares, one_a_day, by_reed, lambda: by_reed(outcome="life_hours"),
                                  lambda: by_reed(outcome="crossover", effect_days=1)])
def test_values_do_not_change_when_the_deal_and_the_logged_habits_are_turned_round(make) -> None:
    p = make()
    turned = dataclasses.replace(p, dealt=tuple(A.key if k == B.key else B.key for k in p.dealt))
    rows = rated(p, _some)
    other = [{**r, "habit": A.key if r["habit"] == B.key else B.key, "position": "high"} for r in rows]
    one, two = blind(p, frames(p, rows)), blind(turned, frames(turned, other))
    for key in RATINGS:
        if (key == "day_rating") == (p.design == "day_by_day") and (key == "crossover") <= p.crossover:
            np.testing.assert_array_equal(rating_values(one, key, ("day", "humidity")).values,
                                          rating_values(two, key, ("day", "humidity")).values)
    if p.design == "reed_by_reed":
        for key in ("life_hours", "good_hours"):
            np.testing.assert_array_equal(life_values(one, key).hours, life_values(two, key).hours)


def test_a_blind_trial_holds_nothing_that_names_a_habit() -> None:
    p = squares()
    text = repr(blind(p, frames(p, rated(p, _some))))
    assert "water" not in text
    assert "mouth" not in text


def test_unsure_sittings_leave_and_rehearsals_give_minutes_but_no_rating() -> None:
    p = by_reed((2,), slots=False)
    reed = p.reeds[0]
    rows = [
        {"date": on(1), "reed": reed, "play_min": 30, "overall": 8},
        {"date": on(2), "reed": reed, "play_min": 30, "overall": 2, "where": "rehearsal"},
        {"date": on(3), "reed": reed, "play_min": 30, "overall": 2, "unsure_reed": True},
        {"date": on(4), "reed": reed, "play_min": 30, "overall": 6, "where": "practice"},
    ]
    trial = blind(p, frames(p, rows))
    cells = trial.cells()
    assert list(cells.rating) == [8, 6]
    assert list(cells.hours) == [0, 1.0]
    assert trial.hours[0] == 1.5


def test_two_ratings_of_a_reed_on_a_day_count_as_their_mean() -> None:
    p = by_reed((2,), slots=False)
    rows = [{"date": on(1), "reed": p.reeds[0], "order": o, "play_min": 20, "overall": y}
            for o, y in ((2, 4.0), (1, 7.0))]
    cells = blind(p, frames(p, rows)).cells()
    assert (cells.rating.tolist(), cells.count.tolist(), cells.order.tolist()) == ([5.5], [2], [1.0])


def test_a_pause_shifts_the_rest_of_the_trial_and_its_minutes_still_count() -> None:
    p = by_reed((2,), days=3, slots=False)
    rows = [{"date": on(d), "reed": p.reeds[0], "play_min": 60, "overall": 5} for d in (1, 2, 3, 4, 5)]
    trial = blind(p, frames(p, rows, days=[{"date": on(2), "pause": True}]))
    assert trial.cells().day.tolist() == [1, 2, 3]
    assert trial.hours[0] == 4.0


def test_hours_run_from_new_only_where_that_is_the_question() -> None:
    for from_new, hours in ((False, 1.0), (True, 2.0)):
        p = by_reed((2,), slots=False, from_new=from_new)
        rows = [{"date": on(d), "reed": p.reeds[0], "play_min": 60} for d in (-3, 1)]
        assert blind(p, frames(p, rows)).hours[0] == hours


def test_stiffness_is_read_as_closeness_to_just_right() -> None:
    p = by_reed((2,), slots=False, rating="stiffness")
    rows = [{"date": on(d), "reed": p.reeds[0], "play_min": 20, "stiffness": s} for d, s in ((1, -2.0), (2, 1.5))]
    assert blind(p, frames(p, rows)).cells().rating.tolist() == [-2.0, -1.5]


def test_a_missing_row_and_an_empty_rating_give_the_same_cells() -> None:
    p = squares()
    rows = rated(p, _some)
    empty = [{**r, "overall": None} if i == 5 else r for i, r in enumerate(rows)]
    one, two = blind(p, frames(p, rows[:5] + rows[6:])).cells(), blind(p, frames(p, empty)).cells()
    np.testing.assert_array_equal(one.rating, two.rating)
