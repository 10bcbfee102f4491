"""What the always-valid readings share: whom a path names, what is the same, and where bets are even."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reedlab.analysis.shuffling.always_valid import Path, followed_verdict, winning_side
from reedlab.analysis.shuffling.follow_lives import _crossing
from reedlab.analysis.shuffling.shuffles import Shuffles


def test_the_first_path_names_the_side_that_led_when_it_first_reached_the_bar() -> None:
    e = np.array([[1.0, 20.0, 25.0], [30.0, 1.0, 1.0]])
    up = np.array([[0.1, 0.9, 0.2], [0.2, 0.2, 0.2]])
    assert winning_side(Path(e, up), 20.0) == "b_better"
    assert winning_side(Path(e, 1 - up), 20.0) == "a_better"
    assert winning_side(Path(e, up), 25.1) == "cannot_tell"
    assert Path(e, up).most.tolist() == [25.0, 30.0]
    assert Path(e[:, :1] / 40, up[:, :1]).most.tolist() == [1.0, 1.0]


@pytest.mark.parametrize(("low", "high", "said"), [
    (-0.9, 0.9, "no_real_difference"), (-1.0, 0.9, "b_better"), (-0.9, 1.0, "b_better"), (0.5, 3.0, "b_better")])
def test_sameness_needs_the_whole_range_inside_what_matters(low: float, high: float, said: str) -> None:
    assert followed_verdict("b_better", low, high, -1.0, 1.0) == said


def test_bets_are_even_halfway_between_the_sides_and_nowhere_where_one_leads_throughout() -> None:
    """Points at odd places are the ratios at which lives meet; the others are stretches between them."""
    tried = np.log([0.4, 0.5, 0.8, 1.0, 1.5, 2.0, 3.0])
    assert _crossing(tried, np.array([0.9, 0.9, 0.9, 0.5, 0.1, 0.1, 0.1])) == pytest.approx(1.0)
    assert _crossing(tried, np.array([0.9, 0.9, 0.5, 0.5, 0.5, 0.1, 0.1])) == pytest.approx(1.0)
    assert _crossing(tried, np.full(7, 0.9)) == math.inf
    assert _crossing(tried, np.full(7, 0.1)) == 0.0
    assert math.isnan(_crossing(tried, np.full(7, 0.5)))


def test_draws_come_in_parts_that_hold_each_once_however_many_rows_there_are() -> None:
    drawn = np.random.default_rng(1).random((4, 10)) < 0.5
    for rows in (1, 10**12):
        np.testing.assert_array_equal(np.hstack(list(Shuffles._parts(drawn, rows))), drawn.astype(float))
