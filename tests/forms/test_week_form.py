"""My week: what is saved, what is refused, and what the pages make of it."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.rows.tables import WEEKDAYS

from . import _playing as playing

said = playing.said


@pytest.fixture
def clock() -> Any:
    return playing.Clock()


@pytest.fixture
def book(tmp_path: Path, clock: Any) -> Book:
    made: Book = playing.new_book(tmp_path, clock)
    return made


def minutes(book: Book) -> dict[str, float]:
    week = book.frames().week
    return dict(zip(week["weekday"], week["play_min"], strict=True))


def fill(form: Any, every: float = 60, **other: float) -> None:
    form.every.put(every)
    form.fill.click()
    for name, value in other.items():
        form.days[name].put(value)


def test_it_opens_on_an_empty_folder_and_says_what_the_plan_reckons_with(book: Book) -> None:
    form = forms.week(book)
    assert said(form) == ""
    assert "60 minutes a day" in form.state.value
    assert not book.exists


def test_one_save_writes_the_week_and_a_concert(book: Book) -> None:
    form = forms.week(book)
    fill(form, 45, saturday=90, sunday=0)
    form.concert.value = date(2026, 3, 14)
    form.play_min.put(75)
    form.save.click()
    assert "Saved" in said(form)
    assert minutes(book) == dict.fromkeys(WEEKDAYS[:5], 45) | {"saturday": 90, "sunday": 0}
    assert book.frames().concerts["play_min"].tolist() == [75]
    assert "Sat 90, Sun off" in form.state.value
    assert "Saturday 14 March 2026, 75 minutes" in form.state.value
    assert form.concert.value is None
    again = forms.week(book)
    assert [f.typed for f in again.days.values()] == ["45"] * 5 + ["90", "0"]


def test_a_change_of_one_day_is_one_correction_and_the_rest_stays(book: Book) -> None:
    form = forms.week(book)
    fill(form)
    form.save.click()
    form.days["monday"].put(30)
    form.save.click()
    assert minutes(book)["monday"] == 30
    with book.reading() as logbook:
        entries = logbook.frame("week").set_index("weekday")["entry_id"]
        assert len(logbook.history("week", int(entries["monday"]))) == 2
        assert len(logbook.history("week", int(entries["tuesday"]))) == 1


def test_every_fault_is_named_and_everything_typed_survives(book: Book) -> None:
    form = forms.week(book)
    fill(form, 60, monday=900)
    form.days["tuesday"].value = "an hour"
    form.days["wednesday"].value = ""
    form.concert.value = date(2026, 3, 1)
    form.play_min.put(0)
    form.save.click()
    told = said(form)
    for words in ("Monday: you gave '900'", "Tuesday: you gave 'an hour'", "Wednesday: fill in the minutes",
                  "choose today or a day to come", "from 1 to 720"):
        assert words in told
    assert not book.exists
    book.tell_forms()
    assert form.days["monday"].typed == "900"
    assert form.days["tuesday"].typed == "an hour"
    assert form.concert.value == date(2026, 3, 1)


def test_nothing_typed_is_forgotten_in_silence(book: Book) -> None:
    form = forms.week(book)
    form.save.click()
    assert "Fill in your minutes" in said(form)
    form.every.put(50)
    form.save.click()
    assert "Put it in all seven" in said(form)
    form.every.put(None)
    form.play_min.put(90)
    form.save.click()
    assert "choose the date" in said(form)


def test_a_concert_is_changed_and_taken_back_and_old_ones_are_not_listed(book: Book, clock: Any) -> None:
    form = forms.week(book)
    for day, length in ((9, 60), (12, 90), (12, 30)):
        form.concert.value = date(2026, 3, day)
        form.play_min.put(length)
        form.save.click()
    assert [box.description for box in form.coming.children] == [
        "Take back: Monday 9 March 2026, 60 minutes", "Take back: Thursday 12 March 2026, 30 minutes"]
    clock.next(8)
    form.refresh()
    assert len(form.coming.children) == 1
    form.coming.children[0].value = True
    form.save.click()
    assert "Saved" in said(form)
    assert form.coming.children == ()
    assert book.frames().concerts["date"].dt.date.tolist() == [date(2026, 3, 9)]


def test_a_day_off_in_a_day_by_day_trial_can_be_paused_and_nothing_is_lost(in_trial: Book, clock: Any) -> None:
    book = in_trial
    start = clock.on
    form = forms.week(book)
    assert form.pause.layout.display == "none"
    fill(form)
    form.days[WEEKDAYS[(start.weekday() + 3) % 7]].put(0)
    form.save.click()
    assert "Saved" in said(form)
    assert "would lose its ratings on 2 days off" in form.lost.value
    assert form.pause.layout.display == ""
    form.pause.click()
    assert "Skipped: 2 days" in said(form)
    paused = book.frames().days.loc[book.frames().days["pause"], "date"].dt.date.tolist()
    assert paused == [start + timedelta(days=3), start + timedelta(days=10)]
    assert form.lost.value == ""


def test_today_says_what_it_reckons_with_until_a_week_is_saved(book: Book, clock: Any) -> None:
    playing.add_box(book)
    today = forms.today(book)
    assert "60 minutes a day" not in today.foot.value  # no trial, no plan
    playing.play_all_first(book, clock)
    playing.start_trial(book)
    today.refresh()
    assert today.foot.value.count("60 minutes a day") == 1
    form = forms.week(book)
    fill(form)
    form.days[WEEKDAYS[(clock.on.weekday() + 1) % 7]].put(0)
    form.save.click()
    assert "60 minutes a day" not in today.foot.value  # the page's forms agree
    assert "3 days off would cost" in today.foot.value
    clock.next()
    today.refresh()
    assert "not playing today" in today.head.value
    assert "are lost" in today.foot.value


def test_the_plan_form_takes_the_mean_of_the_days_that_are_played(book: Book) -> None:
    plan = forms.plan(book)
    assert plan.wishes.minutes.typed == "60"
    form = forms.week(book)
    fill(form, 45, saturday=95, sunday=0)
    form.save.click()
    assert plan.wishes.minutes.typed == "55"
    plan.wishes.minutes.put(30)
    form.days["monday"].put(120)
    form.save.click()
    assert plan.wishes.minutes.typed == "30"


def test_the_reed_case_offers_the_next_concert(book: Book, clock: Any) -> None:
    playing.add_box(book)
    case = forms.case(book)
    assert case.known.layout.display == "none"
    form = forms.week(book)
    for day in (20, 14):
        form.concert.value = date(2026, 3, day)
        form.save.click()
    assert case.known.layout.display == ""
    assert case.concert.value == date(2026, 3, 14)
    assert "Saturday 14 March 2026" in case.picks.value
    case.known.put(date(2026, 3, 20))
    assert "Friday 20 March 2026" in case.picks.value
    case.concert.value = date(2026, 3, 16)
    assert case.known.typed is None
    assert "Monday 16 March 2026" in case.picks.value
    clock.on = date(2026, 3, 18)
    case.refresh()
    assert case.concert.value == date(2026, 3, 20)
    assert said(case) == ""
