"""The awkward worlds do what their names say, and answers that rest on what is missing are mostly held back."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from reedlab.worlds import BY_CHOICE, World, batch_trials, simulate

from .awkward import AWKWARD, Awkward, anchored, carried, given_up, play, unwritten
from .awkward_worlds import cell
from .hostile import drawn

DAYS = drawn("wetting", "day_rating", 1, 4, days=28)
LIVES = drawn("drying", "life_hours", 2, 10, days=60, matters=2.0)
SHORT = World(life_median_h=6, minutes_a_day=120)


def test_only_the_second_ways_low_ratings_go_unwritten() -> None:
    plain = simulate(DAYS, World(), 50, 3, fresh_deals=True)
    lost = play(DAYS, World(), 50, 3, Awkward(writing=unwritten(6, 1.0)))
    gone = np.isfinite(plain.rating) & np.isnan(lost.rating)
    assert (gone == ((plain.rating < 6) & plain.used_b)).all()
    assert gone.any()


def test_anchored_ratings_are_half_the_last_one_and_carried_ones_hold_half_the_last_gap() -> None:
    batch = simulate(DAYS, World(unrated=0, forgotten=0, day_off=0), 5, 3, fresh_deals=True)
    rng = np.random.default_rng(1)
    half, stays = anchored(0.5)(batch, 1.0, rng), carried(0.5)(batch, 1.0, rng)
    mine = np.flatnonzero(batch.plan.slot_reed == 1)
    mine = mine[np.isfinite(batch.rating[0, mine])]
    for before, now in pairwise(mine):
        assert half[0, now] == pytest.approx(0.5 * half[0, before] + 0.5 * batch.rating[0, now])
        assert stays[0, now] == pytest.approx(batch.rating[0, now] + 0.5 * batch.used_b[0, before])


def test_a_reed_given_up_is_not_played_afterwards() -> None:
    trials = batch_trials(play(LIVES, SHORT, 20, 3, Awkward(writing=given_up(4, 1.0))))
    gone = trials.left_why == "by_choice"
    assert gone.any()
    assert gone.sum() == (play(LIVES, SHORT, 20, 3, Awkward(writing=given_up(4, 1.0))).left_why == BY_CHOICE).sum()
    after = trials.day > np.where(gone, trials.left_day, 10**6)[:, trials.reed]
    assert not trials.counted[after].any()


def test_every_world_names_plans_it_makes_sense_for() -> None:
    assert {w for a in AWKWARD.values() for w in a.where} == {"day_rating", "mean_rating", "life_hours"}
    assert len(AWKWARD) >= 15


@pytest.mark.slow
def test_most_false_winners_of_ratings_left_out_with_one_way_are_held_back() -> None:
    found = cell(DAYS, World(), AWKWARD["ratings under 6 unwritten with one way"], 0.0, 500, 8)
    assert found.better[0] > 0.13
    assert found.better[1] < 0.4 * found.better[0]
    lives = cell(LIVES, SHORT, AWKWARD["ratings under 4 unwritten with one way"], 0.0, 300, 8)
    assert lives.better[0] > 0.4
    assert lives.better[1] < 0.4 * lives.better[0]


@pytest.mark.slow
def test_ordinary_trials_are_seldom_held_back() -> None:
    for plan, world, gap in ((DAYS, World(), 0.0), (DAYS, World(), 1.0), (LIVES, SHORT, 0.0)):
        found = cell(plan, world, AWKWARD["as assumed"], gap, 500, 9)
        assert found.uneven < 0.01 + 3 * np.sqrt(0.01 * 0.99 / 500)
        assert found.leans < 0.05
