"""The player's week, days off and concerts, as the logbook has them and as a wish says otherwise."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from reedlab.errors import InputError
from reedlab.rows.tables import WEEKDAYS, Frames
from reedlab.schedule import Concert, coming_concerts, schedule, stored_week, usual_from, week_unsaid, what_to_play

from ._plans import START, book, plan

WEEK = [{"weekday": d, "play_min": m} for d, m in zip(WEEKDAYS, (45, 45, 45, 45, 45, 90, 0), strict=True)]
SUNDAY = START + timedelta(days=6)


def test_without_a_week_the_default_holds_and_is_said() -> None:
    usual = usual_from(Frames.of())
    assert usual.minutes == (60.0,) * 7
    assert not any(usual.off(START + timedelta(days=i)) for i in range(7))
    assert "60 minutes a day" in str(week_unsaid(Frames.of()))


def test_the_week_concerts_and_days_off_of_the_logbook_hold() -> None:
    frames = Frames.of(
        week=WEEK, concerts=[{"date": date(2026, 3, 14), "play_min": 90}, {"date": date(2026, 3, 20)}],
        days=[{"date": date(2026, 3, 5), "day_off": True}, {"date": date(2026, 3, 6), "humidity_pct": 40}])
    usual = usual_from(frames)
    assert usual.minutes == (45, 45, 45, 45, 45, 90, 0)
    assert usual.concerts == (Concert(date(2026, 3, 14), 90), Concert(date(2026, 3, 20), 60))
    off = [d.day for d in (START + timedelta(days=i) for i in range(7)) if usual.off(d)]
    assert off == [5, 8]
    assert week_unsaid(frames) is None


def test_a_weekday_not_written_down_has_the_default_minutes_and_is_no_day_off() -> None:
    frames = Frames.of(week=[{"weekday": "sunday", "play_min": 0}])
    assert usual_from(frames, default_min=80).minutes == (80,) * 6 + (0,)
    assert stored_week(frames) == {6: 0.0}


def test_a_wish_overrides_the_minutes_but_leaves_a_day_off_a_day_off() -> None:
    frames = Frames.of(week=WEEK, concerts=[{"date": date(2026, 3, 14), "play_min": 90}])
    assert usual_from(frames, usual_min=30).minutes == (30,) * 6 + (0,)
    assert usual_from(frames, usual_min={6: 50}).minutes == (0,) * 6 + (50,)
    more = usual_from(frames, days_off=[0, date(2026, 3, 10)], concerts=[Concert(date(2026, 3, 14), 20), SUNDAY])
    assert more.concerts == (Concert(SUNDAY, 60), Concert(date(2026, 3, 14), 20))
    assert more.off(START)
    assert more.off(date(2026, 3, 10))
    with pytest.raises(InputError, match="0 to 720"):
        usual_from(frames, usual_min=800)


def test_coming_concerts_leave_out_those_that_have_been() -> None:
    frames = Frames.of(concerts=[{"date": date(2026, 3, d)} for d in (9, 1, 5)])
    assert [c.on.day for c in coming_concerts(frames, date(2026, 3, 5))] == [5, 9]


def test_the_schedule_takes_the_logbooks_week_concerts_and_days_off() -> None:
    p = plan("drying")
    tables = {"week": WEEK, "days": [{"date": START + timedelta(days=2), "day_off": True}],
              "concerts": [{"date": START + timedelta(days=9), "play_min": 45}]}
    found = schedule(p, book(p, others=True, **tables), today=START)
    wished = schedule(p, book(p, others=True), today=START, usual_min={i: w["play_min"] for i, w in enumerate(WEEK)},
                      days_off=[START + timedelta(days=2)], concerts=[Concert(START + timedelta(days=9), 45)])
    assert found == wished
    assert found.day(SUNDAY).state == "day_off"  # type: ignore[union-attr]
    assert list(found.concerts) == [START + timedelta(days=9)]
    assert what_to_play(p, book(p, **tables), SUNDAY).state == "day_off"
