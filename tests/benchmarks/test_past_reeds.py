"""Earlier reeds in a test of lives: no false winners; a gain where all are played to the end; harm unless fitted."""

from __future__ import annotations

import numpy as np
import pytest

from .past_reeds import READ, WATCHED, WORLDS, cell, judged

_SHORT, _LONG = WATCHED.values()


@pytest.mark.parametrize("world", ["as assumed", "earlier reeds lasted 2.5 times as long",
                                   "reeds watched unequally (spread of half)"])
@pytest.mark.parametrize("watched", [_SHORT, _LONG])
def test_however_reeds_are_scored_the_shuffling_holds_false_winners(world: str, watched: float) -> None:
    found = cell(WORLDS[world], 2, 20, watched, 400)
    assert all(found.false[k] <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 400) for k in READ)


def test_what_it_brings_is_little_in_a_trial_as_planned_and_more_where_all_are_played_to_the_end() -> None:
    as_planned, to_the_end = (cell(WORLDS["as assumed"], 2, 20, w, 600) for w in (_SHORT, _LONG))
    assert abs(as_planned.half["fitted"] - as_planned.half["as now"]) < 0.03
    assert abs(as_planned.twice["fitted"] - as_planned.twice["as now"]) < 0.03
    assert 0.015 < to_the_end.twice["fitted"] - to_the_end.twice["as now"] < 0.09
    assert 0.3 < as_planned.worn_out < 0.5
    assert to_the_end.worn_out > 0.8


def test_earlier_reeds_that_lasted_longer_hide_a_difference_unless_they_are_fitted() -> None:
    found = cell(WORLDS["earlier reeds lasted 2.5 times as long"], 2, 20, _LONG, 500)
    assert found.twice["joined"] < found.twice["as now"] - 0.04
    assert found.twice["fitted"] > found.twice["as now"] - 0.015


def test_by_the_judge_too_nothing_is_named_more_often_without_a_difference_and_more_with_one() -> None:
    none, twice = (judged(120, 1, r, 700) for r in (1.0, 2.0))
    for found in none.values():
        assert found["a_better"] + found["b_better"] <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 700)
    assert twice["fitted"]["b_better"] > twice["as now"]["b_better"]
