"""The calendar of a trial: numbered days, pauses, last day, and whose reeds they are."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.rows.tables import Frames
from reedlab.schedule.diary import diary_of
from reedlab.trial.calendar import TrialCalendar, calendar_of, calendar_with, going, paused_days, runs_until_done
from reedlab.trial.protocol import Habit, Protocol, Unit

START = date(2026, 3, 2)
HABITS = (Habit("case", "the old case"), Habit("pack", "the pack"))


def day(n: int) -> date:
    return START + timedelta(days=n - 1)


def plan(trial: str = "One", reeds: tuple[str, ...] = ("1-01", "1-02"), **more: Any) -> Protocol:
    """An invented plan of ten days, reed by reed."""
    wanted: dict[str, Any] = {
        "trial": trial, "question": "storage_case", "design": "reed_by_reed", "outcome": "mean_rating",
        "matters": 1.0, "habits": HABITS, "units": tuple(Unit(r, "1", (r,)) for r in reeds),
        "dealt": tuple(("case", "pack")[i % 2] for i in range(len(reeds))), "start": START, "days": 10,
        "seed": 1, "ask": "Does the pack keep my reeds better?", "instrument": "clarinet"}
    return Protocol(**{**wanted, **more})


def book(*plans: Protocol, ended: dict[str, date] | None = None, paused: tuple[int, ...] = ()) -> Frames:
    names = sorted({r for p in plans for r in p.reeds} | {"1-09"})
    return Frames.of(
        boxes=[{"box": "1", "instrument": "clarinet"}],
        reeds=[{"reed": r, "box": "1", "first_play": 6.0} for r in names],
        days=[{"date": day(n), "pause": True} for n in paused],
        trials=[{"trial": p.trial, "started": p.start, "protocol_sha256": p.sha256, "protocol": p.to_json(),
                 "ended": (ended or {}).get(p.trial)} for p in plans])


def slow(start: date, days: int, paused: set[date]) -> list[date]:
    """Walk the days one by one."""
    out, on = [], start
    while len(out) < days:
        if on not in paused:
            out.append(on)
        on += timedelta(days=1)
    return out


@pytest.mark.parametrize("pauses", [(), (1,), (3, 4, 5), (10,), (11,), (9, 10, 11, 12), (-3, 2, 14), (10, 11, 13)])
def test_days_and_the_last_one_are_those_of_a_walk_day_by_day(pauses: tuple[int, ...]) -> None:
    calendar = calendar_with(plan(), map(day, pauses))
    walked = slow(START, 10, set(map(day, pauses)))
    assert calendar.dates() == tuple(walked)
    assert calendar.last == walked[-1]
    assert [calendar.number(d) for d in walked] == list(range(1, 11))
    assert all(calendar.number(day(n)) is None for n in (*pauses, 0))


def test_a_trial_is_over_after_its_last_day_and_not_on_it() -> None:
    calendar = TrialCalendar(START, 10)
    assert not calendar.over(day(10))
    assert calendar.over(day(11))


def test_on_the_day_it_is_ended_its_entries_count_and_its_reeds_are_free() -> None:
    calendar = TrialCalendar(START, 10, ended=day(4))
    assert calendar.last_counted == day(4)
    assert calendar.last_held == day(3)
    assert [calendar.holds(day(n)) for n in (0, 1, 3, 4, 5)] == [False, True, True, False, False]


def test_an_open_end_never_passes_and_its_days_go_on() -> None:
    calendar = TrialCalendar(START, 3, open_end=True, paused=frozenset({day(5)}))
    assert not calendar.over(day(400))
    assert calendar.dates(day(7)) == (day(1), day(2), day(3), day(4), day(6), day(7))
    assert calendar.dates() == (day(1), day(2), day(3))


def test_only_lives_with_a_cap_where_the_habit_sets_the_hours_have_an_open_end() -> None:
    capped = plan(outcome="life_hours", matters=1.5, cap_hours=20.0, same_days=False)
    assert runs_until_done(capped)
    assert not runs_until_done(plan())
    assert not runs_until_done(plan(outcome="life_hours", matters=1.5, cap_hours=20.0))


def test_the_logbook_says_what_is_paused_and_ended() -> None:
    frames = book(plan(), ended={"One": day(6)}, paused=(2, 3))
    assert paused_days(frames) == {day(2), day(3)}
    assert calendar_of(plan(), frames) == TrialCalendar(START, 10, paused=frozenset({day(2), day(3)}), ended=day(6))


def test_a_pause_keeps_a_trial_going() -> None:
    one = plan()
    assert set(going(book(one), day(10))) == {"One"}
    assert not going(book(one), day(11))
    assert set(going(book(one, paused=tuple(range(3, 13))), day(20))) == {"One"}
    assert not going(book(one, ended={"One": day(4)}, paused=(2,)), day(4))


def test_the_reeds_of_a_paused_trial_are_offered_to_no_other() -> None:
    """Ten days of pause moved the last day of One along: until then its reeds are its own."""
    one, two = plan("One"), plan("Two", ("1-03", "1-04"), days=40)
    paused = book(one, two, paused=tuple(range(3, 13)))
    assert diary_of(two, paused, day(20)).others == ("1-09",)
    assert diary_of(two, paused, day(21)).others == ("1-01", "1-02", "1-09")
    assert diary_of(two, book(one, two), day(10)).others == ("1-09",)
    assert diary_of(two, book(one, two), day(11)).others == ("1-01", "1-02", "1-09")
