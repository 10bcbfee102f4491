"""What the reed case shows: facts and rows as data, with nothing that tells how a sealed trial goes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.reedcase import open_case
from reedlab.rows.tables import Frames
from reedlab.screens.case import CasePage, ReedRow, case_page
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit
from reedlab.worlds import World

ON = date(2026, 3, 20)  # a Friday
REEDS = [f"1-{n:02d}" for n in range(1, 7)]
DAYS = 8


def trial(design: str = "day_by_day") -> Protocol:
    """Two reeds in squares of two days, or one reed a way, from eight days ago."""
    habits = (Habit("mouth", "mouth"), Habit("water", "water"))
    if design == "reed_by_reed":
        return Protocol(
            trial="Wetting", question="wetting", ask="?", instrument="clarinet", habits=habits, design=design,
            outcome="mean_rating", matters=1.0, start=ON - timedelta(days=DAYS), days=DAYS + 2,
            units=tuple(Unit(r, "s", (r,)) for r in REEDS[:2]), dealt=("mouth", "water"))
    units = []
    for k in range(0, DAYS, 2):
        for i, (a, b) in enumerate(((1, 2), (2, 1))):
            units.append(Unit(f"{k}.{i}", str(k), tuple(REEDS[:2]), ((REEDS[0], k + a), (REEDS[1], k + b))))
    return Protocol(
        trial="Wetting", question="wetting", ask="?", instrument="clarinet", habits=habits, design=design,
        outcome="day_rating", matters=1.0, start=ON - timedelta(days=DAYS), days=DAYS + 2, units=tuple(units),
        dealt=("mouth", "water") * (DAYS // 2),
        slots=tuple(Slot(d, n, r) for d in range(1, DAYS + 3) for n, r in enumerate(REEDS[:2], 1)))


def sat(reed: str, ago: int, overall: float | None = None, minutes: float = 30.0, **more: Any) -> dict[str, Any]:
    return {"date": ON - timedelta(days=ago), "reed": reed, "play_min": minutes, "overall": overall, **more}


def book(sittings: list[dict[str, Any]], **more: Any) -> Frames:
    made = {"boxes": [{"box": "1", "instrument": "clarinet", "price": 25.0}],
            "reeds": [{"reed": r, "box": "1"} for r in REEDS]}
    return Frames.of(**{**made, **more}, sittings=sittings)


def page(frames: Frames, plan: Protocol | None = None, **more: Any) -> CasePage:
    return case_page(open_case(frames, {} if plan is None else {plan.trial: plan}, ON, World(), **more))


def row(shown: CasePage, reed: str) -> ReedRow:
    return next(r for r in shown.rows if r.reed == reed)


STEADY = [sat("1-03", n, 8.0) for n in (2, 4, 5, 6, 7, 8)]


def test_four_facts_stand_on_top_whatever_is_known() -> None:
    for frames in (Frames.of(), book([]), book(STEADY)):
        shown = page(frames)
        assert len(shown.facts) == 4
        assert all(f.title and f.value for f in shown.facts)
    today, saturday, good, box = page(book(STEADY)).facts
    assert (today.title, today.value.split(", ")[-1]) == ("Today, Friday 20 March", "1-03")
    assert (saturday.title, saturday.value) == ("Saturday 21 March", "1-03")
    assert (good.title, good.value) == ("Good hours of box 1, so far", "3 h at 8.33 each")
    assert (box.title, box.value) == ("Open the next box", "now")


def test_the_next_concert_takes_the_place_of_saturday() -> None:
    fact = page(book(STEADY, concerts=[{"date": ON + timedelta(days=4), "play_min": 50}])).facts[1]
    assert (fact.title, fact.value, fact.more) == (
        "Tuesday 24 March, concert", "1-03", ("no spare yet", "rest it the day before"))


def test_where_a_trial_keeps_reeds_for_the_concert_the_case_names_those_and_no_other() -> None:
    concert = ON + timedelta(days=4)
    case = open_case(book(STEADY, concerts=[{"date": concert, "play_min": 50}]), {"Wetting": trial()}, ON, World())
    shown = case_page(case)
    assert shown.ready.reeds == case.named[concert]
    assert shown.facts[1].value == case.named[concert][0]
    assert "Your plan keeps" in shown.ready.head


def test_a_row_says_what_the_reed_is_for_how_it_went_and_how_long_it_may_last() -> None:
    shown = page(book(STEADY))
    steady = row(shown, "1-03")
    assert (steady.kind, steady.course, steady.course_words, steady.rested) == (
        "play", (8.0,) * 6, "steady", "rested 1 day")
    assert steady.hours.low is not None
    assert steady.hours.high is not None
    assert steady.hours.played < steady.hours.low < steady.hours.high <= shown.widest
    assert steady.hours.words.startswith("3.0 of ")
    assert shown.new == ("Box 1, not played in yet: 1-04, 1-05, 1-06",)  # two new ones are asked for today
    played = row(page(book([*STEADY, sat("1-03", 0, minutes=60)])), "1-03")
    assert (played.kind, played.rested) == ("played", "played today")


def test_reeds_of_a_sealed_trial_show_no_course() -> None:
    for design in ("day_by_day", "reed_by_reed"):
        frames = book([sat(r, n, 9.0 - n) for r in REEDS[:2] for n in range(1, DAYS + 1)])
        shown = page(frames, trial(design))
        for reed in REEDS[:2]:
            assert row(shown, reed).course == ()
            assert (row(shown, reed).hours.high is None) is (design == "reed_by_reed")
        assert "Box 1: sealed, in a trial" in shown.costs
        opened = page(frames, trial(design), opened={"Wetting"})
        assert row(opened, "1-01").course_words == "going up"
    assert row(page(frames, trial("reed_by_reed")), "1-01").course_words == "sealed until 22 March"


@pytest.mark.parametrize("gap", [0.0, 2.0])
def test_reeds_that_serve_both_ways_are_compared_with_each_other_and_no_gap_is_seen(gap: float) -> None:
    plan, rows = trial(), []
    for n in range(DAYS, 0, -1):
        for reed, level in zip(REEDS[:2], (7.0, 5.0), strict=True):
            habit = plan.habit_for(reed, DAYS + 1 - n)
            assert habit is not None
            rows.append(sat(reed, n, level + gap * (habit.key == "water"), 10, habit=habit.key))
    shown = page(book(rows), plan)
    assert [row(shown, r).course_words for r in REEDS[:2]] == [
        f"1 point {side} average" for side in ("above", "below")]
    other = replace(plan, dealt=("water", "mouth") * (DAYS // 2))
    rows = [{**r, "overall": r["overall"] + gap * (1 if r["habit"] == "mouth" else -1),
             "habit": "water" if r["habit"] == "mouth" else "mouth"} for r in rows]
    assert page(book(rows), other) == shown
