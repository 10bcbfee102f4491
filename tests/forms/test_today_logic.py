"""What is on today, and what looks odd, without any widget."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.rows.tables import Frames
from reedlab.screens import due as today_logic
from reedlab.screens import today
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
WAYS = (Habit("mouth", "wetting in the mouth", "Two minutes."), Habit("water", "wetting in water", "One minute."))


def plan(**more: Any) -> Protocol:
    """Two reeds, two days, one square: 1-01 gets mouth then water, 1-02 the other way round."""
    fields: dict[str, Any] = {
        "trial": "Wetting", "question": "wetting", "ask": "?", "instrument": "clarinet", "habits": WAYS,
        "design": "day_by_day", "outcome": "day_rating", "matters": 1.0, "start": START, "days": 2,
        "units": (Unit("s1-a", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
                  Unit("s1-b", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
        "dealt": ("mouth", "water"),
        "slots": (Slot(1, 2, "1-01"), Slot(1, 1, "1-02"), Slot(2, 1, "1-01"), Slot(2, 2, "1-02")),
    }
    return Protocol(**{**fields, **more})


def book(sittings: list[dict[str, Any]] | None = None, **more: Any) -> Frames:
    reeds = more.pop("reeds", [{"reed": r, "box": "1"} for r in ("1-01", "1-02", "1-03")])
    return Frames.of(boxes=[{"box": "1", "instrument": "clarinet"}], reeds=reeds,
                     sittings=sittings or [], **more)


def sitting(**more: Any) -> dict[str, Any]:
    return {"date": START, "reed": "1-01", "play_min": 10.0, "overall": 7.0, "where": "practice", "habit": None,
            **more}


def test_day_one_lists_both_reeds_in_planned_order_with_their_way() -> None:
    day = today_logic.trial_day(plan(), book(), START)
    assert day.state == "on"
    assert day.day == 1
    assert [(x.reed, x.habit) for x, _ in today_logic.due_now([day])] == [
        ("1-02", "water"), ("1-01", "mouth")]


def test_ways_swap_on_the_second_day() -> None:
    day = today_logic.trial_day(plan(), book(), START + timedelta(days=1))
    assert {x.reed: x.habit for x in day.due} == {"1-01": "water", "1-02": "mouth"}


def test_rated_reed_counts_as_done_and_unrated_or_unsure_does_not() -> None:
    rows = [sitting(), sitting(reed="1-02", unsure_reed=True)]
    day = today_logic.trial_day(plan(), book(rows), START)
    assert {d.reed: d.done for d in day.due} == {"1-01": True, "1-02": False}
    assert (day.rated, day.planned) == (1, 4)


def test_pause_shifts_the_rest_of_the_trial() -> None:
    paused = book(days=[{"date": START + timedelta(days=1), "pause": True}])
    assert today_logic.trial_day(plan(), paused, START + timedelta(days=1)).state == "paused"
    after = today_logic.trial_day(plan(), paused, START + timedelta(days=2))
    assert (after.day, after.last) == (2, START + timedelta(days=2))


@pytest.mark.parametrize(("offset", "state"), [(-1, "waiting"), (0, "on"), (1, "on"), (2, "over")])
def test_state_follows_the_calendar(offset: int, state: str) -> None:
    assert today_logic.trial_day(plan(), book(), START + timedelta(days=offset)).state == state


def test_trial_ended_by_hand_is_not_running() -> None:
    p = plan()
    frames = book(trials=[{"trial": "Wetting", "started": START, "ended": START, "protocol_sha256": p.sha256,
                           "protocol": p.to_json()}])
    assert today_logic.running({"Wetting": p}, frames, START) == []
    assert len(today_logic.running({"Wetting": p}, book(), START)) == 1


def test_retired_reed_is_no_longer_due_but_may_still_be_entered_for_its_last_day() -> None:
    frames = book(retirements=[{"reed": "1-01", "date": START, "reason": "damaged"}])
    assert "1-01" in today_logic.reeds_in_use(frames, START)
    later = today_logic.trial_day(plan(), frames, START + timedelta(days=1))
    assert [d.reed for d in later.due] == ["1-02"]


def test_rating_is_asked_for_a_due_reed_in_practice_only() -> None:
    days = [today_logic.trial_day(plan(), book(), START)]
    assert today_logic.needs_rating(sitting(), days)
    assert not today_logic.needs_rating(sitting(where="concert"), days)
    assert not today_logic.needs_rating(sitting(reed="1-03"), days)


def odd(entry: dict[str, Any], frames: Frames, p: Protocol | None = None) -> str:
    days = [today_logic.trial_day(p or plan(), frames, entry["date"])]
    return " | ".join(today_logic.odd_things(entry, frames, days))


def test_entry_as_planned_is_not_odd() -> None:
    assert odd(sitting(habit="mouth"), book()) == ""


def test_other_way_than_planned_is_asked_about() -> None:
    assert "says wetting in the mouth; you chose wetting in water" in odd(sitting(habit="water"), book())


def test_reed_off_the_days_plan_is_asked_about_in_practice_only() -> None:
    p = plan(days=4, units=(*plan().units, Unit("s2-a", "s2", ("1-03",), (("1-03", 3),)),
                            Unit("s2-b", "s2", ("1-03",), (("1-03", 4),))),
             dealt=("mouth", "water", "mouth", "water"),
             slots=(*plan().slots, Slot(3, 1, "1-03"), Slot(4, 1, "1-03")))
    frames = book(reeds=[{"reed": r, "box": "1"} for r in ("1-01", "1-02", "1-03", "1-04")])
    assert "not on the plan" in odd(sitting(reed="1-03"), frames, p)
    assert "not on the plan" not in odd(sitting(reed="1-03", where="rehearsal"), frames, p)
    assert "not on the plan" not in odd(sitting(reed="1-04"), frames, p)


def test_days_gone_by_without_their_rating_are_listed_as_missing() -> None:
    day = today_logic.trial_day(plan(), book([sitting()]), START + timedelta(days=1))
    assert day.missing == ((1, START, "1-02"),)


def test_day_off_has_nothing_due() -> None:
    off = book(days=[{"date": START, "day_off": True}])
    day = today_logic.trial_day(plan(), off, START)
    assert (day.state, day.day, day.due) == ("on", 1, ())


def test_minutes_over_the_daily_limit_count_all_entries_of_the_day() -> None:
    frames = book([sitting(play_min=55.0)])
    assert "has 65 minutes this day; its limit is about 60" in odd(sitting(), frames)


def test_limit_of_the_way_under_test_replaces_the_usual_one() -> None:
    p = replace(plan(), overrides=(("mouth", "daily_limit_min", 720.0),))
    assert "limit" not in odd(sitting(play_min=100.0), book(), p)


def test_second_entry_of_a_reed_and_a_reed_set_aside_are_asked_about() -> None:
    assert "already" in odd(sitting(), book([sitting()]))
    aside = book(reeds=[{"reed": "1-01", "box": "1", "set_aside": True}])
    assert "set aside" in odd(sitting(), aside)


def test_minutes_come_from_the_plan() -> None:
    day = today_logic.trial_day(plan(), book(), START)
    assert [d.minutes for d in day.due] == [10, 10]


def test_a_day_off_or_a_reed_set_aside_is_not_called_missing() -> None:
    later = START + timedelta(days=1)
    off = book([sitting()], days=[{"date": START, "day_off": True}])
    assert today_logic.trial_day(plan(), off, later).missing == ()
    aside = book([sitting()], reeds=[{"reed": r, "box": "1", "set_aside": r == "1-02"} for r in ("1-01", "1-02")])
    assert today_logic.trial_day(plan(), aside, later).missing == ()


def test_a_rating_made_up_on_a_later_day_counts_as_done() -> None:
    p = plan(design="reed_by_reed", outcome="mean_rating", days=4, dealt=("mouth", "water"),
             units=(Unit("1-01", "s1", ("1-01",)), Unit("1-02", "s1", ("1-02",))),
             slots=(Slot(1, 1, "1-01"), Slot(1, 2, "1-02"), Slot(2, 1, "1-01")))
    rows = [sitting(), sitting(date=START + timedelta(days=1))]
    third = today_logic.trial_day(p, book(rows), START + timedelta(days=2))
    assert (third.rated, third.missing) == (2, ((1, START, "1-02"),))
    rows.append(sitting(reed="1-02", date=START + timedelta(days=2)))
    fourth = today_logic.trial_day(p, book(rows), START + timedelta(days=3))
    assert (fourth.rated, fourth.planned, fourth.missing) == (3, 3, ())


def test_a_rating_in_a_concert_or_of_another_kind_is_still_missing_for_the_answer() -> None:
    later = START + timedelta(days=1)
    rows = [sitting(where="concert"), sitting(reed="1-02")]
    assert today_logic.trial_day(plan(), book(rows), later).missing == ((1, START, "1-01"),)
    response = plan(rating="response")
    rows = [sitting(response=6.0), sitting(reed="1-02")]
    assert today_logic.trial_day(response, book(rows), later).missing == ((1, START, "1-02"),)


def test_what_concerns_all_trials_is_said_once_below_them() -> None:
    other = plan(trial="Again", units=(Unit("s1-a", "s1", ("1-03",), (("1-03", 1),)),
                                       Unit("s1-b", "s1", ("1-03",), (("1-03", 2),))),
                 slots=(Slot(1, 1, "1-03"), Slot(2, 1, "1-03")))
    plans = {p.trial: p for p in (plan(), other)}
    frames = book(week=[{"weekday": "monday", "play_min": 20}], trials=[
        {"trial": p.trial, "started": START, "protocol_sha256": p.sha256, "protocol": p.to_json()}
        for p in plans.values()])
    told = today(frames, plans, START).messages
    said = "The ratings of your 2 trials take 30 minutes"
    assert [said in text for text in told] == [False] * (len(told) - 1) + [True]
