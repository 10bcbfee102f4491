"""Not playing: one idea, today or for weeks; what moves, what is lost, who stands in for a reed that is gone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest

from reedlab.errors import InputError
from reedlab.plan import draw_up
from reedlab.rows.tables import Frames, typed
from reedlab.screens.not_playing import Away, away, away_now, back_again, days_behind
from reedlab.screens.stands_in import stands_in
from reedlab.trial.calendar import calendar_of
from reedlab.trial.protocol import Protocol

START = date(2026, 3, 2)  # a Monday
REEDS = [{"reed": f"1-{n:02d}", "box": "1", "first_play": 5 + n / 4, "first_played": START - timedelta(days=20)}
         for n in range(1, 11)]


def plan_of(question: str, reeds: int = 10, **more: Any) -> Protocol:
    return draw_up(question, typed("reeds", REEDS[:reeds]), start=START, seed=3, trial="The trial",
                   instrument="clarinet", simulations=100, minutes_a_day=60, **more).protocol


DAYS = plan_of("wetting", 4, design="day_by_day", reeds_a_day=4, days=14)
ROWS = plan_of("drying", 8, design="reed_by_reed", outcome="mean_rating", days=21)
ONE_AT_A_TIME = plan_of("rotation", 8, outcome="wear_rate")


def book(plan: Protocol, sittings: list[dict[str, Any]] | None = None, **more: Any) -> Frames:
    return Frames.of(**{"boxes": [{"box": "1", "instrument": "clarinet"}], "reeds": REEDS, "sittings": sittings or [],
                        "trials": [{"trial": plan.trial, "started": plan.start, "protocol_sha256": plan.sha256,
                                    "protocol": plan.to_json()}], **more})


def sat(reed: str, day: int, overall: float = 6.0) -> dict[str, Any]:
    return {"date": START + timedelta(days=day - 1), "reed": reed, "play_min": 10, "overall": overall}


def told(plan: Protocol, frames: Frames, first: int, last: int, today: int) -> Away:
    days = [START + timedelta(days=d - 1) for d in (first, last, today)]
    return away(frames, {plan.trial: plan}, *days)


def after(frames: Frames, found: Away) -> Frames:
    kept = frames.days[~frames.days["date"].dt.date.isin([r.date for r in found.rows])]
    rows = typed("days", [vars(r) for r in found.rows])
    return replace(frames, days=pd.concat([kept, rows]) if len(kept) else rows)


@pytest.mark.parametrize("plan", [DAYS, ROWS], ids=["day by day", "reed by reed"])
@pytest.mark.parametrize("days", [1, 5])
def test_a_trial_moves_along_by_the_days_away_and_nothing_is_lost(plan: Protocol, days: int) -> None:
    frames = book(plan, [sat(plan.reeds[0], 1)])
    found = told(plan, frames, 3, 2 + days, 3)
    assert found.lost == ()
    last = calendar_of(plan, frames).last + timedelta(days=days)
    assert calendar_of(plan, after(frames, found)).last == last
    assert found.moved == (f"The trial moves along by {days} day{'s' * (days > 1)}: its last day is then {last:%A} "
                           f"{last.day} {last:%B} {last.year}.",)
    assert all(r.pause and r.day_off for r in found.rows)


def test_a_day_begun_or_gone_by_keeps_its_number() -> None:
    """What was rated counts on; the other ratings of a day belong to it and are lost, reed by reed they are made up."""
    on_day = [s.reed for s in DAYS.slots if s.day == 3]
    found = told(DAYS, book(DAYS, [sat(on_day[0], 3)]), 3, 3, 3)
    assert found.moved == ()
    assert not any(r.pause for r in found.rows)
    (lost,) = found.lost
    assert all(r in lost for r in on_day[1:])
    assert on_day[0] not in lost
    assert "cannot be made up" in lost
    played_since = book(DAYS, [sat(r, 3) for r in on_day])
    gone_by = told(DAYS, played_since, 2, 2, 4)
    assert not any(r.pause for r in gone_by.rows)
    assert "Tuesday 3 March 2026 cannot be made up" in gone_by.lost[0]
    first = next(s for s in ROWS.slots if s.day == 3)
    late = told(ROWS, book(ROWS, [sat(first.reed, 3)]), 3, 3, 3)
    assert [x for x in late.lost if "cannot" in x] == []


def test_a_concert_stays_and_no_trial_is_needed() -> None:
    frames = book(DAYS, concerts=[{"date": START + timedelta(days=3), "play_min": 60}])
    found = told(DAYS, frames, 3, 6, 3)
    assert found.lost == ("The concert on Thursday 5 March 2026 stays in the plan.",)
    alone = away(Frames.of(), {}, START, START, START)
    assert (alone.moved, alone.lost) == ((), ())
    assert [(r.day_off, bool(r.pause)) for r in alone.rows] == [(True, False)]


def test_playing_after_all_moves_the_trial_back_and_leaves_days_gone_by() -> None:
    frames = book(DAYS, days=[{"date": START + timedelta(days=n), "pause": True, "day_off": True, "humidity_pct": 40}
                              for n in (1, 2, 3)])
    today = START + timedelta(days=2)
    assert away_now(frames, today) == [(today, today + timedelta(days=1))]
    found = back_again(frames, {DAYS.trial: DAYS}, START, START + timedelta(days=9), today)
    assert [(r.date, r.pause, r.humidity_pct) for r in found.rows] == [
        (today, False, 40), (today + timedelta(days=1), False, 40)]
    assert "moves back by 2 days" in found.moved[0]


def test_dates_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(InputError, match="must come after"):
        told(DAYS, book(DAYS), 5, 4, 3)


# --- a reed that is gone -----------------------------------------------------------------------


def gone(plan: Protocol, reed: str, day: int, **more: Any) -> list[str]:
    on = START + timedelta(days=day - 1)
    left = [{"reed": reed, "date": on, "reason": "damaged"}]
    frames = book(plan, [sat(r, d) for d in range(1, day) for r in [s.reed for s in plan.slots if s.day == d]],
                  retirements=left, **more)
    return stands_in(frames, {plan.trial: plan}, reed, on)


def test_day_by_day_nobody_takes_over_and_what_is_lost_is_counted() -> None:
    reed = DAYS.reeds[0]
    (said,) = gone(DAYS, reed, 3)
    to_come = sum(r == reed and d > 3 for u in DAYS.units for r, d in u.cells)
    assert said == (f"{reed} is gone (chipped or cracked). The trial has no spare for it: its {to_come} ratings to "
                    "come are lost, and the other reeds go on as planned.")


def test_reed_by_reed_its_set_goes_on() -> None:
    reed = ROWS.units[0].reeds[0]
    (said,) = gone(ROWS, reed, 3)
    assert "goes on without it" in said
    mates = [u.reeds[0] for u in ROWS.units if u.block == ROWS.units[0].block and u.reeds[0] != reed]
    assert all(m in said for m in mates)


def test_one_at_a_time_the_next_reed_of_the_way_stands_in() -> None:
    way = {u.reeds[0]: key for u, key in zip(ONE_AT_A_TIME.units, ONE_AT_A_TIME.dealt, strict=True)}
    said = {}
    for reed in ONE_AT_A_TIME.reeds:
        said[reed] = next((x for x in gone(ONE_AT_A_TIME, reed, 2) if "stands in" in x), None)
    found = {r: x for r, x in said.items() if x}
    assert found
    for reed, text in found.items():
        other = text.split("cracked). ")[1].split(" stands")[0]
        assert way[other] == way[reed]
        assert text.startswith(f"{reed} is gone (chipped or cracked). {other} stands in from ")


def test_another_reed_takes_the_concert() -> None:
    concerts = [{"date": START + timedelta(days=9), "play_min": 60}]
    from reedlab.schedule import schedule

    named = schedule(DAYS, book(DAYS, concerts=concerts), today=START, days=1).concerts[concerts[0]["date"]]
    said = " ".join(gone(DAYS, named[0], 1, concerts=concerts))
    assert "takes its place at the concert on Wednesday 11 March 2026" in said


def test_a_reed_of_no_trial_or_in_service_is_not_spoken_of() -> None:
    assert stands_in(book(DAYS), {DAYS.trial: DAYS}, DAYS.reeds[0], START) == []
    assert gone(DAYS, "1-10", 2) == []


# --- days gone by on which nothing was played -----------------------------------------------------


def behind(plan: Protocol, frames: Frames, today: int) -> list[int]:
    """The trial days, as first planned, that it can be moved along by."""
    return [(d - START).days + 1 for d in days_behind(frames, {plan.trial: plan}, START + timedelta(days=today - 1))]


def test_a_missed_day_moves_the_plan_along_and_keeps_the_order_of_the_deal() -> None:
    frames = book(DAYS, [sat(s.reed, s.day) for s in DAYS.slots if s.day <= 4])
    assert behind(DAYS, frames, 7) == [5, 6]
    found = told(DAYS, frames, 5, 6, 7)
    assert found.lost == ()
    moved = calendar_of(DAYS, after(frames, found))
    assert moved.number(START + timedelta(days=6)) == 5  # the deal of day 5 is played on the next day of playing
    assert [moved.number(START + timedelta(days=d)) for d in range(4)] == [1, 2, 3, 4]
    assert moved.last == calendar_of(DAYS, frames).last + timedelta(days=2)
    assert behind(DAYS, after(frames, found), 7) == []


def test_nothing_that_was_played_gets_another_number() -> None:
    frames = book(DAYS, [sat(DAYS.slots[0].reed, 1), *(sat(s.reed, 4) for s in DAYS.slots if s.day == 4)])
    assert behind(DAYS, frames, 5) == []  # days 2 and 3 lie before an entry
    assert behind(DAYS, frames, 7) == [5, 6]
    whole = told(DAYS, frames, 2, 6, 7)
    assert {r.date.day - START.day + 1 for r in whole.rows if r.pause} == {5, 6}
    assert calendar_of(DAYS, after(frames, whole)).number(START + timedelta(days=3)) == 4


def test_how_far_missed_days_move_a_plan_is_limited_to_half_of_it() -> None:
    frames = book(DAYS, [sat(s.reed, s.day) for s in DAYS.slots if s.day <= 2])
    assert behind(DAYS, frames, 13) == [3, 4, 5, 6, 7, 8, 9]
    once = after(frames, told(DAYS, frames, 3, 9, 13))
    assert behind(DAYS, once, 13) == []
    some = after(frames, told(DAYS, frames, 3, 6, 7))
    assert behind(DAYS, some, 13) == [7, 8, 9]


def test_a_trial_that_is_over_is_not_moved() -> None:
    frames = book(DAYS, [sat(s.reed, s.day) for s in DAYS.slots if s.day <= 12])
    assert behind(DAYS, frames, 14) == [13]
    assert behind(DAYS, frames, 15) == []
    assert not any(r.pause for r in told(DAYS, frames, 13, 14, 15).rows)


def test_where_a_missed_turn_is_made_up_nothing_has_to_move() -> None:
    assert behind(ROWS, book(ROWS, [sat(ROWS.reeds[0], 1)]), 5) == []


def test_ratings_do_not_decide_what_may_be_moved() -> None:
    rows = [sat(s.reed, s.day) for s in DAYS.slots if s.day <= 4]
    unrated = [{**r, "overall": None} for r in rows]
    assert behind(DAYS, book(DAYS, rows), 7) == behind(DAYS, book(DAYS, unrated), 7) == [5, 6]


def test_a_moved_day_before_an_entry_is_not_taken_back() -> None:
    frames = book(DAYS, [sat(s.reed, s.day) for s in DAYS.slots if s.day <= 4])
    moved = after(frames, told(DAYS, frames, 5, 6, 7))
    on = [START + timedelta(days=d - 1) for d in range(1, 9)]
    assert [r.date for r in back_again(moved, {DAYS.trial: DAYS}, on[5], on[5], on[5]).rows] == [on[5]]
    played = replace(moved, sittings=book(DAYS, [sat(s.reed, 7) for s in DAYS.slots if s.day == 5]).sittings)
    assert back_again(played, {DAYS.trial: DAYS}, on[5], on[5], on[5]).rows == ()
