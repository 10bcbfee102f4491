"""Which ratings were due, which are in, and which were made up."""

from __future__ import annotations

from typing import Any

import pytest

from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.progress import due_cells
from reedlab.trial.protocol import Protocol

from .._players import by_reed, frames, on, rated, squares


def six(reed: str, day: int, habit: str) -> float:
    return 6.0


def missing(p: Protocol, rows: list[dict[str, Any]], day: int, **more: Any) -> list[tuple[str, int]]:
    due, done = due_cells(blind(p, frames(p, rows, **more), until=on(day)), on(day))
    assert done <= due
    return sorted(due - done)


def without(rows: list[dict[str, Any]], *gone: tuple[str, int]) -> list[dict[str, Any]]:
    return [r for r in rows if (r["reed"], (r["date"] - on(1)).days + 1) not in gone]


def extra(reed: str, day: int, **more: Any) -> dict[str, Any]:
    return {"date": on(day), "reed": reed, "play_min": 20, "overall": 6.0, **more}


def test_reed_by_reed_a_missed_rating_is_made_up_on_a_later_free_day() -> None:
    p = by_reed((2, 2), days=10)  # 1-01 and 1-02 on odd days, 1-03 and 1-04 on even ones
    rows = without(rated(p, six), ("1-01", 3), ("1-01", 5))
    assert missing(p, rows, 9) == [("1-01", 3), ("1-01", 5)]
    assert missing(p, [*rows, extra("1-01", 6)], 9) == [("1-01", 5)]
    assert missing(p, [*rows, extra("1-01", 6), extra("1-01", 8)], 9) == []


@pytest.mark.parametrize("late", [extra("1-02", 6), extra("1-01", 2), extra("1-01", 6, where="concert"),
                                  extra("1-01", 6, overall=None), extra("1-01", 6, unsure_reed=True)])
def test_another_reed_an_earlier_day_or_a_rating_that_does_not_count_makes_up_nothing(late: dict[str, Any]) -> None:
    p = by_reed((2, 2), days=10)
    assert missing(p, [*without(rated(p, six), ("1-01", 3)), late], 9) == [("1-01", 3)]


def test_day_by_day_nothing_is_made_up_but_a_late_entry_for_the_day_itself_counts() -> None:
    p = squares()
    rows = without(rated(p, six), ("1-01", 1))
    assert missing(p, [*rows, extra("1-01", 3)], 8) == [("1-01", 1)]
    assert missing(p, [*rows, extra("1-01", 1, from_memory=True)], 8) == []


def test_two_sittings_of_which_one_is_rated_are_one_rating() -> None:
    p = squares()
    rows = without(rated(p, six), ("1-01", 1))
    twice = [extra("1-01", 1, overall=None), extra("1-01", 1, overall=6.5, order=2)]
    assert missing(p, [*rows, *twice], 8) == []


def test_the_rating_that_counts_is_the_plans_own() -> None:
    p = squares(rating="response")
    rows = [{**r, "response": 6.0} for r in rated(p, six)]
    assert missing(p, rows, 15) == []
    rows[0]["response"] = None
    assert len(missing(p, rows, 15)) == 1


def test_where_the_ways_set_the_hours_another_reed_in_turn_makes_it_up() -> None:
    p = by_reed((2, 2), days=10, same_days=False)
    rows = without(rated(p, six), ("1-01", 3))
    assert missing(p, [*rows, extra("1-03", 3)], 9) == []
    assert missing(p, [*rows, extra("1-03", 5)], 9) == []
    assert missing(p, [*rows, extra("1-03", 1)], 9) == [("1-01", 3)]


def test_a_reed_owes_its_last_day_of_service_and_none_after() -> None:
    p = by_reed((2, 2), days=10)
    rows = without(rated(p, six), *[("1-01", day) for day in (3, 5, 7, 9)])
    assert missing(p, rows, 10) == [("1-01", 3), ("1-01", 5), ("1-01", 7), ("1-01", 9)]
    gone = [{"reed": "1-01", "date": on(5), "reason": "damaged"}]
    assert missing(p, rows, 10, retirements=gone) == [("1-01", 3), ("1-01", 5)]


def test_the_oldest_missed_rating_is_made_up_first() -> None:
    p = by_reed((2, 2), days=10)
    rows = without(rated(p, six), ("1-01", 1), ("1-01", 5))
    assert missing(p, [*rows, extra("1-01", 6)], 9) == [("1-01", 5)]


def test_a_reed_at_its_cap_of_hours_owes_no_more() -> None:
    p = by_reed((2, 2), days=10, outcome="life_hours", cap_hours=1.0, same_days=False)
    rows = [r for r in rated(p, six) if r["reed"] != "1-01" or (r["date"] - on(1)).days < 5]  # 60 minutes by day 5
    assert missing(p, rows, 9) == []
    assert missing(p, rows[1:], 9) != []
