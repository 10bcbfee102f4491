"""Reduced versions of what is played by the thousand: early looks, and plans moved along by missed days."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.worlds import World
from reedlab.worlds.air import draw_days

from .early_looks import false_winners, gain, plans, ruled_out
from .hostile import drawn
from .slides import moved_along, tried


@pytest.mark.slow
@pytest.mark.parametrize("world", ["as assumed", "bad days (3 in 10) not logged", "much of it at once"])
def test_read_every_day_no_more_than_5_in_100_name_a_winner_that_is_none(world: str) -> None:
    found = false_winners(plans()["four reeds, 28 days"], world, 500)
    assert found.ever.at_most(0.05)
    assert found.on_the_way.at_most(0.04)
    assert 0 < found.on_the_way.count <= found.ever.count


@pytest.mark.slow
def test_the_true_gap_is_hardly_ever_ruled_out() -> None:
    out = ruled_out(plans()["four reeds, 56 days"], 1, 500)
    assert out.at_most(0.04)
    assert out.count > 0


@pytest.mark.slow
def test_looks_find_more_and_the_end_loses_nothing() -> None:
    found = gain(drawn("wetting", "day_rating", 2, 2, days=56), 1.0, 300)
    assert found.by_odds[1] > 0.6 > 0.45 > found.by_p[1]
    assert found.ever > found.fixed - 0.03


def test_missed_days_are_skipped_in_order_up_to_the_limit() -> None:
    days = draw_days(World(day_off=0.4), 50, 14 + 5, 60, np.random.default_rng(1))
    found, moved = moved_along(days, 14, 5)
    assert found.off.shape == (14, 50)
    assert moved.max() == 5
    for who in range(50):
        on = list(found.shift[:, who])
        assert [x for x in days.shift[:, who] if x in on] == on  # in the order of the calendar, none twice
        if moved[who] < 5:
            assert not found.off[:-1, who].any()


@pytest.mark.slow
def test_moving_along_finds_more_and_names_no_more_that_are_none() -> None:
    plan = drawn("wetting", "day_rating", 2, 2, days=14)
    kept, slid = (tried(plan, 0.3, most, 400) for most in (0, 7))
    assert slid.right[2] > kept.right[2] + 0.08
    assert slid.wrong < 0.08
    assert 3 < slid.moved < 6
