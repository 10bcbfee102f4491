"""A diary as it is, through the page: asked about, odd rows ticked, taken in; the next copy needs no questions."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html import unescape
from pathlib import Path
from typing import Any

import ipywidgets as w
import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.forms.diary_page.form import DiaryForm
from reedlab.forms.shared.fields import Number, Pick
from reedlab.rows.records import Sitting

from ..errands._diaries import TODAY, csv

DIARY = ("Datum;Blatt;Minuten;Note;Wässern", "03.02.2026;1;25;2,5;Wasser", "04.02.2026;2;30;1;Mund",
         "05.02.2026;1;20;3;wasser", "06.02.2026;2;;2;Mund")


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(tmp_path / "reeds.logbook", lambda: TODAY)


def text(value: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", value)).split())


def controls(view: Any) -> list[Any]:
    return [view, *(c for child in getattr(view, "children", ()) for c in controls(child))]


def control(form: DiaryForm, label: str) -> Any:
    return next(c for c in controls(form.asked) if label in str(getattr(c, "description", "")))


def choose(form: DiaryForm, *lines: str) -> None:
    form.files.value = ({"name": "Tagebuch.csv", "content": csv(*lines), "type": "", "size": 1,
                         "last_modified": datetime(2026, 6, 30, tzinfo=UTC)},)


def test_it_is_taken_in_by_answers_and_ticks_alone_and_the_next_copy_needs_none(book: Book) -> None:
    form = DiaryForm(book)
    assert form.inside.layout.display == "none"
    choose(form, *DIARY)
    assert "04.02.2026" in form.first.value
    assert [p.typed for p in form.columns.values()] == [
        "Datum", "Blatt", None, "Note", "Minuten", "Wässern", None]
    control(form, "In which order").put("dmy")
    assert (control(form, "The worst mark").typed, control(form, "The best mark").typed) == ("6", "1")
    control(form, "What is it about?").put(next(n for words, n in control(form, "What is it about?").options
                                                if words == "Water or mouth"))
    for word, key in (("wasser", "water"), ("mund", "mouth")):
        control(form, f"“{word}”").put(key)
    assert control(form, "bare numbers").typed == "1"
    form.again.click()
    assert form.message.value == ""
    control(form, "For which instrument").put("clarinet")
    form.again.click()
    assert "3 entries, 3 rated, from 2026-02-03 to 2026-02-05." in text(form.heard.value)
    assert form.take.layout.display == "none"
    (skip,) = form.ticks.values()
    assert skip.description == "Skip row 5: no minutes"
    skip.value = True
    form.again.click()
    assert form.take.layout.display == ""
    form.take.click()
    assert "Taken in: 3 entries. 2 reeds are new." in text(form.message.value), form.message.value
    assert len(book.frames().sittings) == 3

    choose(form, *DIARY, "07.02.2026;1;15;2;Mund")
    assert not form.answers
    assert form.take.layout.display == ""
    form.take.click()
    assert "Taken in: 1 entry. 3 were in the logbook already." in text(form.message.value)
    assert set(book.frames().sittings["date"].dt.date) >= {date(2026, 2, 7)}


def test_what_is_not_said_is_not_assumed(book: Book) -> None:
    form = DiaryForm(book)
    choose(form, *DIARY)
    control(form, "The best mark").value = "six"
    form.again.click()
    assert "The best mark: wanted a number." in text(form.message.value)
    assert isinstance(control(form, "The best mark"), Number)
    control(form, "The best mark").value = "1"
    form.again.click()
    assert form.take.layout.display == "none"
    order = control(form, "In which order")
    assert isinstance(order, Pick)
    assert order.typed is None
    assert not book.exists
    form.columns["remark"].put("Note")
    form.again.click()
    assert "One column stands for two things." in text(form.message.value)


def test_a_file_that_cannot_be_read_says_why_and_leaves_nothing(book: Book) -> None:
    form = DiaryForm(book)
    choose(form, "1;2;3")
    assert "no line with titles" in text(form.message.value)
    assert form.inside.layout.display == "none"


def test_every_fault_is_told_in_the_words_of_the_diary_before_anything_is_taken(book: Book) -> None:
    form = DiaryForm(book)
    lines = [f"{d:02d}.03.2026;{d};300;2;Mund" for d in range(1, 5)] + [f"13.03.2026;{n};700;3;Mund" for n in (1, 2, 3)]
    choose(form, DIARY[0], *lines)
    control(form, "Which box").put("my box")
    control(form, "The worst mark").put(5000)
    form.again.click()
    told = text(form.message.value)
    assert "The box: found 'my box'; wanted a short name without dash, space or comma, such as 2." in told
    assert "The worst mark: found 5000; wanted a number from -1000 to 1000." in told
    control(form, "Which box").put("7")
    control(form, "The worst mark").put(6)
    control(form, "What is it about?").put(0)
    control(form, "“mund”").put("mouth")
    control(form, "For which instrument").put("clarinet")
    form.again.click()
    (tick,) = form.ticks.values()
    assert tick.description == ("Skip row 8: “Minuten”: found 2100 minutes in all on 2026-03-13; wanted at most 1440 "
                                "minutes a day, all reeds together")
    tick.value = True
    form.again.click()
    form.take.click()
    assert "Taken in: 6 entries." in text(form.message.value)
    changed = [lines[0].replace("300;2", "200;1"), *lines[1:6], lines[6]]
    choose(form, DIARY[0], *changed)
    (tick,) = form.ticks.values()
    assert tick.description == ("Skip row 2: “Note”: 10 here, the logbook has 8; “Minuten”: 200 here, the logbook has "
                                "300")
    told = text(" ".join(str(c.value) for c in controls(form) if isinstance(c, w.HTML)))
    assert not re.search(r"play_min|overall|sitting|habit\b|`", told)


def test_what_was_corrected_or_taken_back_in_the_logbook_since_stays_so(book: Book) -> None:
    form = DiaryForm(book)
    lines = [f"{d:02d}.03.2026;1-{d:02d};30;{d % 6 + 1};" for d in range(13, 17)]
    choose(form, DIARY[0], *lines)
    control(form, "For which instrument").put("clarinet")
    form.again.click()
    form.take.click()
    assert "Taken in: 4 entries." in text(form.message.value), form.message.value
    with book.writing() as logbook:
        first, second = logbook.frame("sittings").sort_values("date").head(2).to_dict("records")
        logbook.withdraw("sittings", first["entry_id"])
        logbook.correct("sittings", second["entry_id"], Sitting(
            sitting=second["sitting"], date=second["date"].date(), reed=second["reed"], play_min=45, overall=9))
    choose(form, DIARY[0], *lines, "17.03.2026;1-01;20;2;")
    assert not form.ticks
    form.take.click()
    assert "Taken in: 1 entry. 4 were in the logbook already." in text(form.message.value)
    log = book.frames().sittings.sort_values("date")
    assert list(log["play_min"]) == [45, 30, 30, 20]


def test_every_button_for_files_is_called_by_its_words(book: Book) -> None:
    for page in (DiaryForm(book), forms.class_files(book), forms.away(book)):
        found = [c for c in controls(page) if isinstance(c, w.FileUpload)]
        assert found
        assert all(c.tooltip == c.description for c in found)  # else a screen reader says "null"


def test_what_was_said_before_can_be_said_anew(book: Book) -> None:
    form = DiaryForm(book)
    lines = ["13.03.2026;1-01;30;2;", "14.03.2026;1-01;30;5;"]
    for name, best in (("march.csv", "5"), ("april.csv", "1")):
        form.files.value = ({"name": name, "content": csv(DIARY[0], *lines), "type": "", "size": 1,
                             "last_modified": datetime(2026, 6, 30, tzinfo=UTC)},)
        assert bool(form.answers) == (name == "march.csv")
        form.anew.click()
        assert form.take.layout.display == "none"
        control(form, "The best mark").value = best
        if name == "march.csv":
            control(form, "The worst mark").value = "1"
            control(form, "For which instrument").put("clarinet")
        form.again.click()
        for tick in form.ticks.values():  # the logbook has them otherwise
            tick.value = True
        lines.append("15.03.2026;1-01;30;6;")
        if name == "march.csv":
            form.take.click()
            assert "Taken in: 2 entries." in text(form.message.value)
    assert [t.description for t in form.ticks.values()] == [
        "Skip row 2: “Note”: 8 here, the logbook has 2.5", "Skip row 3: “Note”: 2 here, the logbook has 10"]
    form.again.click()
    form.take.click()
    assert "Taken in: 1 entry." in text(form.message.value)
    (kept,) = (book.path.parent / "diaries").iterdir()
    assert '"best": 1.0' in kept.read_text(encoding="utf8")
