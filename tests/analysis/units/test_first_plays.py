"""The short first play of a reed: it makes the reed older and is no day of break-in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.player.own_ratings import reed_hours
from reedlab.analysis.player.spreads import own_numbers
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.first_plays import first_plays, played_beyond_first
from reedlab.handout.typed_back import planned_rows
from reedlab.handout.week import week_of
from reedlab.reedcase import open_case, states
from reedlab.rows.tables import Frames
from reedlab.schedule import what_to_play
from reedlab.schedule.diary import diary_of
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit
from reedlab.worlds import World

ON = date(2026, 3, 2)
RAMP = (10.0, 25.0, 45.0)
REEDS = ("1-01", "1-02", "1-03", "1-04")


def sat(reed: str, after: int, minutes: float = 4.0, **more: Any) -> dict[str, Any]:
    return {"sitting": f"{reed}@{after}{more.get('order', '')}", "date": ON + timedelta(days=after), "reed": reed,
            "play_min": minutes, "where": "practice", **more}


def book(*sittings: dict[str, Any], **more: Any) -> Frames:
    reeds = [{"reed": r, "box": "1", "first_play": 6.0, "first_played": ON} for r in REEDS]
    return Frames.of(boxes=[{"box": "1", "instrument": "clarinet"}], reeds=reeds, sittings=list(sittings), **more)


@pytest.mark.parametrize(("row", "is_first"), [
    (sat("1-01", 0), True),
    (sat("1-01", 0, where=None), True),
    (sat("1-01", 0, 10.0), True),
    (sat("1-01", 0, 11.0), False),  # longer than the first day of break-in: a day of play
    (sat("1-01", 0, overall=7.0), False),
    (sat("1-01", 0, where="rehearsal"), False),
    (sat("1-01", 0, unsure_reed=True), False),
    (sat("1-01", 1), False),
    (sat("1-01", -1), False),
])
def test_a_short_unrated_sitting_on_the_day_of_the_first_play_is_it(row: dict[str, Any], is_first: bool) -> None:
    assert first_plays(book(row)).tolist() == [is_first]


def test_of_two_short_sittings_on_that_day_the_first_in_order_is_the_first_play() -> None:
    assert first_plays(book(sat("1-01", 0, order=2), sat("1-01", 0, order=1))).tolist() == [False, True]
    assert first_plays(book(sat("1-01", 0, 30.0, order=1), sat("1-01", 0, order=2))).tolist() == [False, False]


def test_without_sittings_or_first_plays_there_is_none() -> None:
    assert first_plays(Frames.of()).tolist() == []
    assert first_plays(Frames.of(reeds=[{"reed": "1-01", "box": "1"}], sittings=[sat("1-01", 0)])).tolist() == [False]


def test_a_reed_is_new_until_it_is_played_beyond_its_first_play() -> None:
    assert played_beyond_first(book(sat("1-01", 0), sat("1-02", 0), sat("1-02", 0, 8.0, order=2), sat("1-03", 1))) == [
        "1-02", "1-03"]


def test_hours_count_it_and_days_of_play_begin_after_it() -> None:
    rows = reed_hours(book(sat("1-01", 0), sat("1-01", 1, 10.0), sat("1-01", 2, 25.0)), RAMP)
    assert rows["play_day"].tolist() == [0, 1, 2]
    assert rows["before_h"].tolist() == pytest.approx([0, 4 / 60, 14 / 60])


@pytest.mark.parametrize("written", [True, False])
def test_break_in_that_was_not_written_down_is_seen_with_and_without_a_first_play(written: bool) -> None:
    rows = reed_hours(book(*([sat("1-01", 0)] if written else []), sat("1-01", 9, 60.0)), RAMP)
    assert rows["play_day"].isna().all()
    assert rows["before_h"].tolist()[-1] == pytest.approx((80 + 4 * written) / 60)


def test_case_shows_it_in_hours_and_minutes_and_not_as_a_step_of_break_in() -> None:
    fresh = next(s for s in states(book(sat("1-01", 0)), {}, ON) if s.reed == "1-01")
    assert (fresh.hours, fresh.today_min, fresh.room_min) == pytest.approx((4 / 60, 4, 6))
    assert (fresh.play_days, fresh.step, fresh.at_least, fresh.last_played) == (0, 1, False, ON)
    later = next(s for s in states(book(sat("1-01", 0), sat("1-01", 1, 10.0)), {}, ON + timedelta(days=2))
                 if s.reed == "1-01")
    assert (later.play_days, later.step) == (1, 2)
    assert later.hours == pytest.approx(14 / 60)


def test_reeds_with_nothing_but_their_first_play_stay_new_in_the_case() -> None:
    seen = []
    for rows in ([sat(r, 0) for r in REEDS], []):
        case = open_case(book(*rows), {}, ON + timedelta(days=1), World())
        seen.append((case.counted, [r.reed for r in case.reeds if not r.play_days],
                     [(t.reed, t.minutes) for t in case.turns]))
    assert seen[0] == seen[1]
    assert seen[0][:2] == (0, list(REEDS))


def a_trial(**changes: Any) -> Protocol:
    plan = Protocol(
        trial="t", question="drying", ask="?", instrument="clarinet", habits=(Habit("case", "a"), Habit("open", "b")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=ON + timedelta(days=1), days=8,
        units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)), dealt=("case", "open", "open", "case"),
        slots=tuple(Slot(d, k + 1, r) for d in range(1, 9) for k, r in enumerate(REEDS)), seed=1)
    return replace(plan, **changes)


def test_hours_of_a_trial_stay_as_they_were_unless_they_count_from_new() -> None:
    played = [sat(r, 1 + d, 10.0, overall=6.0) for r in REEDS for d in range(3)]
    first = [sat(r, 0) for r in REEDS]
    for from_new, more in ((False, 0.0), (True, 4 / 60)):
        plan = a_trial(from_new=from_new)
        hours = blind(plan, book(*first, *played)).hours
        assert hours == pytest.approx(blind(plan, book(*played)).hours + more)
        assert hours == pytest.approx(np.full(4, 0.5 + more))


def test_break_in_of_a_trial_goes_by_its_own_days_with_and_without_a_first_play() -> None:
    plan = a_trial(from_new=True)
    days = [what_to_play(plan, book(*rows), plan.start) for rows in ([sat(r, 0) for r in REEDS], [])]
    assert days[0].lines == days[1].lines
    diary = diary_of(plan, book(*[sat(r, 0) for r in REEDS], sat("1-01", 1, 10.0)), ON + timedelta(days=2))
    assert [diary.play_days(r, ON + timedelta(days=2)) for r in ("1-01", "1-02")] == [1, 0]


def test_more_play_on_the_day_of_the_first_play_makes_it_a_day_of_play() -> None:
    diary = diary_of(a_trial(), book(sat("1-01", 0, order=1), sat("1-01", 0, 20.0, order=2)), ON + timedelta(days=1))
    assert diary.play_days("1-01", ON + timedelta(days=1)) == 1


def test_a_planned_line_stays_on_the_sheet_when_only_the_first_play_stands_on_its_day() -> None:
    plan = a_trial(start=ON)
    frames = book(sat("1-01", 0), sat("1-02", 0, 10.0, overall=6.0))
    rows = planned_rows(plan, week_of(plan, frames, today=ON).days, frames)
    assert {r["reed"] for r in rows if r["date"] == ON} >= {"1-01"}
    assert "1-02" not in {r["reed"] for r in rows if r["date"] == ON}


def test_the_players_own_numbers_are_not_moved_by_first_plays() -> None:
    played = [sat(r, 3 + d, 30.0, overall=5.0 + (d + k) % 4, order=k + 1) for d in range(6)
              for k, r in enumerate(REEDS)]
    with_first, without = (own_numbers(book(*rows, *played), World()) for rows in ([sat(r, 0) for r in REEDS], []))
    for name in ("minutes_a_day", "day_off"):
        assert with_first[name].value == without[name].value
