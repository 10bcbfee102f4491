"""Wrong no more often than promised, in a reduced version of tests/benchmarks/calibration.py.

A test fails only where a share is beyond its promise by more than chance: four standard errors, since many are tried.
"""

from __future__ import annotations

import math

import pytest

from reedlab.worlds import simulate

from ..benchmarks.calibration import Share, false_better, false_early, false_same
from ..benchmarks.hostile import CLEAN, LOPSIDED, WORLDS, cases, lopsided

CASES = cases()
PLAIN = ("day_rating", "mean_rating", "wear_rate", "life_hours")
FEW = ("strong drift: reeds sink fast and unequally, moods last", "half the reeds broken", LOPSIDED,
       "adherence 70 %, bad days decide", "taste drift (spread 2 points)", "much of it at once")
TRIALS = 400


def beyond(share: Share, promised: float) -> float:
    """Return by how many standard errors a share is above what is promised."""
    return (share.count / share.trials - promised) / math.sqrt(promised * (1 - promised) / share.trials)


@pytest.mark.slow
@pytest.mark.parametrize("name", [*PLAIN, "two boxes of equal reeds", "rotation v single: wear_rate",
                                  "rotation v single: life_hours"])
def test_better_is_claimed_in_at_most_five_of_a_hundred_hostile_trials_without_a_difference(name: str) -> None:
    for world in FEW:
        share, _ = false_better(CASES[name], world, TRIALS, 11)
        assert share.trials == TRIALS
        assert beyond(share, 0.05) < 4, world


@pytest.mark.slow
@pytest.mark.parametrize("name", PLAIN)
def test_a_constant_difference_at_the_margin_is_rarely_called_none_and_mostly_held(name: str) -> None:
    same, held, _ = false_same(CASES[name], "constant shift, nothing cut off", 1, TRIALS, 12)
    assert beyond(same, 0.05) < 4
    assert held.count / held.trials > 0.945 - 4 * math.sqrt(0.055 * 0.945 / TRIALS)


@pytest.mark.slow
@pytest.mark.parametrize("world", [
    "heavy ceiling", "adherence 70 %, bad days decide", "four values used: never below 6 or above 9", "whole points"])
def test_a_ceiling_or_slips_do_not_make_false_sameness(world: str) -> None:
    for name in ("day_rating", "mean_rating", "wear_rate"):
        assert beyond(false_same(CASES[name], world, 1, TRIALS, 13)[0], 0.05) < 4


@pytest.mark.slow
@pytest.mark.parametrize("name", PLAIN)
def test_early_looks_are_paid_for(name: str) -> None:
    assert beyond(false_early(CASES[name], "as assumed", TRIALS, 14), 0.05) < 4


def test_there_are_at_least_twelve_hostile_worlds_and_each_differs_from_the_assumed_one() -> None:
    plain = CASES["day_rating"].in_world("as assumed")
    hostile = [w for w in WORLDS if w != "as assumed"]
    assert len(hostile) >= 12
    assert all(CASES["day_rating"].in_world(w) != plain for w in hostile)


def test_the_lopsided_plan_gives_one_reed_ten_times_the_sittings() -> None:
    plan = lopsided(CASES["mean_rating"].plan)
    count = [sum(s.reed == r for s in plan.slots) for r in plan.reeds]
    assert count[0] == 10 * count[1]
    assert len(set(count[1:])) == 1


def test_the_clean_world_cuts_nothing_off() -> None:
    world, plans = CASES["mean_rating"].at_margin("constant shift, nothing cut off", 1)
    batch = simulate(plans[0], world, 50, 1)
    assert world.ends == CLEAN["ends"]
    assert (batch.left_day == 0).all()


def test_a_share_is_marked_only_where_its_whole_range_breaks_the_promise() -> None:
    assert Share(56, 1000).at_most(0.05)
    assert not Share(80, 1000).at_most(0.05)
    assert not Share(900, 1000).at_least(0.945)
