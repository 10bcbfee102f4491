"""The plan as a calendar file, read by two parsers that know nothing of each other."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import icalendar
import pytest
import vobject

from reedlab.errors import InputError
from reedlab.handout.calendar import calendar, is_ours
from reedlab.rows.tables import Frames
from reedlab.schedule import schedule
from reedlab.trial.protocol import Protocol

from ._plans import NAME, START, a_logbook, a_plan

STAMP = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)


def made(plan: Protocol | None = None, frames: Frames | None = None, *, today: date = START, **more: Any) -> bytes:
    plan, frames = plan or a_plan(), frames or a_logbook()
    days = schedule(plan, frames, today=today).days
    return calendar(plan, days, **{"stamp": STAMP} | more)


def events(text: bytes) -> dict[str, Any]:
    return {str(e["uid"]): e for e in icalendar.Calendar.from_ical(text).walk("VEVENT")}


def starts(text: bytes) -> dict[str, date]:
    return {u: e.decoded("dtstart") for u, e in events(text).items() if e.get("status") != "CANCELLED"}


def test_one_entry_a_day_tells_reeds_minutes_and_ways() -> None:
    found = sorted(events(made()).values(), key=lambda e: e.decoded("dtstart"))
    assert [e.decoded("dtstart") for e in found] == [START + timedelta(days=k) for k in range(10)]
    assert found[0].decoded("dtend") == START + timedelta(days=1)
    assert str(found[0]["summary"]) == "Reeds 2-01, 2-02 (20 min)"
    lines = str(found[0]["description"]).split("\n")
    assert lines[:3] == [f"{NAME}, day 1 of 10", "1. 2-01: 10 min, straight into the case",
                         "2. 2-02: 10 min, drying in the open"]


@pytest.mark.parametrize("more", [{}, {"at": time(18)}, {"at": time(18), "zone": "Europe/Vienna"}])
def test_both_parsers_read_the_same(more: dict[str, Any]) -> None:
    text = made(**more)
    other = {e.uid.value: e for e in vobject.readOne(text.decode()).vevent_list}
    one = events(text)
    assert other.keys() == one.keys()
    for uid, e in one.items():
        v = other[uid]
        assert v.summary.value == str(e["summary"])
        assert v.description.value == str(e["description"])
        assert NAME in v.description.value
        start, first = v.dtstart.value, e.decoded("dtstart")
        assert start.replace(tzinfo=None) == first.replace(tzinfo=None) if more else start == first
        if more:
            assert v.duration.value == e.decoded("duration") == timedelta(minutes=20)
            assert start.utcoffset() == first.utcoffset()


def test_lines_are_folded_at_75_bytes_and_end_with_cr_lf() -> None:
    text = made(a_plan(trial="ÄÖÜäöüß" * 12))
    assert text.endswith(b"\r\n")
    lines = text.split(b"\r\n")
    assert all(b"\n" not in line and len(line) <= 75 for line in lines)
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf8")  # no letter is cut in two


def test_the_zone_keeps_six_in_the_evening_over_the_change_of_clocks() -> None:
    """Central European time: summer time begins on 29 March 2026 (last Sunday of March)."""
    plan = a_plan(days=35)
    text = made(plan, at=time(18), zone="Europe/Vienna")
    assert b"BEGIN:VTIMEZONE" in text
    hours = {e.dtstart.value.date(): e.dtstart.value for e in vobject.readOne(text.decode()).vevent_list}
    assert {d.hour for d in hours.values()} == {18}
    assert hours[date(2026, 3, 28)].utcoffset() == timedelta(hours=1)
    assert hours[date(2026, 3, 30)].utcoffset() == timedelta(hours=2)


def test_a_plan_made_again_without_change_keeps_every_entry_as_it_was() -> None:
    first = made()
    again = made(earlier=first, stamp=STAMP + timedelta(hours=2))
    assert {u: int(e["sequence"]) for u, e in events(again).items()} == {
        u: int(e["sequence"]) for u, e in events(first).items()}
    assert len(events(again)) == 10


def test_a_pause_moves_entries_and_doubles_none() -> None:
    first = made()
    on = START + timedelta(days=2)
    paused = a_logbook(days=[{"date": on, "pause": True}])
    again = made(frames=paused, today=on, earlier=first, stamp=STAMP + timedelta(days=2))
    old, new = starts(first), starts(again)
    assert old.keys() == new.keys()
    assert len(set(new.values())) == 10
    moved = {u for u in old if old[u] != new[u]}
    assert {old[u] for u in moved} == {on + timedelta(days=k) for k in range(8)}
    assert all(new[u] == old[u] + timedelta(days=1) for u in moved)
    number = {u: int(e["sequence"]) for u, e in events(again).items()}
    before = {u: int(e["sequence"]) for u, e in events(first).items()}
    assert all((number[u] > before[u]) == (u in moved) for u in old)


def test_a_day_that_falls_away_is_cancelled_and_days_over_stay() -> None:
    first = made()
    on = START + timedelta(days=4)
    ended = a_logbook(trials=[{"trial": NAME, "started": START, "ended": on, "protocol": "",
                               "protocol_sha256": ""}])
    again = made(frames=ended, today=on, earlier=first, stamp=STAMP + timedelta(days=4))
    state = {e.decoded("dtstart"): str(e.get("status", "")) for e in events(again).values()}
    assert state == {START + timedelta(days=k): "CANCELLED" if k >= 4 else "" for k in range(10)}
    assert all(int(e["sequence"]) == 4 for e in events(again).values() if e.get("status") == "CANCELLED")
    once_more = made(frames=ended, today=on, earlier=again, stamp=STAMP + timedelta(days=5))
    assert {int(e["sequence"]) for e in events(once_more).values() if e.get("status") == "CANCELLED"} == {4}


def test_a_later_plan_wins_where_the_earlier_file_is_lost() -> None:
    lost = made(today=START + timedelta(days=3), stamp=STAMP + timedelta(days=3))
    first = events(made())
    assert all(int(e["sequence"]) > int(first[u]["sequence"]) for u, e in events(lost).items())
    assert events(lost).keys() <= first.keys()


def test_another_trial_has_entries_of_its_own() -> None:
    assert not events(made()).keys() & events(made(a_plan(seed=6))).keys()


def test_a_helper_keeps_the_way_out_of_the_calendar() -> None:
    text = made(a_plan(masked="helper")).replace(b"\r\n ", b"")
    assert b"drying in the open" not in text
    assert b"your helper makes it ready" in text


@pytest.mark.parametrize(("more", "says"), [
    ({"zone": "Europe/Vienna"}, "time of day"),
    ({"at": time(18), "zone": "Nowhere/Land"}, "not known"),
    ({"at": time(18), "zone": "../etc"}, "not known"),
    ({"earlier": b"BEGIN:VCALENDAR"}, "new file"),
    ({"stamp": datetime(2026, 3, 2)}, "time zone"),
])
def test_wrong_wishes_are_refused_in_words(more: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        made(**more)


def test_only_our_own_files_count_as_ours() -> None:
    assert is_ours(made())
    assert not is_ours(b"BEGIN:VCALENDAR\r\nPRODID:-//other//EN\r\n")


def test_entries_remind_at_the_players_hour_and_one_turned_on_later_counts_as_a_change() -> None:
    plain = made(at=time(18))
    reminded = made(at=time(18), remind=True, earlier=plain)
    for uid, entry in events(reminded).items():
        (alarm,) = entry.walk("VALARM")
        assert (str(alarm["action"]), alarm.decoded("trigger"), str(alarm["description"])) == (
            "DISPLAY", timedelta(0), str(entry["summary"]))
        assert int(entry["sequence"]) > int(events(plain)[uid]["sequence"])
    assert made(at=time(18), remind=True, earlier=reminded) == reminded
    assert len(vobject.readOne(reminded.decode()).vevent_list[0].valarm_list) == 1
    assert b"VALARM" not in made(remind=True)  # an entry of the whole day has no hour
