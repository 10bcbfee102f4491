"""Earlier reeds in a test of lives: no false winners; a gain where all are played to the end; harm unless fitted."""

from __future__ import annotations

import numpy as np
import pytest

from .past_reeds import READ, WATCHED, WORLDS, cell, fit

_SHORT, _LONG = WATCHED.values()


@pytest.mark.parametrize("world", ["as assumed", "earlier reeds lasted 2.5 times as long",
                                   "reeds watched unequally (spread of half)"])
@pytest.mark.parametrize("watched", [_SHORT, _LONG])
def test_however_reeds_are_scored_the_shuffling_holds_false_winners(world: str, watched: float) -> None:
    found = cell(WORLDS[world], 2, 20, watched, 600)
    assert all(found.false[k] <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 600) for k in READ)


def test_what_it_brings_is_little_in_a_trial_as_planned_and_more_where_all_are_played_to_the_end() -> None:
    as_planned, to_the_end = (cell(WORLDS["as assumed"], 2, 20, w, 1500) for w in (_SHORT, _LONG))
    assert abs(as_planned.half["fitted"] - as_planned.half["as now"]) < 0.02
    assert abs(as_planned.twice["fitted"] - as_planned.twice["as now"]) < 0.02
    assert 0.02 < to_the_end.twice["fitted"] - to_the_end.twice["as now"] < 0.08
    assert 0.3 < as_planned.worn_out < 0.5
    assert to_the_end.worn_out > 0.8


def test_earlier_reeds_that_lasted_longer_hide_a_difference_unless_they_are_fitted() -> None:
    found = cell(WORLDS["earlier reeds lasted 2.5 times as long"], 2, 20, _LONG, 1000)
    assert found.twice["joined"] < found.twice["as now"] - 0.05
    assert found.twice["fitted"] > found.twice["as now"] - 0.015


def test_the_fit_finds_how_much_longer_they_lasted() -> None:
    rng = np.random.default_rng(3)
    life = rng.weibull(2.0, (50, 400))
    worn = life <= 0.9
    known = 1.7 * rng.weibull(2.0, (50, 400))
    assert fit(np.minimum(life, 0.9), worn, known, np.ones(known.shape, dtype=bool)) == pytest.approx(
        np.full(50, 1 / 1.7), abs=0.12)
