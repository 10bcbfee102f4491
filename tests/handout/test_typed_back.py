"""Typing a filled sheet back in: rows from the plan become sittings, or every fault is told at once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from reedlab.errors import EntryRefused
from reedlab.handout.typed_back import planned_rows, typed_back
from reedlab.handout.week import week_of
from reedlab.records import Sitting

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


def test_filled_rows_become_sittings_and_empty_ones_are_counted() -> None:
    made = rows()
    made[0] |= {"play_min": "12.5", "overall": "7"}
    made[3] |= {"play_min": 10, "overall": 6.5, "from_memory": True, "remark": "cold"}
    found = typed_back(made, a_logbook())
    assert found.sittings == (
        Sitting(date=START, reed="2-01", order=1, play_min=12.5, overall=7.0, habit="case"),
        Sitting(date=START + timedelta(days=1), reed="2-04", order=2, play_min=10.0, overall=6.5, habit="open",
                from_memory=True, remark="cold"))
    assert found.rows == (1, 4)
    assert found.left_empty == 12


def test_a_row_of_ones_own_needs_no_plan() -> None:
    own = {"date": "2026-03-02", "reed": "2-03", "play_min": "90", "where": "rehearsal"}
    assert typed_back([*rows(), own], a_logbook()).rows == (15,)


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
    assert len(typed_back(made, frames).sittings) == 1
