"""Reduced versions of what `crossover.py` plays by the thousand."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.worlds import World

from .calibration import Share
from .crossover import AS_SAID, HOSTILE, judged, plan

_TRIALS = 400


@pytest.mark.slow
@pytest.mark.parametrize("world", ["as assumed", "it stays for good", "taste drifts (spread 2 points)"])
def test_in_hostile_worlds_no_more_than_5_in_100_are_wrong(world: str) -> None:
    protocol = plan("crossover", 42)
    none = judged(protocol, World(**HOSTILE[world]), _TRIALS, 21).verdict
    near = judged(protocol, World(effect_points=protocol.matters, **HOSTILE[world]), _TRIALS, 22).verdict
    wrong = np.isin(none, ("a_better", "b_better"))
    assert Share(int(wrong.sum()), _TRIALS).at_most(0.05)
    assert wrong.any()
    assert Share(int((near == "no_real_difference").sum()), _TRIALS).at_most(0.05)
    assert not (near == "a_better").mean() > 0.01


@pytest.mark.slow
def test_it_finds_three_times_as_much_as_reed_by_reed() -> None:
    found = [(judged(plan(outcome, 42), World(effect_points=1.0, **AS_SAID), 300, 11).verdict == "b_better").mean()
             for outcome in ("mean_rating", "crossover")]
    assert found[1] > 0.6 > 0.25 > found[0]


def test_what_stays_for_good_shows_as_half_of_it() -> None:
    """The mean estimate of players without noise: half of a gap that stays, and all of one that does not."""
    quiet = {"noise_sd": 0.0, "mood_sd": 0.0, "taste_sd": 0.0, "step": 0.01, "ends": (-100.0, 100.0), "adherence": 1.0,
             "unsure_reed": 0.0, "damage_share": 0.0, "wear_sd": 0.0, "life_median_h": 900.0}
    for world, wanted in (({"effect_days": 4.0}, 1.0), ({"effect_days": 10_000.0}, 0.5)):
        found = judged(plan("crossover", 42), World(effect_points=1.0, **quiet, **world), 60, 3)
        assert float(np.nanmean(found.estimate)) == pytest.approx(wanted, abs=0.05)
