"""The reed case: states, sealing, turns, concerts, what reeds die of and cost."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.cli.now import what_now
from reedlab.reedcase import box_costs, deaths, for_concert, open_case, retired, states, turn
from reedlab.rows.tables import Frames
from reedlab.schedule import running_schedules
from reedlab.screens.due import running
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit
from reedlab.worlds import World

ON = date(2026, 3, 20)
REEDS = [f"1-{n:02d}" for n in range(1, 7)]
PLAN = Protocol(
    trial="Wetting", question="wetting", ask="?", instrument="clarinet",
    habits=(Habit("mouth", "mouth"), Habit("water", "water")),
    design="day_by_day", outcome="day_rating", matters=1.0, start=ON - timedelta(days=1), days=4,
    units=(Unit("a", "s", ("1-01",), (("1-01", 1), ("1-01", 3))),
           Unit("b", "s", ("1-01",), (("1-01", 2), ("1-01", 4)))),
    dealt=("mouth", "water"), slots=tuple(Slot(d, 1, "1-01") for d in range(1, 5)))


def sat(reed: str, ago: int, minutes: float = 30.0, overall: float | None = None, **more: Any) -> dict[str, Any]:
    return {"date": ON - timedelta(days=ago), "reed": reed, "play_min": minutes, "overall": overall, **more}


def book(sittings: list[dict[str, Any]], **more: Any) -> Frames:
    made = {"boxes": [{"box": "1", "instrument": "clarinet", "price": 25.0}],
            "reeds": [{"reed": r, "box": "1"} for r in REEDS]}
    return Frames.of(**{**made, **more}, sittings=sittings)


def of(reed: str, frames: Frames, **more: Any) -> Any:
    return next(s for s in states(frames, more.pop("running", {}), ON, **more) if s.reed == reed)


def test_age_counts_playing_hours_and_todays_minutes() -> None:
    s = of("1-01", book([sat("1-01", 3), sat("1-01", 0, 20)]))
    assert s.hours == pytest.approx(50 / 60)
    assert (s.today_min, s.play_days, s.last_played) == (20, 2, ON)


@pytest.mark.parametrize(("days", "step", "limit"), [(0, 1, 10), (1, 2, 25), (2, 3, 45), (3, 0, 60)])
def test_break_in_goes_on_by_days_of_play(days: int, step: int, limit: float) -> None:
    s = of("1-01", book([sat("1-01", n + 1, 10) for n in range(days)]))
    assert (s.step, s.limit_min) == (step, limit)


def test_reed_broken_in_before_its_first_entry_counts_the_usual_minutes_and_says_so() -> None:
    reeds = [{"reed": "1-01", "box": "1", "first_played": ON - timedelta(days=30)}]
    s = of("1-01", book([sat("1-01", 1, 60)], reeds=reeds))
    assert s.at_least
    assert s.broken_in
    assert s.hours == pytest.approx((10 + 25 + 45 + 60) / 60)


def test_unsure_sittings_and_later_days_are_left_out() -> None:
    s = of("1-01", book([sat("1-01", 1, unsure_reed=True), sat("1-01", -1)]))
    assert s.play_days == 0


@pytest.mark.parametrize(("ratings", "said"), [
    ([8, 8, 8, 5, 5, 5], "down"), ([5, 5, 5, 8, 8, 8], "up"), ([7, 6, 7, 7, 6, 7], "steady"), ([8, 5], None)])
def test_trend_is_said_only_beyond_the_noise(ratings: list[float], said: str | None) -> None:
    s = of("1-01", book([sat("1-01", 20 - i, overall=r) for i, r in enumerate(ratings)]), noise_sd=1.0)
    assert s.trend == said


def test_ratings_trend_and_hours_left_of_a_running_trial_are_sealed_until_opened() -> None:
    frames = book([sat("1-01", 10 - i, overall=r) for i, r in enumerate([9, 9, 9, 4, 4, 4])])
    sealed = open_case(frames, {"Wetting": PLAN}, ON, World())
    reed = next(r for r in sealed.reeds if r.reed == "1-01")
    assert (reed.sealed, reed.recent, reed.trend) == (True, (), None)
    assert set(sealed.lives) == set(REEDS)  # each serves both ways, and hours left follow from the hours played
    assert (sealed.sealed, sealed.opens) == (("Wetting",), {"Wetting": ON + timedelta(days=3)})
    assert (sealed.costs, sealed.sealed_boxes) == ((), ("1",))
    seen = open_case(frames, {"Wetting": PLAN}, ON, World(), opened={"Wetting"})
    assert next(r for r in seen.reeds if r.reed == "1-01").trend == "down"
    assert "1-01" in seen.lives
    assert seen.sealed == ()


def test_hours_left_are_sealed_where_a_reed_serves_one_way() -> None:
    units = tuple(Unit(r, "s", (r,)) for r in REEDS[:4])
    plan = replace(PLAN, design="reed_by_reed", outcome="mean_rating", units=units, slots=(),
                   dealt=("mouth", "water") * 2)
    frames = book([sat("1-01", 3, overall=7)])
    assert set(open_case(frames, {"Wetting": plan}, ON, World()).lives) == set(REEDS[4:])
    assert set(open_case(frames, {"Wetting": plan}, ON, World(), opened={"Wetting"}).lives) == set(REEDS)


def test_a_box_without_a_price_has_its_good_hours_told() -> None:
    frames = book([sat("1-01", 9, 60, 8)], boxes=[{"box": "1", "instrument": "clarinet"}])
    (cost,) = box_costs(frames, ON)
    assert (cost.price, cost.good_h, cost.per_hour) == (None, pytest.approx(1), None)


def test_ratings_of_a_sealed_reed_change_nothing_that_is_shown_of_it() -> None:
    def shown(points: float) -> Any:
        frames = book([sat("1-01", 10 - i, overall=points) for i in range(6)])
        case = open_case(frames, {"Wetting": PLAN}, ON, World())
        reed = next(r for r in case.reeds if r.reed == "1-01")
        pick = next(p for p in case.for_concert(ON + timedelta(days=5)) if p.reed == "1-01")
        return reed, pick, case.turns, case.plans, case.costs

    assert shown(9) == shown(5)


def test_trial_over_or_ended_by_hand_is_no_longer_running() -> None:
    assert set(running_schedules({"Wetting": PLAN}, book([]), ON)) == {"Wetting"}
    assert not running_schedules({"Wetting": PLAN}, book([]), ON + timedelta(days=30))
    ended = book([], trials=[{"trial": "Wetting", "started": PLAN.start, "ended": ON, "protocol_sha256": PLAN.sha256,
                              "protocol": PLAN.to_json()}])
    assert not running_schedules({"Wetting": PLAN}, ended, ON)


def test_the_case_today_and_the_command_line_go_by_one_rule_of_which_trials_go_on() -> None:
    """A plan that nobody dealt asks for its days if it has any; an old diary has none."""
    drawn = replace(PLAN, how_dealt="not")
    for plan, asks in ((PLAN, True), (drawn, True), (replace(drawn, slots=()), False)):
        given = {"Wetting": plan}, book([]), ON
        seen = [bool(running_schedules(*given)), bool(running(*given)),
                bool(open_case(book([]), {"Wetting": plan}, ON, World()).plans),
                "Wetting, day 2 of 4." in "\n".join(what_now(*given))]
        assert seen == [asks] * 4


def test_longest_rested_reed_comes_first_and_nothing_over_its_limit() -> None:
    rows = [sat(r, ago, 30) for r, last in (("1-01", 1), ("1-02", 5), ("1-03", 3)) for ago in range(last, last + 4)]
    turns = turn(states(book(rows), {}, ON), 90)
    assert [t.reed for t in turns] == ["1-02", "1-03", "1-01"]
    assert sum(t.minutes for t in turns) == 90
    assert all(t.minutes <= 60 for t in turns)


def test_new_reeds_are_begun_only_while_fewer_than_three_are_on_the_go() -> None:
    rows = [sat(r, ago, 30) for r in ("1-01", "1-02") for ago in range(1, 5)]
    turns = turn(states(book(rows), {}, ON), 60)
    assert [t.why for t in turns if "break-in" in t.why] == ["break-in, day 1 of 3"]
    assert turns[0].minutes == 10


def test_concert_reed_is_broken_in_steady_good_and_rested() -> None:
    steady = [sat("1-01", 9 - i, overall=8) for i in range(4)]
    shaky = [sat("1-02", 9 - i, overall=r) for i, r in enumerate([9, 6, 9, 6])]
    poor = [sat("1-03", 9 - i, overall=4) for i in range(4)]
    reeds = states(book(steady + shaky + poor), {}, ON)
    picks = {p.reed: p for p in for_concert(reeds, {}, ON + timedelta(days=5), ON)}
    assert picks["1-01"].ready
    assert picks["1-02"].why == "not steady yet"
    assert picks["1-03"].why == "below your rehearsal mark"
    assert "3 more days of break-in" in picks["1-04"].why
    soon = {p.reed: p for p in for_concert(reeds, {}, ON + timedelta(days=1), ON)}
    assert "cannot be broken in by then" in soon["1-04"].why
    played = states(book([*steady, sat("1-01", 0)]), {}, ON)
    tomorrow = next(p for p in for_concert(played, {}, ON + timedelta(days=1), ON) if p.reed == "1-01")
    assert "has not rested" in tomorrow.why


def test_deaths_are_counted_by_reason_with_the_middle_of_their_hours() -> None:
    rows = [sat("1-01", 5, 60), sat("1-02", 5, 120), sat("1-03", 5, 30)]
    gone = [{"reed": "1-01", "date": ON, "reason": "worn_out"}, {"reed": "1-02", "date": ON, "reason": "worn_out"},
            {"reed": "1-03", "date": ON, "reason": "damaged"}]
    found = deaths(retired(book(rows, retirements=gone), ON))
    assert found == [("worn_out", 2, 1.5), ("damaged", 1, 0.5)]


def test_good_hours_of_a_box_end_when_a_reed_is_below_rehearsal_twice_running() -> None:
    rows = [sat("1-01", 9, 60, 8), sat("1-01", 8, 60, 5), sat("1-01", 7, 60, 5), sat("1-01", 6, 60, 5)]
    (cost,) = box_costs(book(rows), ON)
    assert cost.good_h == pytest.approx(3)
    assert cost.per_hour == pytest.approx(25 / 3)
    assert not cost.done


def test_empty_logbook_has_an_empty_case() -> None:
    case = open_case(Frames.of(), {}, ON, World())
    assert (case.reeds, case.turns, case.box_days) == ((), (), None)


def test_turns_follow_the_week_of_the_logbook_and_its_days_off() -> None:
    rows = [sat(r, n, 30) for r in REEDS for n in (1, 2, 3, 4)]
    week = [{"weekday": "friday", "play_min": 25}]  # ON is a Friday
    short = open_case(book(rows, week=week), {}, ON, World())
    assert sum(t.minutes for t in short.turns) == 25
    assert sum(t.minutes for t in open_case(book(rows), {}, ON, World()).turns) > 25
    assert open_case(book(rows, week=[{"weekday": "friday", "play_min": 0}]), {}, ON, World()).turns == ()
    assert open_case(book(rows, days=[{"date": ON, "day_off": True}]), {}, ON, World()).turns == ()


def test_concerts_to_come_are_known_to_the_case() -> None:
    frames = book([], concerts=[{"date": ON + timedelta(days=n), "play_min": 50} for n in (7, -3, 0)])
    assert [(c.on, c.minutes) for c in open_case(frames, {}, ON, World()).concerts] == [
        (ON, 50), (ON + timedelta(days=7), 50)]
