"""Simulated diaries, a few of the 500 of tests/benchmarks/diaries.py."""

from __future__ import annotations

import pytest

from ..benchmarks.diaries import ASKED, one_diary

#: One of each kind of day: squares, sets by rating, by hours, and the three habits that set the hours.
FEW = [ASKED.index(x) for x in (
    ("wetting", "day_by_day", "day_rating"), ("drying", "reed_by_reed", "mean_rating"),
    ("break_in", "reed_by_reed", "mean_rating"), ("rinse", "reed_by_reed", "wear_rate"),
    ("cut_or_strength", "day_by_day", "day_rating"), ("rotation", "reed_by_reed", "life_hours"),
    ("daily_limit", "reed_by_reed", "wear_rate"), ("resting_days", "reed_by_reed", "good_hours"))]


@pytest.mark.parametrize("seed", FEW, ids=lambda i: "-".join(ASKED[i]))
def test_every_schedule_keeps_every_rule_or_says_which_it_broke(seed: int) -> None:
    told = one_diary(seed, longest=35, every=7)
    assert told.schedules >= 3
    assert told.broken == []
    assert told.moved == []
