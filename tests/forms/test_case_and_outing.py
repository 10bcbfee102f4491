"""The reed case and the line for a rehearsal, used as a player would."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Retirement


@pytest.fixture
def book(demo: Path) -> Book:
    return forms.here(demo)


def text(value: str) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", value))


def said(form: Any) -> str:
    return text(form.message.value)


def test_case_opens_on_an_empty_folder_without_writing(tmp_path: Path) -> None:
    book = forms.here(tmp_path / "reeds.logbook")
    form = forms.case(book)
    assert said(form) == ""
    assert "no reeds in your logbook yet" in text(form.reeds.value)
    assert said(forms.outing(book)) == ""
    assert not book.exists


def test_case_without_reeds_says_where_to_begin_and_shows_no_empty_part(tmp_path: Path, book: Book) -> None:
    form = forms.case(forms.here(tmp_path / "none.logbook"))
    assert "Begin with" in text(form.reeds.value)
    assert [fold.layout.display for fold in form.folds] == ["none"] * 4
    form = forms.case(book)
    assert "Begin with" not in text(form.reeds.value)
    assert [fold.layout.display for fold in form.folds] == [""] * 4


def test_case_seals_the_running_trial_and_opening_it_is_an_early_look(book: Book) -> None:
    form = forms.case(book)
    assert text(form.reeds.value).count("sealed until 24 March") == 4
    form.early.click()
    assert "Say in a few words why" in said(form)
    form.why.put("a pupil asks")
    form.early.click()
    assert len(book.frames().looks) == 0
    form._yes.click()
    looks = book.frames().looks
    assert looks["trial"].tolist() == ["High or low"]
    assert looks["why"].tolist() == ["reed case: a pupil asks"]
    assert "sealed" not in text(form.reeds.value)
    assert form.sealed.layout.display == "none"


def test_case_names_reeds_for_a_concert_and_refuses_a_day_gone_by(book: Book) -> None:
    form = forms.case(book)
    form.concert.value = book.today() + timedelta(days=5)
    assert "Ready for Wednesday 19 March 2025" in text(form.picks.value)
    form.concert.value = book.today() - timedelta(days=1)
    assert "That day has passed" in said(form)
    assert form.picks.value == ""


def test_case_says_what_reeds_die_of_and_what_an_hour_costs(book: Book) -> None:
    form = forms.case(book)
    assert "Worn out" in text(form.gone.value)
    assert re.search(r"Box \d+: \d+ h at 0\.\d\d each", text(form.gone.value))
    assert "<td" in form.gone.value
    assert "<td" in form.picks.value
    assert "&lt;" not in form.gone.value + form.picks.value
    assert re.search(r"Open the next box by \d+ June", " ".join(text(form.facts.value).split()))


def test_a_box_entered_by_mistake_is_taken_back_with_its_reeds_and_twice_is_once(book: Book) -> None:
    with Logbook.open(book.path) as logbook:
        logbook.add_many([Box(box="9", instrument="clarinet"), Reed(reed="9-01", box="9"), Reed(reed="9-02", box="9")])
    form = forms.case(book)
    form.undo.click()
    assert "Choose from the list first" in said(form)
    form.slip.put(("box", "9"))
    form.undo.click()
    assert "Take back box 9 with its 2 reeds?" in said(form)
    form._yes.click()
    form._yes.click()
    assert "Taken back: box 9" in said(form)
    assert "9" not in set(book.frames().boxes["box"])
    assert not {"9-01", "9-02"} & set(book.frames().reeds["reed"])


def test_rehearsal_is_one_line_without_rating(book: Book) -> None:
    form = forms.outing(book)
    form.save.click()
    assert all(word in said(form) for word in ("Where", "Reed", "Minutes"))
    form.where.put("rehearsal")
    form.reed.put("1-05")
    form.play_min.put(50)
    form.save.click()
    assert "Saved" in said(form)
    row = book.frames().sittings.iloc[-1]
    assert (row["reed"], row["where"], row["play_min"]) == ("1-05", "rehearsal", 50)


def test_long_concert_on_one_reed_is_asked_about(book: Book) -> None:
    form = forms.outing(book)
    form.where.put("concert")
    form.reed.put("1-05")
    form.play_min.put(90)
    form.save.click()
    assert "its limit is about 60" in said(form)
    form._yes.click()
    assert "Saved" in said(form)


def test_all_reeds_of_the_day_are_saved_with_one_save(book: Book) -> None:
    form = forms.today(book)
    first, second = form.lines
    first.overall.put(7)
    assert form.save_all.layout.display == "none"
    second.overall.put(5)
    assert form.save_all.description == "Save all 2"
    before = len(book.frames().sittings)
    form.save_all.click()
    assert "Saved" in said(form)
    rows = book.frames().sittings.iloc[before:]
    assert dict(zip(rows["reed"], rows["overall"], strict=True)) == {first.reed: 7, second.reed: 5}
    assert "all done for today" in form.head.value
    assert not any(x.waits for x in form.lines)


def test_second_reed_can_be_saved_first_and_the_first_stays_due(book: Book) -> None:
    form = forms.today(book)
    first, second = form.lines
    second.overall.put(5)
    second.save.click()
    assert book.frames().sittings["reed"].iloc[-1] == second.reed
    assert [x.saved is None for x in form.lines] == [True, False]
    assert form.lines[0] is first


def test_faults_of_several_lines_name_their_reed_and_nothing_is_saved(book: Book) -> None:
    form = forms.today(book)
    first, second = form.lines
    first.overall.put(7)
    second.overall.put(5)
    second.play_min.value = "ten"
    before = len(book.frames().sittings)
    form.save_all.click()
    assert f"{second.reed}: Minutes" in said(form)
    assert len(book.frames().sittings) == before
    assert first.overall.typed == 7


def test_yesterday_is_written_up_with_its_own_plan(book: Book) -> None:
    page = forms.today(book)
    page.rarer.begin("yesterday")
    form = page.rarer.shown
    yesterday = book.today() - timedelta(days=1)
    assert form.entry.date.value == yesterday
    assert "You are writing up" in form.head.value
    due = {d.reed for day in book.trial_days(yesterday) for d in day.due if not d.done}
    if due:
        assert form.entry.reed.typed in due
    form.entry.reed.put("1-05")
    form.entry.overall.put(6)
    form.entry.play_min.put(20)
    form.entry.from_memory.value = True
    form.save.click()
    assert "Saved" in said(form)
    row = book.frames().sittings.iloc[-1]
    assert (row["date"].date(), bool(row["from_memory"])) == (yesterday, True)
    assert form.entry.date.value == book.today() == date(2025, 3, 14)


@pytest.mark.parametrize(("gone", "told"), [(100, ""), (125, "Older reeds (25) are left out here")])
def test_the_case_says_that_older_reeds_are_left_out_only_where_they_are(tmp_path: Path, gone: int, told: str) -> None:
    path, on = tmp_path / "reeds.logbook", date(2026, 3, 2)
    with Logbook.create(path) as logbook:
        logbook.add_many(Box(box=str(n), instrument="clarinet") for n in range(1, gone // 5 + 2))
        reeds = [Reed(reed=f"{1 + n // 5}-{1 + n % 5:02d}", box=str(1 + n // 5)) for n in range(gone + 1)]
        logbook.add_many(reeds)
        logbook.add_many(Retirement(reed=r.reed, date=on - timedelta(days=gone - n), reason="worn_out")
                         for n, r in enumerate(reeds[:-1]))
    form = forms.case(forms.here(path, lambda: on))
    assert ("left out here" in text(form.gone.value)) is bool(told)
    assert told in text(form.gone.value)
    assert f"{min(gone, 100)}" in text(form.gone.value)
