"""Days off are paused so that a day-by-day trial keeps all its ratings, and the last day moves along."""

from __future__ import annotations

from datetime import timedelta

import pytest

from reedlab.schedule.pauses import days_off_to_pause
from reedlab.trial.calendar import calendar_with

from ._plans import START, book, plan, sat


@pytest.mark.parametrize("paused", [(), (0,), (0, 1), (4,)])
def test_with_the_days_off_paused_no_rating_falls_on_one(paused: tuple[int, ...]) -> None:
    """The first day may be paused already; each pause moves the last day, and a day off found there counts too."""
    p = plan("wetting")
    off = [START + timedelta(days=i) for i in (2, p.days + len(paused), p.days + 9)]  # the second becomes the last day
    away = [START + timedelta(days=i) for i in paused]
    days = [{"date": d, "pause": True} for d in away] + [{"date": d, "day_off": True} for d in off]
    found = days_off_to_pause(p, book(p, days=days), START)
    calendar = calendar_with(p, [*away, *found])
    assert found == off[:2]
    assert not set(off) & set(calendar.dates())


def test_a_day_off_that_was_played_or_is_behind_is_left_alone() -> None:
    p = plan("wetting")
    off = [START + timedelta(days=i) for i in (1, 3, 5)]
    days = [{"date": d, "day_off": True} for d in off]
    rows = [sat(off[1], p.reeds[0])]
    assert days_off_to_pause(p, book(p, rows, days=days), off[0] + timedelta(days=1)) == [off[2]]
    assert days_off_to_pause(p, book(p, days=days), START) == off
    assert days_off_to_pause(plan("drying"), book(plan("drying"), days=days), START) == []  # turns are made up
