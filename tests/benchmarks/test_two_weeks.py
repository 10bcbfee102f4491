"""The two-week truth: every question is there, and lives almost never tell."""

from __future__ import annotations

from datetime import date

import pytest

from reedlab.questions import CATALOGUE

from .two_weeks import TwoWeeks, two_weeks, two_weeks_table


@pytest.fixture(scope="module")
def rows() -> list[TwoWeeks]:
    return two_weeks(trials=60)


def test_the_two_week_truth_covers_every_question_and_lives_almost_never_tell(rows: list[TwoWeeks]) -> None:
    assert {r.question for r in rows} == set(CATALOGUE)
    lives = [r for r in rows if r.outcome == "life_hours"]
    assert {r.question for r in lives} == {k for k, q in CATALOGUE.items() if "life_hours" in q.outcomes}
    for r in rows:
        assert r.plan is not None
        assert r.plan.protocol.days <= 14
        assert r.twice >= r.plan.right - 0.1
        # where only the cuts are alike, two boxes still differ: their reeds are named, and rightly so
        assert (0.1 < r.wrong < 0.6) if r.question == "cut_or_strength" else r.wrong < 0.2
    assert all(r.plan is not None and r.plan.right < 0.05 for r in lives)
    assert all(r.plan is not None and r.plan.worn_out < 2 for r in lives)
    assert date(2001, 3, 1) == rows[0].plan.protocol.start  # type: ignore[union-attr]


def test_the_table_has_a_row_for_each_plan_and_says_why_one_is_missing(rows: list[TwoWeeks]) -> None:
    short = TwoWeeks("drying", CATALOGUE["drying"].title, "life_hours", None, float("nan"), "It is too short.")
    lines = two_weeks_table([*rows, short]).strip().splitlines()
    assert len(lines) == len(rows) + 3
    assert len({line.count("|") for line in lines}) == 1
    for row, line in zip(rows, lines[2:], strict=False):
        assert row.title in line
        assert "almost never" in line or row.outcome != "life_hours"
    assert "It is too short." in lines[-1]
