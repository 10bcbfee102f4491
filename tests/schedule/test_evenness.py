"""The minutes of the two ways: evened out as long as the days allow it, and said where they will not be."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.schedule import Schedule, schedule, what_to_play
from reedlab.trial.protocol import Protocol
from tests.readability import grade

from ._plans import START, follow, made, on, owed, plan, sat, slots
from .test_two_trials import frames, two


def of(p: Protocol, place: int, reeds: list[str] | None = None) -> list[str]:
    """The reeds dealt the first or the second habit."""
    return [r for r in reeds or p.reeds if p.habit_for(r, 1) == p.habits[place]]


def uneven(s: Schedule) -> list[str]:
    return [u.text for u in s.unmet if u.code == "minutes_uneven"]


def test_a_rehearsal_on_the_last_day_is_said_once_the_trial_is_over() -> None:
    p = plan()
    rows = follow(made(p), on(p.days + 1))
    assert uneven(made(p, on(p.days), [x for x in rows if x["date"] < on(p.days)])) == []
    assert uneven(made(p, on(p.days + 1), rows)) == []
    late = [sat(on(p.days), r, 75, None, where="rehearsal") for r in of(p, 0)[:2]]
    (text,) = uneven(made(p, on(p.days + 1), [*rows, *late]))
    assert "did not get the same minutes" in text
    assert grade(text) <= 8


def test_what_the_days_left_cannot_even_out_is_said_before_the_end() -> None:
    p = plan()
    rows = follow(made(p), on(p.days - 1))
    late = [sat(on(p.days - 2), r, 100, None, where="rehearsal") for r in of(p, 0)[:3]]
    (text,) = uneven(made(p, on(p.days - 1), [*rows, *late]))
    assert "will not get the same minutes" in text
    assert not any(h.name in text or h.key in text for h in p.habits)


def test_a_way_that_lives_longer_is_not_called_uneven() -> None:
    """Even up to the day on which one way has no reed left; what the other plays after that is its life."""
    p = plan("drying", outcome="life_hours")
    rows: list[dict[str, Any]] = []
    for n in range(1, 4):
        rows += [sat(on(n), r, 30, 7.0) for r in p.reeds]
    gone = [{"reed": r, "date": on(3), "reason": "damaged"} for r in of(p, 0)]
    more = [sat(on(n), of(p, 1)[0], 60, 7.0) for n in range(4, 9)]
    assert uneven(made(p, on(9), [*rows, *more], tables={"retirements": gone})) == []
    ahead = [sat(on(3), of(p, 1)[0], 90, None, where="rehearsal")]
    assert len(uneven(made(p, on(9), [*rows, *ahead, *more], tables={"retirements": gone}))) == 1


def test_the_day_on_which_a_reed_met_the_rule_of_wear_ends_its_way() -> None:
    p = plan("drying", outcome="life_hours")
    rows = [sat(on(n), r, 30, 3.0 if r in of(p, 0) else 7.0) for n in (1, 2) for r in p.reeds]
    more = [sat(on(n), of(p, 1)[0], 60, 7.0) for n in range(3, 9)]
    assert uneven(made(p, on(9), [*rows, *more])) == []


def test_where_wear_left_one_way_alone_in_a_set_that_set_waits_until_the_other_way_has_caught_up() -> None:
    p = plan("drying", outcome="life_hours")
    rows = follow(made(p), on(15))
    number, alone = next((n, reeds) for n, reeds in slots(p).items() if n >= 15 and of(p, 0, reeds))
    gone = [{"reed": r, "date": on(14), "reason": "damaged"} for r in of(p, 1, alone)]
    ahead = [sat(on(14), of(p, 0, alone)[0], 120, None, where="rehearsal")]
    s = made(p, on(number), [*rows, *ahead], tables={"retirements": gone})
    first = s.days[0].owed
    assert {x.habit for x in first} == {h.key for h in p.habits}
    minutes = {h.key: sum(x.minutes for x in first if x.habit == h.key) for h in p.habits}
    assert minutes[p.habits[1].key] > minutes[p.habits[0].key]


def test_a_missed_turn_that_would_tip_the_minutes_waits_for_a_better_day() -> None:
    """It is not made up on a day it would leave too far apart, and is made up whole once there is room for it."""
    p = plan(days=24)
    n, missed = next((n, r) for n, r in slots(p).items() if n > 1 and len(of(p, 0, r)) > len(of(p, 1, r)))
    rows = [x for x in follow(made(p), on(n + 1)) if x["date"] != on(n)]
    ahead = [sat(on(n - 1), r, 45, None, where="rehearsal") for r in of(p, 0)[:2]]
    s = made(p, on(n + 1), [*rows, *ahead], usual_min=75)
    again = [m for m, r in owed(s).items() if set(missed) <= set(r) and r != slots(p)[m]]
    plain = made(p, on(n + 1), rows, usual_min=75)
    soon = [m for m, r in owed(plain).items() if set(missed) <= set(r) and r != slots(p)[m]]
    assert soon
    assert again
    assert again[0] > soon[0]
    assert not uneven(s)


@pytest.mark.parametrize("concert", [9, 10, 11])
@pytest.mark.parametrize("off", [(1, 4), (1, 4, 10)])
def test_the_reeds_named_for_a_concert_stay_while_they_are_broken_in(concert: int, off: tuple[int, ...]) -> None:
    """New reeds, days off, missed turns made up: after each day as planned the rest is as it was."""
    p = plan("break_in")
    wishes: dict[str, Any] = {"concerts": [on(concert)], "days_off": [on(n) for n in off]}
    before, today = made(p, **wishes), START
    rows: list[dict[str, Any]] = []
    while today < on(concert):
        rows += follow(before, today + timedelta(days=1)) if not rows else [
            x for x in follow(before, today + timedelta(days=1)) if x["date"] == today]
        today += timedelta(days=1)
        after = made(p, today, rows, **wishes)
        assert after.days == before.days[1:], (today, after.concerts)
        before = after


def test_the_reeds_named_for_a_concert_are_broken_in_by_then() -> None:
    p = plan("break_in")
    for concert in range(3, 14):
        s = made(p, concerts=[on(concert)], days_off=[on(2), on(5)])
        for reed in s.concerts[on(concert)]:
            days: list[date] = [d.on for d in s.days for x in d.lines
                                if x.reed == reed and x.minutes > 0 and d.on < on(concert)]
            assert len(set(days)) >= 3, (concert, reed)


@pytest.mark.parametrize("concert", [6, 9, 11])
def test_with_two_trials_the_day_names_the_same_concert_reeds_as_the_whole_schedule(concert: int) -> None:
    first, second = two("wetting", "break_in")
    both = frames(first, second)
    wishes: dict[str, Any] = {"usual_min": 90, "days_off": [on(2), on(5)], "concerts": [on(concert)]}
    for p in (first, second):
        s = schedule(p, both, today=START, **wishes)
        assert what_to_play(p, both, START, **wishes) == s.days[0]
        assert schedule(p, both, today=START, days=7, **wishes).concerts == s.concerts
