"""Today as plain data, and saving: the same answers for every face."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.screens import Asked, Entry, Refused, Today, Written, save, take_back, today
from reedlab.screens.saving import AS_PLANNED
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
WAYS = (Habit("mouth", "wetting in the mouth", "Two minutes."), Habit("water", "wetting in water", "One minute."))


def plan(**more: Any) -> Protocol:
    """Two reeds, two days, one square: 1-01 gets mouth then water, 1-02 the other way round."""
    fields: dict[str, Any] = {
        "trial": "Wetting", "question": "wetting", "ask": "?", "instrument": "clarinet", "habits": WAYS,
        "design": "day_by_day", "outcome": "day_rating", "matters": 1.0, "start": START, "days": 2,
        "units": (Unit("s1-a", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
                  Unit("s1-b", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
        "dealt": ("mouth", "water"),
        "slots": (Slot(1, 2, "1-01"), Slot(1, 1, "1-02"), Slot(2, 1, "1-01"), Slot(2, 2, "1-02")),
    }
    return Protocol(**{**fields, **more})


def made(path: Path, protocol: Protocol) -> Logbook:
    from datetime import datetime, time

    logbook = Logbook.create(path, now=lambda: datetime.combine(START, time(12)).astimezone())
    logbook.add(Box(box="1", instrument="clarinet"))
    logbook.add_many(Reed(reed=f"1-0{n}", box="1", first_play=6, first_played=START - timedelta(days=9))
                     for n in (1, 2, 3))
    logbook.start_trial(protocol)
    return logbook


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with made(tmp_path / "reeds.logbook", plan()) as book:
        yield book


def seen(book: Logbook, on: date = START) -> Today:
    return today(book.frames(), {"Wetting": book.protocol("Wetting")}, on)


def row(**more: Any) -> dict[str, Any]:
    return {"date": START, "reed": "1-02", "play_min": "10", "overall": "7", "habit": "water", "where": "practice",
            **more}


def test_today_has_a_line_for_each_reed_due_in_the_order_to_play_with_its_way_in_words(logbook: Logbook) -> None:
    page = seen(logbook)
    assert page.heading == "Monday 2 March 2026"
    assert page.trials == ("Wetting: day 1 of 2",)
    assert [(x.reed, x.way, x.steps, x.minutes, x.done) for x in page.lines] == [
        ("1-02", "Wetting in water", "One minute.", 10.0, False),
        ("1-01", "Wetting in the mouth", "Two minutes.", 10.0, False)]
    assert [(x.planned.key, x.planned.mark) for x in page.lines if x.planned] == [("water", 1), ("mouth", 0)]
    assert page.reeds == ("1-01", "1-02", "1-03")


def test_a_helpers_secret_is_nowhere_on_the_page(tmp_path: Path) -> None:
    with made(tmp_path / "masked.logbook", plan(masked="helper")) as book:
        page = seen(book)
    assert {x.way for x in page.lines} == {"Your helper makes it ready."}
    assert not any(word in repr(page) for word in ("mouth", "water", "One minute"))


def test_earlier_ratings_are_nowhere_on_the_page_and_the_days_own_are(logbook: Logbook) -> None:
    logbook.add(Sitting(date=START - timedelta(days=3), reed="1-01", play_min=11, overall=3.5))
    logbook.add(Sitting(date=START, reed="1-03", play_min=12, overall=8.5, where="rehearsal"))
    assert isinstance(save(logbook, Entry(row(overall="9"))), Written)
    page = seen(logbook)
    assert "3.5" not in repr(page)
    assert [(x.reed, x.done, [s.values["overall"] for s in x.saved]) for x in page.lines] == [
        ("1-02", True, [9.0]), ("1-01", False, [])]
    assert [(s.reed, s.values["overall"]) for s in page.others] == [("1-03", 8.5)]


def test_an_entry_sent_twice_is_written_once_even_after_it_was_changed_and_taken_back(logbook: Logbook) -> None:
    entry = Entry(row(), key="phone-0123456789abcdef")
    first, second = save(logbook, entry), save(logbook, entry)
    assert isinstance(first, Written)
    assert isinstance(second, Written)
    assert (first.entry_id, first.again, second.again) == (second.entry_id, False, True)
    assert first.spoken["Overall"] == "7"
    change = Entry({"overall": "6"}, changed=first.entry_id)
    changed, again = save(logbook, change), save(logbook, change)
    assert isinstance(changed, Written)
    assert isinstance(again, Written)
    assert (changed.entry_id, again.again) == (again.entry_id, True)
    assert logbook.frame("sittings")["overall"].tolist() == [6.0]
    assert logbook.frame("sittings")["play_min"].tolist() == [10.0]
    assert isinstance(save(logbook, Entry({"overall": "5"}, changed=first.entry_id)), Refused)
    assert changed.entry_id is not None
    assert take_back(logbook, changed.entry_id) == Written(None)
    assert take_back(logbook, changed.entry_id) == Written(None, again=True)
    assert isinstance(take_back(logbook, first.entry_id or 0), Written)
    assert save(logbook, entry) == Written(None, again=True)
    assert len(logbook.frame("sittings")) == 0


@pytest.mark.parametrize(("typed", "told"), [
    ({"overall": ""}, "Overall: it is empty"), ({"overall": "11"}, "Overall: you gave '11'"),
    ({"play_min": ""}, "Minutes: you gave nothing"), ({"reed": "9-99"}, "Reed: found '9-99'"),
    ({"date": START + timedelta(days=1)}, "Date: found"), ({"habit": "juggling"}, "What you did: found")])
def test_what_cannot_be_is_refused_and_nothing_is_written(logbook: Logbook, typed: dict[str, Any],
                                                          told: str) -> None:
    answer = save(logbook, Entry(row(**typed), sure="anything"))
    if isinstance(answer, Asked):
        answer = save(logbook, Entry(row(**typed), sure=answer.token))
    assert isinstance(answer, Refused)
    assert told in " ".join(answer.lines)
    assert len(logbook.frame("sittings")) == 0


def test_what_is_odd_is_asked_once_and_a_yes_answers_that_question_alone(logbook: Logbook) -> None:
    asked = save(logbook, Entry(row(habit="mouth")))
    assert isinstance(asked, Asked)
    assert "The plan for 1-02 says wetting in water" in asked.lines[0]
    more = save(logbook, Entry(row(habit="mouth", play_min="200"), sure=asked.token))
    assert isinstance(more, Asked)
    assert len(logbook.frame("sittings")) == 0
    done = save(logbook, Entry(row(habit="mouth"), sure=asked.token))
    assert isinstance(done, Written)
    assert done.spoken["What you did"] == "wetting in the mouth"
    assert logbook.frame("sittings")["confirmed"].tolist() == [True]


def test_as_planned_is_the_way_of_that_reed_and_day_and_none_at_a_rehearsal(logbook: Logbook) -> None:
    for typed in ({"reed": "1-01"}, {"reed": "1-01", "where": "rehearsal", "overall": ""}, {"reed": "1-03"}):
        entry = row(habit=AS_PLANNED, **typed)
        answer = save(logbook, Entry(entry))
        assert isinstance(save(logbook, Entry(entry, sure=answer.token)) if isinstance(answer, Asked) else answer,
                          Written)
    assert logbook.frame("sittings")["habit"].fillna("-").tolist() == ["mouth", "-", "-"]
