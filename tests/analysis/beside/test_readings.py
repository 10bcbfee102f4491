"""The main outcome read in every way, side by side."""

from __future__ import annotations

from typing import Any

import pytest

from reedlab.analysis.trial import analyse
from reedlab.trial.result import Finding, TrialResult

from .._players import after, by_reed, frames, on, one_a_day, rated, squares


def by_name(found: TrialResult) -> dict[str, Finding]:
    return {f.reading: f for f in found.readings}


def read(plan: Any, rows: list[dict[str, Any]], **more: Any) -> TrialResult:
    return analyse(plan, frames(plan, rows, **more), today=after(plan))


def test_a_trial_without_gaps_has_only_the_planned_and_the_done_reading() -> None:
    plan = one_a_day(6)
    assert list(by_name(read(plan, rated(plan, lambda r, d, h: 5 + d % 3)))) == ["as_planned", "as_done"]


def test_the_complete_reading_is_that_of_a_trial_without_the_sets_that_miss_something() -> None:
    plan = squares(6)
    rows = rated(plan, lambda r, d, h: 4 + (d * 7 % 5) / 2 + (h == "water") * (1 + d % 2 / 2))
    kept = [r for r in rows if not (r["date"] == on(3) and r["reed"].endswith("3"))]
    found = by_name(read(plan, kept))
    bare = by_name(read(plan, [r for r in rows if r["date"] not in (on(3), on(4))]))
    assert found["complete"].blocks == 5
    assert found["as_planned"].blocks == 6
    for name in ("estimate", "p_value", "low", "high"):
        assert getattr(found["complete"], name) == pytest.approx(getattr(bare["as_planned"], name))


def test_a_reed_that_is_missing_takes_its_whole_set_out_of_the_complete_reading() -> None:
    plan = by_reed((4, 4), days=20)
    rows = [r for r in rated(plan, lambda r, d, h: 5 + (h == "water")) if r["reed"] != "1-02"]
    found = by_name(read(plan, rows))
    assert sum(found["as_planned"].units) == 7
    assert sum(found["complete"].units) == 4


def test_ratings_from_memory_leave_their_own_reading_but_keep_their_minutes() -> None:
    plan = one_a_day(7)
    rows = rated(plan, lambda r, d, h: 5 + (h == "water") * (d % 4))
    late = [{**r, "from_memory": r["date"] == on(6)} for r in rows]
    found = by_name(read(plan, late))
    without = by_name(read(plan, [r for r in rows if r["date"] != on(6)]))
    assert found["no_memory"].blocks == 6
    assert found["no_memory"].estimate == pytest.approx(without["as_planned"].estimate)
    assert found["as_planned"].blocks == 7


def test_lives_have_the_reading_with_damage_counted() -> None:
    plan = by_reed((2, 2), outcome="life_hours", worn_out_rule="player", slots=False)
    rows = [{"date": on(1), "reed": u.unit, "play_min": 300 + 20 * i} for i, u in enumerate(plan.units)]
    gone = [{"reed": "1-01", "date": on(2), "reason": "damaged"},
            {"reed": "1-02", "date": on(2), "reason": "worn_out"}]
    found = by_name(read(plan, rows, retirements=gone))
    assert list(found) == ["as_planned", "as_done", "damage_counts"]
    assert sum(found["damage_counts"].events or ()) == 2
    assert sum(found["as_planned"].events or ()) == 1
