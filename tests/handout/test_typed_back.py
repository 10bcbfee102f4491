"""Typing a filled sheet back in: rows from the plan become sittings, or every fault is told at once."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.errors import EntryRefused
from reedlab.handout.typed_back import planned_rows, typed_back, without_repeats
from reedlab.handout.week import week_of
from reedlab.rows.records import Sitting
from reedlab.trial.protocol import Slot, Unit

from ._plans import START, a_logbook, a_plan


def rows(**changes: Any) -> list[dict[str, Any]]:
    plan = a_plan(**changes)
    return planned_rows(plan, week_of(plan, a_logbook(), today=START).days, a_logbook())


def test_rows_hold_what_the_plan_says_and_nothing_of_what_is_to_be_filled_in() -> None:
    made = rows(setup="main")
    assert len(made) == 14
    assert made[0] == {"date": START, "order": 1, "reed": "2-01", "habit": "case", "setup": "main",
                       "plan_min": 10.0}


def test_a_reed_with_an_entry_on_its_day_is_left_out() -> None:
    plan = a_plan()
    frames = a_logbook(sittings=[{"sitting": "x", "date": START, "reed": "2-01", "play_min": 10, "overall": 7}])
    made = planned_rows(plan, week_of(plan, frames, today=START).days, frames)
    assert "2-01" not in [r["reed"] for r in made if r["date"] == START]
    assert len(made) == 13


def test_with_a_helper_the_habit_is_left_out() -> None:
    assert {r["habit"] for r in rows(masked="helper")} == {None}


def test_filled_rows_are_read_by_their_place_and_empty_ones_left_out() -> None:
    made = rows()
    made[0] |= {"play_min": "12.5", "overall": "7"}
    made[3] |= {"play_min": 10, "overall": 6.5, "from_memory": True, "remark": "cold"}
    found = typed_back(made, a_logbook())
    assert {n: Sitting(**row) for n, row in found.items()} == {
        1: Sitting(date=START, reed="2-01", order=1, play_min=12.5, overall=7.0, habit="case"),
        4: Sitting(date=START + timedelta(days=1), reed="2-04", order=2, play_min=10.0, overall=6.5, habit="open",
                   from_memory=True, remark="cold")}


def test_a_row_of_ones_own_needs_no_plan() -> None:
    own = {"date": "2026-03-02", "reed": "2-03", "play_min": "90", "where": "rehearsal"}
    assert list(typed_back([*rows(), own], a_logbook())) == [15]


def test_all_faults_are_told_at_once_by_row() -> None:
    made = rows()
    made[0] |= {"overall": "7"}
    made[1] |= {"play_min": "ten", "overall": 11}
    made.append({"date": START, "reed": "2-99", "play_min": 10})
    with pytest.raises(EntryRefused) as err:
        typed_back(made, a_logbook())
    assert [(f.line, f.column) for f in err.value.faults] == [
        (1, "play_min"), (2, "play_min"), (2, "overall"), (15, "reed")]
    assert "row 2" in str(err.value)


def test_a_sheet_typed_in_twice_is_refused() -> None:
    made = rows()
    made[0] |= {"play_min": 10, "overall": 7}
    frames = a_logbook(sittings=[{"sitting": "x", "date": START, "reed": "2-01", "play_min": 10, "overall": 7}])
    with pytest.raises(EntryRefused, match="in the logbook"):
        typed_back(made, frames)
    made[0]["overall"] = 6  # the same reed played a second time that day is another row
    assert len(typed_back(made, frames)) == 1


def to_fill(today: date, sittings: list[dict[str, Any]], **changes: Any) -> list[tuple[date, str]]:
    """Return the rows of both weeks, as the spreadsheet shows them."""
    plan, frames = a_plan(days=14, **changes), a_logbook(sittings=sittings)
    days = [d for n in (1, 2) for d in week_of(plan, frames, today=today, number=n).days]
    rows = without_repeats(plan, planned_rows(plan, days, frames), days, frames, today)
    return [(r["date"], r["reed"]) for r in rows]


def rated(on: date, *reeds: str) -> list[dict[str, Any]]:
    return [{"sitting": f"{on}{r}", "date": on, "reed": r, "play_min": 10, "overall": 7} for r in reeds]


@pytest.mark.parametrize("missed", range(1, 6))
def test_each_rating_that_is_missing_has_one_row(missed: int) -> None:
    today = START + timedelta(days=missed)
    made = to_fill(today, rated(START, "2-01"))
    assert len(made) == len(set(made))
    assert Counter(r for _, r in made) <= Counter({"2-01": 6, "2-02": 7, "2-03": 7, "2-04": 7})


def test_after_the_end_each_missed_rating_keeps_one_row() -> None:
    made = to_fill(START + timedelta(days=14), rated(START, "2-01"))
    assert len(made) == len(set(made)) == 27
    assert Counter(r for _, r in made) == Counter({"2-01": 6, "2-02": 7, "2-03": 7, "2-04": 7})


def test_day_by_day_a_missed_rating_keeps_its_row() -> None:
    cells = tuple(Unit(f"u{d}", f"s{(d - 1) // 2}", ("2-01",), (("2-01", d),)) for d in range(1, 15))
    made = to_fill(START + timedelta(days=3), [], design="day_by_day", outcome="day_rating", units=cells,
                   dealt=("case", "open") * 7, slots=tuple(Slot(d, 1, "2-01") for d in range(1, 15)))
    assert [on for on, _ in made] == [START + timedelta(days=k) for k in range(14)]


def test_where_the_way_sets_the_hours_missed_days_come_later_and_have_no_row() -> None:
    today = START + timedelta(days=3)
    made = to_fill(today, [], outcome="wear_rate", same_days=False, cap_hours=5.0, matters=0.1)
    assert made
    assert all(on >= today for on, _ in made)
