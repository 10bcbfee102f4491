"""Typing a filled sheet back in, as a player would."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab.forms import Book
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

from ._playing import typing_in

START = date(2026, 3, 2)
REEDS = ("1-01", "1-02", "1-03", "1-04")


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """An invented trial on its third day, nothing entered yet."""
    made = Book(tmp_path / "reeds.logbook", lambda: START + timedelta(days=2))
    plan = Protocol(
        trial="Open or not", question="drying", ask="?", instrument="clarinet",
        habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
        units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
        dealt=("case", "open", "open", "case"),
        slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=r, box="1", first_play=6) for r in REEDS),
                          *(Sitting(date=date(2026, 2, d), reed=r, play_min=25)
                            for r in REEDS for d in (24, 25, 26))])
        logbook.start_trial(plan)
    return made


def said(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.message.value)).split())


def row(form: Any, on: date, reed: str) -> Any:
    return next(x for x in form.lines if x.planned and (x.planned["date"], x.planned["reed"]) == (on, reed))


def entries(book: Book) -> list[tuple[Any, ...]]:
    log = book.frames().sittings
    log = log[log["date"].dt.date >= START]
    return [(r.date.date(), r.reed, r.play_min, r.overall, r.habit, r.from_memory) for r in log.itertuples()]


def test_rows_of_the_week_up_to_today_are_offered(book: Book) -> None:
    form = typing_in(book)
    days = {x.planned["date"] for x in form.lines if x.planned}
    assert days == {START, START + timedelta(days=1), START + timedelta(days=2)}
    assert sum(x.planned is None for x in form.lines) == 4  # one a day, and one for any day


def test_filled_rows_are_saved_and_read_back_and_leave_the_form(book: Book) -> None:
    form = typing_in(book)
    first = row(form, START, "1-03")
    first.play_min.put(12)
    first.overall.value = "7,5"
    form.save.click()
    assert said(form).startswith("✓ Saved: 1 row.")
    assert "1-03" in said(form)
    assert entries(book) == [(START, "1-03", 12.0, 7.5, "open", False)]
    assert all(not x.planned or (x.planned["date"], x.planned["reed"]) != (START, "1-03") for x in form.lines)


def test_other_way_used_and_a_row_of_ones_own_are_kept(book: Book) -> None:
    form = typing_in(book)
    first = row(form, START, "1-03")
    first.play_min.put(12)
    first.overall.put(7)
    first.habit.put("case")
    own = form.lines[-1]
    own.date.value = START + timedelta(days=1)
    own.reed.put("1-03")
    own.play_min.put(90)
    form.fresh.value = False
    form.save.click()
    assert "The plan for 1-03 says drying in the open; you chose straight into the case." in said(form)
    form._yes.click()
    assert entries(book) == [(START, "1-03", 12.0, 7.0, "case", True),
                             (START + timedelta(days=1), "1-03", 90.0, pytest.approx(float("nan"), nan_ok=True),
                              None, True)]


def test_all_faults_are_told_by_row_and_nothing_is_saved_or_lost(book: Book) -> None:
    form = typing_in(book)
    one, two = row(form, START, "1-03"), row(form, START, "1-04")
    one.overall.put(7)
    two.play_min.value, two.overall.value = "ten", "11"
    form.save.click()
    assert "Monday 2 March 2026, 1-03: Minutes: found nothing" in said(form)
    assert "1-04: Minutes: found 'ten'" in said(form)
    assert "1-04: Overall: found '11'" in said(form)
    assert entries(book) == []
    assert two.play_min.value == "ten"


def test_what_the_logbook_refuses_is_told_by_row_too(book: Book) -> None:
    form = typing_in(book)
    own = form.lines[-1]
    own.date.value = START + timedelta(days=30)
    own.reed.put("1-01")
    own.play_min.put(10)
    form.save.click()
    assert "Row of your own: Date" in said(form)
    assert entries(book) == []


def test_an_empty_sheet_saves_nothing(book: Book) -> None:
    form = typing_in(book)
    form.save.click()
    assert "Nothing to save yet" in said(form)
    assert entries(book) == []


def test_without_a_trial_there_is_nothing_to_type_in(tmp_path: Path) -> None:
    form = typing_in(Book(tmp_path / "none.logbook", lambda: START))
    assert form.lines == []
    assert form.save.layout.display == "none"


def test_nothing_to_fill_in_or_tick_is_shown_where_no_trial_has_a_week(tmp_path: Path, book: Book) -> None:
    form = typing_in(Book(tmp_path / "empty.logbook", lambda: START))
    assert "no week of a trial" in form.rows.children[0].value
    parts = ("which", "how", "scale", "fresh", "save")
    assert [getattr(form, p).layout.display for p in parts] == ["none"] * 5
    form = typing_in(book)
    assert not any(getattr(form, p).layout.display for p in parts)


def test_every_box_of_the_printed_sheet_can_be_typed_back_in_its_order(book: Book) -> None:
    form = typing_in(book)
    assert [d.on for d in form.days] == [START + timedelta(days=k) for k in range(3)]
    form.days[0].humidity.value, form.days[0].temp.value = "47,5", "-2"
    form.days[1].off.value = True
    first, second = row(form, START, "1-03"), row(form, START, "1-04")
    for line in (first, second):
        line.play_min.put(10)
        line.overall.put(6)
    first.memory.value = True
    second.unsure.value = True
    own = next(x for x in form.lines if x.planned is None and x.date.value == START)
    own.reed.put("1-02")
    own.where.put("rehearsal")
    own.play_min.put(60)
    form.save.click()
    assert said(form).startswith("✓ Saved: 3 rows and 2 days.")
    log = book.frames().sittings
    log = log[log["date"].dt.date >= START].set_index("reed")
    assert list(log["from_memory"]) == [True, False, False]
    assert list(log["unsure_reed"]) == [False, True, False]
    assert log.loc["1-02", "where"] == "rehearsal"
    days = book.frames().days.set_index("date")
    assert list(days["day_off"]) == [False, True]
    assert (days["humidity_pct"].iloc[0], days["temp_c"].iloc[0]) == (47.5, -2)


def test_odd_rows_are_asked_about_and_kept_as_confirmed_after_a_yes(book: Book) -> None:
    form = typing_in(book)
    first = row(form, START, "1-03")
    first.play_min.put(300)
    first.overall.put(6)
    form.days[0].off.value = True
    form.save.click()
    assert "1-03 has an entry on 2026-03-02, which is ticked as a day off. Is that right?" in said(form)
    assert "300 minutes on one reed is a lot." in said(form)
    assert entries(book) == []
    form._yes.click()
    assert said(form).startswith("✓ Saved: 1 row and 1 day.")
    assert book.frames().sittings["confirmed"].sum() == 1


def test_faults_of_days_are_told_by_day_with_those_of_rows(book: Book) -> None:
    form = typing_in(book)
    form.days[2].humidity.value = "dry"
    row(form, START, "1-03").play_min.value = "ten"
    form.save.click()
    assert "Wednesday 4 March 2026: Humidity, %: found 'dry'" in said(form)
    assert "1-03: Minutes: found 'ten'" in said(form)
    assert not len(book.frames().days)
