"""Other columns and outcomes beside the answer: the same numbers as a trial of that column would give."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.trial import analyse
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol
from reedlab.trial.result import Finding, TrialResult

from .._players import B, after, by_reed, frames, on, rated, squares

SAME = ("estimate", "low", "high", "low90", "high90", "p_value", "least_p", "exact", "arrangements", "units",
        "blocks", "blocks_dropped", "means", "level")
PLANS = [squares(adjust=("day", "humidity", "order")), by_reed((4, 4), adjust=("first_play",)),
         by_reed((2,) * 6)]


def noisy(gap: float = 1.0) -> Callable[[str, int, str], float]:
    rng = np.random.default_rng(3)
    return lambda reed, day, habit: float(np.clip(np.round(2 * (6 + gap * (habit == B.key) + rng.normal(0, 0.7))) / 2,
                                                  0, 10))


def played(p: Protocol, *, every: int = 1) -> list[dict[str, Any]]:
    """Rows with all four columns, every third tone left empty where `every` is 3."""
    rng = np.random.default_rng(8)
    rows = rated(p, noisy(0.5))
    for i, row in enumerate(rows):
        b = row["habit"] == p.habits[1].key
        row["response"] = float(np.clip(round(2 * (6 + 1.5 * b + rng.normal(0, 0.8))) / 2, 0, 10))
        row["tone"] = float(np.clip(round(2 * (6 - 1.0 * b + rng.normal(0, 0.8))) / 2, 0, 10))
        row["stiffness"] = float(np.clip(round(2 * (1.5 - b + rng.normal(0, 0.8))) / 2, -3, 3))
        if every > 1 and i % every == 0:
            row["tone"] = None
    return rows


def seen(r: TrialResult, column: str) -> Finding:
    return next(f for f in r.also_seen if f.rating == column and f.outcome in ("day_rating", "mean_rating"))


@pytest.mark.parametrize("p", PLANS)
@pytest.mark.parametrize("column", ["response", "tone"])
@pytest.mark.parametrize("every", [1, 3])
def test_a_column_is_read_as_the_trial_would_be_with_it_in_the_place_of_overall(
    p: Protocol, column: str, every: int
) -> None:
    rows = played(p, every=every)
    beside = seen(analyse(p, frames(p, rows), today=after(p)), column)
    moved = [{**r, "overall": r[column]} for r in rows]
    alone = analyse(p, frames(p, moved), today=after(p), side_readings=False).main
    assert alone is not None
    for name in SAME:
        assert getattr(beside, name) == pytest.approx(getattr(alone, name)), name
    assert beside.verdict is None
    assert beside.reading == "also_seen"


@pytest.mark.parametrize("p", PLANS)
def test_stiffness_is_read_as_closeness_to_just_right(p: Protocol) -> None:
    rows = played(p)
    beside = seen(analyse(p, frames(p, rows), today=after(p)), "stiffness")
    asked = dataclasses.replace(p, rating="stiffness")
    alone = analyse(asked, frames(asked, rows), today=after(p), side_readings=False).main
    assert alone is not None
    for name in SAME:
        assert getattr(beside, name) == pytest.approx(getattr(alone, name)), name


def test_a_trial_of_tone_shows_the_overall_rating_beside_it() -> None:
    p = squares(rating="tone")
    r = analyse(p, frames(p, played(p)), today=after(p))
    assert r.main is not None
    assert r.main.rating == "tone"
    assert [f.rating for f in r.also_seen] == ["overall", "response", "stiffness"]


def test_columns_that_were_not_filled_in_are_not_told_of() -> None:
    p = squares()
    assert analyse(p, frames(p, rated(p, noisy())), today=after(p)).also_seen == ()
    rows = played(p)
    for row in rows:
        row["tone"] = row["stiffness"] = None
    assert [f.rating for f in analyse(p, frames(p, rows), today=after(p)).also_seen] == ["response"]


def test_a_life_trial_shows_the_columns_as_mean_ratings() -> None:
    p = by_reed((4, 4), outcome="life_hours")
    r = analyse(p, frames(p, played(p)), today=after(p))
    assert {(f.outcome, f.rating) for f in r.also_seen} >= {
        ("mean_rating", "overall"), ("mean_rating", "response"), ("mean_rating", "tone")}


def test_nothing_stands_beside_the_answer_while_the_trial_runs_or_after_the_day_it_is_read_on() -> None:
    p = squares()
    rows = played(p)
    assert analyse(p, frames(p, rows), today=on(9)).also_seen == ()
    early = [r for r in rows if r["date"] <= on(6)]
    one, two = (analyse(p, frames(p, x), today=on(6), open_early=True).also_seen for x in (rows, early))
    assert one == two
    assert len(one) == 3


def test_rows_of_another_reed_do_not_count_for_a_column() -> None:
    p = squares()
    rows: Any = rated(p, noisy())
    other = {"date": on(3), "reed": "9-01", "play_min": 10, "tone": 8.0}
    f = frames(p, [*rows, other])
    assert isinstance(f, Frames)
    assert analyse(p, f, today=after(p)).also_seen == ()
