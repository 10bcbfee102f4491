"""The week a sheet shows."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from reedlab.errors import InputError
from reedlab.handout.week import to_play, week_of

from ._plans import NAME, START, a_logbook, a_plan


def codes(week: object) -> list[tuple[date, list[str]]]:
    return [(d.on, [x.reed for x in to_play(d)]) for d in week.days]  # type: ignore[attr-defined]


def test_week_shows_the_slots_of_the_plan_in_their_order() -> None:
    plan = a_plan()
    week = week_of(plan, a_logbook(), today=START)
    assert (week.number, week.weeks) == (1, 2)
    planned = {d: [s.reed for s in plan.slots if s.day == d] for d in range(1, 8)}
    assert codes(week) == [(START + timedelta(days=d - 1), planned[d]) for d in range(1, 8)]
    assert all(x.habit == plan.habit_for(x.reed, d.number or 0).key for d in week.days for x in to_play(d))  # type: ignore[union-attr]


def test_default_is_the_week_of_today_and_the_last_week_is_short() -> None:
    week = week_of(a_plan(), a_logbook(), today=START + timedelta(days=8))
    assert week.number == 2
    assert [d.number for d in week.days] == [8, 9, 10]


def test_a_pause_shifts_the_rest_and_a_reed_that_left_drops_out_from_then_on() -> None:
    frames = a_logbook(days=[{"date": START + timedelta(days=2), "pause": True}],
                       retirements=[{"reed": "2-01", "date": START + timedelta(days=1), "reason": "damaged"}])
    week = week_of(a_plan(), frames, today=START + timedelta(days=2))
    assert [d.number for d in week.days] == [1, 2, None, 3, 4, 5, 6]
    by_day = dict(codes(week))
    assert "2-01" in by_day[START]  # the part of the week that is past is shown as it was planned
    assert all("2-01" not in reeds for on, reeds in by_day.items() if on > START + timedelta(days=1))


@pytest.mark.parametrize("number", [-1, 0, 3])
def test_a_week_the_trial_does_not_have_is_refused_by_name(number: int) -> None:
    with pytest.raises(InputError, match=f"{NAME}.*weeks 1 to 2"):
        week_of(a_plan(), a_logbook(), today=START, number=number)


def test_week_0_holds_the_days_before_the_start() -> None:
    week = week_of(a_plan(), a_logbook(), today=START - timedelta(days=3), number=0)
    assert [d.on for d in week.days] == [START - timedelta(days=k) for k in (3, 2, 1)]
