"""A player who does what the schedule says, a day missed and made up, has nothing missing in the end."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.progress import due_cells
from reedlab.schedule import what_to_play
from reedlab.schedule.diary import diary_of
from reedlab.schedule.turns import Turns

from ..analysis._players import by_reed, frames, rated
from ..analysis._players import on as play_day
from ._plans import START, book, on, plan, sat


def play(question: str, missed: int, days: int, **more: Any) -> tuple[Any, list[dict[str, Any]]]:
    p = plan(question, **more)
    rows: list[dict[str, Any]] = []
    for i in range(days):
        today = START + timedelta(days=i)
        if i + 1 != missed:
            rows += [sat(today, x.reed, x.minutes) for x in what_to_play(p, book(p, rows), today).owed]
    return p, rows


def missing(p: Any, rows: list[dict[str, Any]], day: int) -> set[tuple[str, int]]:
    due, done = due_cells(blind(p, book(p, rows), until=on(day)), on(day))
    return due - done


@pytest.mark.parametrize("question", ["drying", "storage_case"])
def test_a_missed_day_counts_as_done_once_it_is_made_up(question: str) -> None:
    p, rows = play(question, missed=3, days=p_days(question))
    assert {d for _, d in missing(p, rows, 4)} == {3}
    assert missing(p, rows, p.days + 1) == set()
    assert {(r["reed"], r["date"]) for r in rows} != {(s.reed, on(s.day)) for s in p.slots}


def test_the_oldest_missed_turn_is_made_up_first_and_is_the_one_that_a_late_rating_stands_for() -> None:
    p = by_reed((2, 2), days=10)  # 1-01 and 1-02 on odd days, 1-03 and 1-04 on even ones
    rows = [r for r in rated(p, lambda *_: 6.0) if r["date"] < play_day(3)]  # five days are missed
    assert [t.day for t in Turns(diary_of(p, frames(p, rows), play_day(8)), 9).due(8)] == [8, 3, 4, 5, 6, 7]
    late = [{**r, "date": play_day(8)} for r in rows if r["date"] == play_day(1)]
    still = Turns(diary_of(p, frames(p, [*rows, *late]), play_day(9)), 9).open
    assert sorted(t.day for t in still) == [4, 5, 6, 7, 8, 9, 10]


def p_days(question: str) -> int:
    return plan(question).days


def test_where_the_hours_count_no_phantom_ratings_are_missing_after_a_day_off() -> None:
    p, rows = play("rotation", missed=3, days=p_days("rotation"))
    slots_of_a_day = max(sum(s.day == d for s in p.slots) for d in range(1, p.days + 1))
    assert len(missing(p, rows, p.days + 1)) <= slots_of_a_day


def test_day_by_day_a_missed_day_stays_missing() -> None:
    p, rows = play("wetting", missed=3, days=p_days("wetting"))
    assert missing(p, rows, p.days + 1) == {(s.reed, 3) for s in p.slots if s.day == 3}
