"""The coming days of a trial: as planned, and after life has got in the way."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.questions import CATALOGUE
from reedlab.schedule import Concert, schedule, what_to_play
from reedlab.trial.protocol import Protocol
from tests.readability import grade

from ._plans import START, book, follow, made, on, owed, plan, sat, slots

RATED = [("wetting", "day_by_day", "day_rating"), ("position", "day_by_day", "day_rating"),
         ("cut_or_strength", "day_by_day", "day_rating"), ("drying", "reed_by_reed", "mean_rating"),
         ("storage_case", "reed_by_reed", "mean_rating"), ("rinse", "reed_by_reed", "wear_rate")]


@pytest.mark.parametrize(("key", "design", "outcome"), RATED)
def test_undisturbed_the_schedule_is_the_plans_own(key: str, design: str, outcome: str) -> None:
    p = plan(key, design=design, outcome=outcome)
    s = made(p)
    assert owed(s) == slots(p)
    assert s.unmet == ()


def test_a_rating_question_owns_ten_minutes_a_reed_and_leaves_the_rest_free() -> None:
    for d in made(plan()).days:
        assert all(x.minutes == 10 and x.kind == "slot" and x.rate for x in d.owed)
        assert sum(x.minutes for x in d.lines if x.kind == "free") <= 60 - 10 * len(d.owed)


def test_where_hours_matter_the_days_minutes_are_shared_evenly() -> None:
    p = plan("drying", outcome="wear_rate")
    s = made(p)
    a, b = s.minutes.values()
    assert abs(a - b) <= 0.05 * max(a, b)
    assert sum(x.minutes for d in s.days for x in d.owed) >= 0.9 * 60 * p.days


def disturbed(p: Protocol) -> dict[str, tuple[list[dict[str, Any]], dict[str, Any]]]:
    """Diaries of the first two days: what happened, and the tables that say so."""
    first = follow(made(p), on(3))
    reed = first[0]["reed"]
    return {
        "day off": ([x for x in first if x["date"] != on(2)], {"days": [{"date": on(2), "day_off": True}]}),
        "broken": (first, {"retirements": [{"reed": reed, "date": on(2), "reason": "damaged"}]}),
        "rehearsal": ([*first, sat(on(2), reed, 120, None, where="rehearsal")], {}),
        "other way": ([{**x, "habit": p.habits[0].key} for x in first], {}),
        "holiday": (first, {"days": [{"date": on(4), "pause": True}, {"date": on(5), "pause": True}]}),
    }


@pytest.mark.parametrize("key", sorted(CATALOGUE))
@pytest.mark.parametrize("what", ["day off", "broken", "rehearsal", "other way", "holiday"])
def test_no_mishap_changes_a_dealt_habit(key: str, what: str) -> None:
    p = plan(key)
    rows, tables = disturbed(p)[what]
    s = made(p, on(3), rows, tables=tables)
    lines = [(d, x) for d in s.days for x in d.lines if x.reed in p.reeds and x.kind in ("slot", "play", "free")]
    assert lines or (key, what) == ("two_reeds", "broken")  # with one of the two gone there is nothing more to ask
    for d, x in lines:
        dealt = p.habit_for(x.reed, d.number or 0)
        assert dealt is not None
        assert x.habit == dealt.key


def test_a_missed_day_is_made_up_whole_and_the_others_stay() -> None:
    p = plan(days=24)
    rows = [x for x in follow(made(p), on(3)) if x["date"] != on(2)]
    s, missed = made(p, on(3), rows, usual_min=75), slots(p)[2]
    later = {n: r for n, r in owed(s).items() if r != slots(p)[n]}
    assert [sorted(set(r) - set(slots(p)[n])) for n, r in later.items()] == [sorted(missed)]
    assert all([x for x in r if x in slots(p)[n]] == slots(p)[n] for n, r in later.items())


def test_day_by_day_a_known_day_off_costs_its_ratings_and_says_so() -> None:
    p = plan("wetting")
    s = made(p, days_off=[on(4)])
    (u,) = s.unmet
    assert (u.code, u.day, sorted(u.reeds)) == ("day_off_cell", on(4), sorted(slots(p)[4]))
    assert "Not playing today" in u.text
    assert {n: r for n, r in owed(s).items() if n != 4} == {n: r for n, r in slots(p).items() if n != 4}


def test_a_holiday_moves_everything_after_it() -> None:
    p = plan()
    away = [on(3) + timedelta(days=i) for i in range(4)]
    s = made(p, tables={"days": [{"date": d, "pause": True} for d in away]})
    assert [d.state for d in s.days if d.on in away] == ["paused"] * 4
    assert owed(s) == slots(p)
    assert s.days[-1].on == on(p.days) + timedelta(days=4)


def test_a_broken_reed_drops_out_and_no_other_reed_moves() -> None:
    p = plan()
    reed = slots(p)[2][0]
    rows = follow(made(p), on(3))
    s = made(p, on(3), rows, tables={"retirements": [{"reed": reed, "date": on(2), "reason": "damaged"}]})
    assert owed(s) == {n: [r for r in reeds if r != reed] for n, reeds in slots(p).items() if n >= 3}


def test_after_a_day_as_planned_the_rest_is_as_it_was() -> None:
    for key in ("wetting", "drying", "rotation", "daily_limit", "resting_days", "break_in"):
        p = plan(key)
        before = made(p)
        after = made(p, on(6), follow(before, on(6)))
        assert after.days == before.days[5:], key


def test_entries_of_today_do_not_change_today_but_are_ticked_off() -> None:
    p = plan()
    frames = book(p, [sat(START, slots(p)[1][0])])
    day = what_to_play(p, frames, START, usual_min=60)
    assert [x.reed for x in day.owed] == slots(p)[1]
    assert [x.done for x in day.owed] == [True] + [False] * (len(day.owed) - 1)
    assert day == schedule(p, frames, today=START, usual_min=60).days[0]


def test_a_reed_worn_by_a_rehearsal_today_waits_with_its_set() -> None:
    p = plan()
    reed = slots(p)[1][0]
    s = made(p, START, [sat(START, reed, 75, None, where="rehearsal")], usual_min=80)  # room for one turn more
    assert reed not in owed(s)[1]
    assert any(set(slots(p)[1]) <= set(r) for n, r in owed(s).items() if n > 1)


def test_at_most_so_many_reeds_a_day_and_minutes_too_short_are_kept_or_said() -> None:
    p = plan("wetting")
    s = made(p, reeds_at_most=2)
    assert {len(r) for r in owed(s).values()} == {2}
    assert {u.code for u in s.unmet} == {"rating_lost"}
    assert "at most 2 reeds a day" in s.unmet[0].text
    short = made(plan(), usual_min=20)
    assert max(len(r) for r in owed(short).values()) <= 2
    assert {"sets_apart", "no_room"} <= {u.code for u in short.unmet}


def test_break_in_ramp_binds_one_way_and_not_the_other() -> None:
    p = plan("break_in")
    minutes: dict[str, list[float]] = {}
    for d in made(p).days:
        for x in d.owed:
            minutes.setdefault(x.reed, []).append(sum(y.minutes for y in d.lines if y.reed == x.reed))
    gradual = [m for r, m in minutes.items() if p.habit_for(r, 1).key == "gradual"]  # type: ignore[union-attr]
    straight = [m for r, m in minutes.items() if p.habit_for(r, 1).key == "straight"]  # type: ignore[union-attr]
    assert all(a <= 10 and b <= 25 and c <= 45 for a, b, c, *_ in gradual)
    assert sum(m[0] for m in straight) > sum(m[0] for m in gradual)
    assert max(m[0] for m in straight) > 10


def test_daily_limit_replaces_the_usual_one_in_its_own_way_without_a_word() -> None:
    p = plan("daily_limit", minutes_a_day=90)
    s = made(p, usual_min=90)
    by_habit: dict[str, set[float]] = {}
    for d in s.days[:40]:
        for x in d.owed:
            by_habit.setdefault(str(x.habit), set()).add(x.minutes)
        assert len({x.habit for x in d.owed}) <= 1
    assert max(by_habit["open_end"]) == 90
    assert max(by_habit["limit"]) <= 45
    assert s.unmet == ()


def test_rotation_takes_turns_and_the_next_moves_up_for_a_broken_reed() -> None:
    p = plan("rotation")
    first = made(p)
    turn = [x.reed for d in first.days[:4] for x in d.owed if x.habit == "rotation"]
    single = [x.reed for d in first.days[:4] for x in d.owed if x.habit == "single"]
    assert len(set(turn)) > 1
    assert turn[0] != turn[1]
    assert len(set(single)) == 1
    gone = [{"reed": single[0], "date": on(4), "reason": "damaged"}]
    after = made(p, on(5), follow(first, on(5)), tables={"retirements": gone})
    moved_up = [x.reed for d in after.days[:4] for x in d.owed if x.habit == "single"]
    assert len(set(moved_up)) == 1
    assert moved_up[0] != single[0]
    assert [x.reed for d in after.days[:4] for x in d.owed if x.habit == "rotation"] == [
        x.reed for d in first.days[4:8] for x in d.owed if x.habit == "rotation"]


def test_rest_days_rest_one_way_and_not_the_other() -> None:
    p = plan("resting_days")
    last: dict[str, date] = {}
    every_day = 0
    for d in made(p, usual_min={0: 60, 1: 30, 2: 90, 4: 60, 5: 60}).days:
        for x in d.owed:
            gap = (d.on - last.get(x.reed, date(2000, 1, 1))).days
            assert x.habit == "daily" or gap > 1
            every_day += gap == 1
            last[x.reed] = d.on
    assert every_day > 0


def test_cap_of_hours_is_reached_by_every_reed_and_not_passed() -> None:
    p = plan("rotation", outcome="life_hours", cap_hours=5.0)
    s = made(p)
    hours: dict[str, float] = {}
    for d in s.days:
        for x in d.owed:
            hours[x.reed] = hours.get(x.reed, 0.0) + x.minutes / 60
    assert hours == pytest.approx(dict.fromkeys(p.reeds, 5.0), abs=5 / 60)
    assert not s.unmet


def test_a_reed_that_met_the_rule_of_wear_is_not_asked_for_again() -> None:
    p = plan("drying", outcome="life_hours")
    reed = slots(p)[1][0]
    rows = [sat(on(1), reed, overall=3.0), sat(on(2), reed, overall=3.5)]
    s = made(p, on(3), rows)
    assert all(reed not in r for r in owed(s).values())


def test_before_the_start_the_reeds_are_broken_in_alike() -> None:
    p = plan(size=8)
    early = START - timedelta(days=21)
    s = made(p, early)
    steps: dict[str, list[float]] = {}
    for d in s.days:
        for x in d.lines:
            if x.kind == "break_in":
                assert x.habit is None
                steps.setdefault(x.reed, []).append(x.minutes)
    assert sorted(steps) == list(p.reeds)
    assert all(m == [10, 25, 45] for m in steps.values())
    late = made(p, START - timedelta(days=2))
    assert "break_in_late" in {u.code for u in late.unmet}


def test_a_concert_takes_reeds_outside_the_trial_broken_in_and_rested() -> None:
    p = plan()
    day = on(12)
    s = made(p, others=True, concerts=[day])
    reeds = s.concerts[day]
    assert len(reeds) == 2
    assert not set(reeds) & set(p.reeds)
    for r in reeds:
        lines = [(d.on, x) for d in s.days for x in d.lines if x.reed == r and d.on <= day]
        minutes = [x.minutes for _, x in lines if x.kind == "break_in"]
        assert len(minutes) == 3
        assert all(10 <= m <= most for m, most in zip(minutes, (10, 25, 45), strict=True))
        assert [when for when, x in lines if x.kind == "rest"] == [day - timedelta(days=1)]
        assert lines[-1][1].kind == "concert"
    assert owed(s) == slots(p)
    assert not s.unmet


def test_a_concert_on_reeds_of_the_trial_takes_one_of_each_way_and_moves_whole_sets() -> None:
    p = plan(days=24)
    s = made(p, concerts=[Concert(on(9), 80)])
    reeds = s.concerts[on(9)]
    assert {p.habit_for(r, 1) for r in reeds} == set(p.habits)
    assert [x.minutes for x in s.days[8].lines if x.kind == "concert"] == [40, 40]
    for n in (8, 9):
        assert not set(reeds) & set(owed(s)[n])
        missing = set(slots(p)[n]) - set(owed(s)[n])
        assert not missing or any(missing <= set(r) for m, r in owed(s).items() if m > n)


def test_reeds_of_the_trial_are_named_for_a_concert_by_their_first_play_however_they_were_rated_since() -> None:
    p = plan()
    free = [r for r in p.reeds if r not in {*slots(p)[9], *slots(p)[10]}]  # on the day and the day before
    matched = {u.reeds[0]: u.block for u in p.units}
    pairs = [(a, b) for a in free for b in free
             if (p.habit_for(a, 1), p.habit_for(b, 1)) == p.habits and matched[a] == matched[b]]
    assert len(pairs) > 1
    for pair in pairs:
        rows = [sat(d.on, x.reed, x.minutes, 3.0 if x.reed in pair else 9.5) for d in made(p).days[:6] for x in d.owed]
        frames = book(p, rows)
        frames.reeds.loc[frames.reeds["reed"].isin(pair), "first_play"] = 9.0
        assert set(schedule(p, frames, today=on(7), days=3, concerts=[on(10)]).concerts[on(10)]) == set(pair)


def test_a_concert_too_soon_is_said() -> None:
    p = plan("break_in")
    s = made(p, concerts=[on(2)])
    (u,) = [u for u in s.unmet if u.code == "concert_short"]
    assert u.text.startswith("No reed can be ready")


def test_a_set_aside_reed_is_not_planned_and_said() -> None:
    p = plan()
    reed = p.reeds[0]
    frames = book(p)
    frames.reeds.loc[frames.reeds["reed"] == reed, "set_aside"] = True
    s = schedule(p, frames, today=START, usual_min=60)
    assert all(reed not in r for r in owed(s).values())
    assert [u.reeds for u in s.unmet if u.code == "set_aside"] == [(reed,)]


def test_free_play_is_suggested_where_it_evens_out_the_minutes() -> None:
    p = plan()
    a = next(r for r in slots(p)[1] if p.habit_for(r, 1) == p.habits[0])
    rows = [*follow(made(p), on(2)), sat(START, a, 50, None, where="rehearsal")]
    s = made(p, on(2), rows)
    first = next(x for d in s.days for x in d.lines if x.kind == "free")
    assert first.habit == p.habits[1].key
    low, high = sorted(s.minutes.values())
    assert (high - low) / high <= 0.10


def test_minutes_by_way_are_not_shown() -> None:
    p = plan()
    text = repr(made(p))
    assert "minutes={" not in text
    assert "water" not in text


def test_a_trial_that_is_over_asks_for_nothing() -> None:
    p = plan()
    day = what_to_play(p, book(p), on(p.days + 1))
    assert (day.state, day.lines) == ("over", ())
    ended = book(p, trials=[{"trial": p.trial, "started": START, "ended": on(3), "ended_why": "moved",
                             "protocol_sha256": p.sha256, "protocol": p.to_json()}])
    assert what_to_play(p, ended, on(4)).state == "over"


def test_what_cannot_be_had_is_said_in_plain_words() -> None:
    full = {"reeds_at_most": 3, "days_off": [on(3)], "rest_days": 1, "concerts": [on(6), Concert(on(9), 300)]}
    made_up = (made(plan("wetting"), **full), made(plan(), usual_min=20), made(plan("rotation"), usual_min=15),
               made(plan("break_in"), concerts=[on(2)]), made(plan(), START - timedelta(days=3)))
    said = {u.code: u.text for s in made_up for u in s.unmet}
    assert len(said) >= 8
    assert {c: t for c, t in said.items() if grade(t) > 8} == {}
