"""Entries of the day on the form: what it refuses, asks about, changes and takes back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.forms.shared.fields import Rating

from . import _playing as playing

said = playing.said


def test_sheet_of_an_entry_has_the_planned_way_and_an_empty_rating(in_trial: Book) -> None:
    form = playing.entry_sheet(in_trial)
    (protocol,) = in_trial.protocols().values()
    reed = form.entry.reed.typed
    assert reed == min((s.order, s.reed) for s in protocol.slots if s.day == 1)[1]
    planned = protocol.habit_for(reed, 1)
    assert planned is not None
    assert form.entry.habit.typed == planned.key
    assert form.entry.play_min.typed == "10"
    assert form.entry.overall.typed is None


def test_today_wants_a_rating_for_a_due_reed_and_loses_nothing_typed(in_trial: Book) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.play_min.value = "12,5"
    form.entry.remark.put("squeaky")
    form.save.click()
    assert "Overall: it is empty" in said(form)
    assert (form.entry.play_min.value, form.entry.remark.value) == ("12,5", "squeaky")
    form.entry.overall.put(6)
    form.save.click()
    assert playing.sittings(in_trial)["play_min"].tolist() == [12.5]


@pytest.mark.parametrize(("minutes", "word"), [("1800", "Minutes"), ("-5", "Minutes"), ("ten", "Minutes"),
                                               ("", "Minutes")])
def test_today_refuses_impossible_minutes(in_trial: Book, minutes: str, word: str) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.overall.put(6)
    form.entry.play_min.value = minutes
    form.save.click()
    assert "Not saved" in said(form)
    assert word in said(form)
    assert len(playing.sittings(in_trial)) == 0


def test_today_refuses_a_day_that_has_not_come(in_trial: Book, clock: Any) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.overall.put(6)
    form.entry.date.value = clock.on + timedelta(days=1)
    form.save.click()
    assert "up to today" in said(form)
    assert len(playing.sittings(in_trial)) == 0


def test_today_asks_about_an_odd_entry_and_keeps_it_only_after_yes(in_trial: Book) -> None:
    form = playing.entry_sheet(in_trial)
    other = next(v for _, v in form.entry.habit.options if v != form.entry.habit.typed)
    form.entry.habit.put(other)
    form.entry.overall.put(5)
    form.save.click()
    assert "Is this right?" in said(form)
    assert len(playing.sittings(in_trial)) == 0
    form._no.click()
    assert form.entry.overall.typed == 5
    form.save.click()
    form._yes.click()
    assert playing.sittings(in_trial)["habit"].tolist() == [other]


def test_earlier_entry_is_changed_and_history_keeps_the_old_one(in_trial: Book) -> None:
    page = forms.today(in_trial)
    page.lines[0].overall.put(5)
    page.lines[0].save.click()
    page.rarer.begin("past")
    past = page.rarer.shown
    past.pick.put(int(playing.sittings(in_trial)["entry_id"].iloc[0]))
    past.change.click()
    form = page.rarer.shown
    assert "You are changing the entry" in form.head.value
    assert form.entry.overall.typed == 5
    form.entry.overall.put(8)
    form.entry.remark.put("a slip of the pen")
    form.save.click()
    assert "Saved" in said(form)
    now = playing.sittings(in_trial)
    assert (now["overall"].tolist(), now["remark"].tolist()) == ([8], ["a slip of the pen"])
    with in_trial.reading() as logbook:
        assert logbook.history("sittings", int(now["entry_id"].iloc[0]))["overall"].tolist() == [5, 8]


@pytest.mark.parametrize("points", [np.float64(7.0), np.float64(7.5), 0, 10.0])
def test_rating_shows_any_kind_of_number_as_it_is(points: float) -> None:
    control = Rating("Overall", {})
    control.put(points)
    assert control.typed == points


def test_earlier_entry_is_taken_back_after_yes_and_the_list_shows_no_rating(in_trial: Book) -> None:
    page = forms.today(in_trial)
    page.lines[0].overall.put(9.5)
    page.lines[0].save.click()
    page.rarer.begin("past")
    past = page.rarer.shown
    assert "9.5" not in str(past.pick.options)
    past.pick.put(int(playing.sittings(in_trial)["entry_id"].iloc[0]))
    past.remove.click()
    assert len(playing.sittings(in_trial)) == 1
    past._yes.click()
    assert len(playing.sittings(in_trial)) == 0
