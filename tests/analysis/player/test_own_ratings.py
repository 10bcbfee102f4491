"""Which ratings count for the player's own numbers, and what stands beside them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.player.own_ratings import RECENT_DAYS, own_ratings, reed_hours
from reedlab.rows.tables import Frames

RAMP = (10.0, 25.0, 45.0)
START = date(2026, 3, 1)


def sitting(day: int, reed: str = "1-01", overall: float | None = 6.0, minutes: float = 30, **more: Any) -> dict:
    return {"date": START + timedelta(days=day), "reed": reed, "play_min": minutes, "overall": overall,
            "sitting": f"{day:04d}-{reed}-{more.get('order', 1)}", **more}


def frames(sittings: list[dict], reeds: dict[str, dict] | None = None, **more: Any) -> Frames:
    codes = sorted({s["reed"] for s in sittings})
    own = reeds or {}
    return Frames.of(boxes=[{"box": b, "instrument": "clarinet"} for b in sorted({c.partition("-")[0] for c in codes})],
                     reeds=[{"reed": c, "box": c.partition("-")[0], **own.get(c, {})} for c in codes],
                     sittings=sittings, **more)


def test_hours_before_a_sitting_are_those_of_that_reed_so_far() -> None:
    f = frames([sitting(2), sitting(0, minutes=60), sitting(1, "1-02", minutes=20), sitting(3, minutes=90)])
    got = reed_hours(f, RAMP).sort_values(["reed", "date"])
    assert got["before_h"].tolist() == [0.0, 1.0, 1.5, 0.0]
    assert got["play_day"].tolist() == [1.0, 2.0, 3.0, 1.0]


def test_a_reed_broken_in_before_the_logbook_starts_with_the_usual_ramp() -> None:
    f = frames([sitting(0), sitting(0, "1-02")], {"1-01": {"first_played": START - timedelta(days=4)},
                                                  "1-02": {"first_played": START}})
    got = reed_hours(f, RAMP).set_index("reed")
    assert got.loc["1-01", "before_h"] == pytest.approx(80 / 60)
    assert np.isnan(got.loc["1-01", "play_day"])
    assert got.loc["1-02", "before_h"] == 0
    assert got.loc["1-02", "play_day"] == 1


@pytest.mark.parametrize("more", [{"unsure_reed": True}, {"from_memory": True}, {"where": "concert"},
                                  {"where": "rehearsal"}, {"overall": None}])
def test_ratings_that_say_little_about_the_steady_spread_are_left_out(more: dict) -> None:
    row = sitting(1)
    row.update(more)
    assert len(own_ratings(frames([sitting(0), row, sitting(2)]), RAMP, 15.0)) == 2


def test_a_reed_leaves_when_it_is_worked_on_and_late_in_its_life() -> None:
    worked = frames([sitting(d) for d in range(6)], {"1-01": {"worked_on": START + timedelta(days=3)}})
    assert len(own_ratings(worked, RAMP, 15.0)) == 3
    long = frames([sitting(d, minutes=60) for d in range(12)])
    assert own_ratings(long, RAMP, 15.0).hours.max() == 7.0  # half of 15 h
    worn = frames([sitting(d, minutes=60) for d in range(10)],
                  retirements=[{"reed": "1-01", "date": START + timedelta(days=9), "reason": "worn_out"}])
    assert own_ratings(worn, RAMP, 100.0).hours.max() == 6.0  # six tenths of its own 10 h


def test_adjustments_wait_for_thirty_ratings_and_drop_what_says_nothing() -> None:
    days = [{"date": START + timedelta(days=d), "humidity_pct": 40 + d % 7} for d in range(20)]
    rows = [sitting(d, f"1-{k + 1:02d}", order=k + 1, minutes=10) for d in range(20) for k in range(2)]
    assert own_ratings(frames(rows[:20], days=days), RAMP, 15.0).x_names == ("level", "hours")
    got = own_ratings(frames(rows, days=days), RAMP, 15.0)
    assert got.x_names == ("level", "hours", "order", "play_day_1", "play_day_2", "play_day_3", "humidity")
    still = [{**d, "humidity_pct": 40} for d in days]
    assert "humidity" not in own_ratings(frames(rows, days=still), RAMP, 15.0).x_names


def test_the_step_of_the_ratings_is_seen() -> None:
    def data(values: list[float]):  # type: ignore[no-untyped-def]
        return own_ratings(frames([sitting(d, overall=v, minutes=10) for d, v in enumerate(values)]), RAMP, 15.0)

    assert data([6, 7, 4, 10]).step == 1.0
    assert data([6, 6.5, 4, 10]).step == 0.5


def test_only_the_latest_days_are_used() -> None:
    got = own_ratings(frames([sitting(d, minutes=1) for d in range(RECENT_DAYS + 30)]), RAMP, 100.0)
    assert len(got) == RECENT_DAYS


def test_an_empty_logbook_gives_no_ratings() -> None:
    got = own_ratings(Frames.of(), RAMP, 15.0)
    assert len(got) == 0
    assert got.step == 0
