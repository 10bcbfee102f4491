"""The start page as plain data: where the player is, and the one thing to do now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.rows.tables import Frames
from reedlab.screens import start
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

DAY = date(2026, 3, 2)
WAYS = (Habit("mouth", "wetting in the mouth", "Two minutes."), Habit("water", "wetting in water", "One minute."))


def plan(name: str = "Wetting", begins: date = DAY, **more: Any) -> Protocol:
    """Two reeds, two days, one square."""
    fields: dict[str, Any] = {
        "trial": name, "question": "wetting", "ask": "?", "instrument": "clarinet", "habits": WAYS,
        "design": "day_by_day", "outcome": "day_rating", "matters": 1.0, "start": begins, "days": 2,
        "units": (Unit("s1-a", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
                  Unit("s1-b", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
        "dealt": ("mouth", "water"),
        "slots": (Slot(1, 2, "1-01"), Slot(1, 1, "1-02"), Slot(2, 1, "1-01"), Slot(2, 2, "1-02")),
    }
    return Protocol(**{**fields, **more})


def book(*plans: Protocol, ended: Mapping[str, date] | None = None, **more: Any) -> Frames:
    trials = [{"trial": p.trial, "started": p.start, "protocol_sha256": p.sha256, "protocol": p.to_json(),
               "ended": (ended or {}).get(p.trial)} for p in plans]
    return Frames.of(boxes=[{"box": "1", "instrument": "clarinet"}], trials=trials,
                     reeds=[{"reed": r, "box": "1", "first_play": 6.0} for r in ("1-01", "1-02")], **more)


def test_nothing_yet() -> None:
    now = start(Frames.of(), {}, DAY)
    assert (now.state, now.answer, now.held) == ("new", None, (0, 0, 0))


def test_new_reeds_wait_for_their_first_play() -> None:
    now = start(book(), {}, DAY, first=("1-02",), waiting=4)
    assert (now.state, now.first, now.waiting) == ("first_play", ("1-02",), 4)


def test_reeds_ready_and_no_trial_yet() -> None:
    assert start(book(), {}, DAY).state == "between"


@pytest.mark.parametrize("waiting", [0, 3])
def test_a_running_trial_comes_before_new_reeds_and_shows_the_days_reeds_in_order(waiting: int) -> None:
    p = plan()
    now = start(book(p), {p.trial: p}, DAY, waiting=waiting)
    assert (now.state, [x.reed for x in now.lines]) == ("trial", ["1-02", "1-01"])
    assert now.trials == ("Wetting: day 1 of 2",)
    assert now.waiting == waiting


def test_a_trial_that_begins_later_is_told() -> None:
    p = plan(begins=DAY + timedelta(days=3))
    now = start(book(p), {p.trial: p}, DAY)
    assert (now.state, now.lines) == ("trial", ())
    assert "begins on Thursday 5 March" in now.trials[0]


def test_after_the_last_day_the_newest_answer_is_named_unless_new_reeds_wait() -> None:
    one, two = plan("One"), plan("Two", begins=DAY + timedelta(days=5))
    frames, plans = book(two, one), {"Two": two, "One": one}
    later = DAY + timedelta(days=9)
    assert (start(frames, plans, later).state, start(frames, plans, later).answer) == ("ended", "Two")
    assert start(frames, plans, later, waiting=2).state == "first_play"
    between = start(frames, plans, DAY + timedelta(days=3))  # one is over, the other waits
    assert (between.state, between.answer) == ("trial", "One")


def test_a_trial_ended_by_hand_has_its_answer_at_once() -> None:
    p = plan()
    now = start(book(p, ended={p.trial: DAY}), {p.trial: p}, DAY)
    assert (now.state, now.answer) == ("ended", "Wetting")


def test_an_old_diary_is_no_trial() -> None:
    p = plan(how_dealt="not", slots=(), units=(), dealt=())
    assert start(book(), {p.trial: p}, DAY + timedelta(days=9)).state == "between"
