"""The page for paper: one button for each file, in the player's folder, and a filled spreadsheet back in."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import icalendar
import openpyxl
import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.forms.paper_page.form import PaperForm
from reedlab.logbook.layout import named
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
REEDS = ("1-01", "1-02", "1-03", "1-04")


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """An invented trial on its third day."""
    made = Book(tmp_path / "reeds.logbook", lambda: START + timedelta(days=2))
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1", first_play=6) for r in REEDS),
                          *(Sitting(date=date(2026, 2, d), reed=r, play_min=25) for r in REEDS for d in (24, 25, 26))])
        logbook.start_trial(Protocol(
            trial="Open or not", question="drying", ask="?", instrument="clarinet",
            habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
            design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
            units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
            dealt=("case", "open", "open", "case"),
            slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2))
    return made


def said(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.message.value)).split())


def text(path: Path) -> str:
    return path.read_text(encoding="utf8")


def test_sheet_is_made_in_the_folder_for_the_week_and_paper_chosen_and_opens_in_a_new_tab(book: Book) -> None:
    form = PaperForm(book)
    assert (form.week.typed, form.paper.typed) == (1, "a4")
    form.sheet.click()
    name = "sheet-open-or-not-week-1.html"
    path = book.path.parent / name
    assert said(form).startswith(f"✓ Made: {name}")
    assert str(path) in said(form)
    assert f'href="/files/{name}" target="_blank"' in form.message.value
    assert "week 1 of 2" in text(path)
    assert "size: A4" in text(path)
    form.week.put(2)
    form.paper.put("letter")
    form.sheet.click()
    other = text(book.path.parent / "sheet-open-or-not-week-2.html")
    assert "week 2 of 2" in other
    assert "size: letter" in other


def test_what_was_made_is_said_below_its_own_button_and_nowhere_else(book: Book) -> None:
    form = PaperForm(book)
    form.labels.click()
    labels = form.message
    (at,) = (list(part.children) for part in form.of_reeds.children if form.labels in getattr(part, "children", ()))
    assert at[at.index(form.labels) + 1] is labels
    form.sheet.click()
    assert form.of_trial.children[-1] is form.message
    assert "sheet-" in form.message.value
    assert labels.value == ""


def test_labels_show_every_reed_in_use(book: Book) -> None:
    form = PaperForm(book)
    form.labels.click()
    assert all(f">{r}<" in text(book.path.parent / "labels.html") for r in REEDS)
    assert "labels.html" in said(form)


def test_calendar_is_made_and_made_again_in_place(book: Book) -> None:
    form = PaperForm(book)
    form.at.put("18:30")
    form.calendar.click()
    path = book.path.parent / "calendar-open-or-not.ics"
    assert str(path) in said(form)
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len(events) == 12
    assert {e.decoded("dtstart").hour for e in events} == {18}
    form.calendar.click()
    assert len(icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")) == 12


@pytest.mark.parametrize("typed", ["noon", "25:00", "18:00+01:00"])
def test_a_time_that_is_none_is_named(book: Book, typed: str) -> None:
    form = PaperForm(book)
    form.at.put(typed)
    form.calendar.click()
    assert "When you practise" in said(form)
    assert not list(book.path.parent.glob("*.ics"))


def test_spreadsheet_is_made_under_a_new_name_each_time_and_read_back_in(book: Book) -> None:
    form = PaperForm(book)
    assert form.back.layout.display == "none"
    form.spreadsheet.click()
    form.spreadsheet.click()
    names = sorted(p.name for p in book.path.parent.glob("*.xlsx"))
    assert names == ["fill-in-2026-03-04-2.xlsx", "fill-in-2026-03-04.xlsx"]
    assert [v for _, v in form.filled.options[1:]] == names
    path = book.path.parent / names[1]
    made = openpyxl.load_workbook(path)
    sheet = made["sittings"]
    titles = [named(c.value) for c in sheet[1]]
    sheet.cell(2, titles.index("play_min") + 1).value = 11
    sheet.cell(2, titles.index("overall") + 1).value = 6.5
    made.save(path)
    before = len(book.frames().sittings)
    form.read_in.click()
    assert "Choose the spreadsheet first" in said(form)
    form.filled.put(names[1])
    form.read_in.click()
    assert "1 sitting" in said(form)
    assert len(book.frames().sittings) == before + 1


def test_every_bad_cell_of_a_spreadsheet_is_named_and_nothing_is_read_in(book: Book) -> None:
    form = PaperForm(book)
    form.spreadsheet.click()
    (path,) = book.path.parent.glob("*.xlsx")
    made = openpyxl.load_workbook(path)
    sheet = made["sittings"]
    titles = [named(c.value) for c in sheet[1]]
    sheet.cell(2, titles.index("play_min") + 1).value = "ten"
    sheet.cell(3, titles.index("play_min") + 1).value = 10
    sheet.cell(3, titles.index("overall") + 1).value = 12
    made.save(path)
    before = len(book.frames().sittings)
    form.filled.put(path.name)
    form.read_in.click()
    assert "Nothing was read in" in said(form)
    assert "'ten'" in said(form)
    assert "12" in said(form)
    assert len(book.frames().sittings) == before


@pytest.mark.parametrize("weeks", ["0", "many", "1.5", "99"])
def test_weeks_that_are_none_are_named(book: Book, weeks: str) -> None:
    form = PaperForm(book)
    form.weeks.value = weeks
    form.spreadsheet.click()
    assert "Weeks in the spreadsheet" in said(form)


def test_anothers_file_of_that_name_is_left_alone(book: Book) -> None:
    path = book.path.parent / "labels.html"
    path.write_text("my own words")
    form = PaperForm(book)
    form.labels.click()
    assert "something else" in said(form)
    assert path.read_text() == "my own words"


def test_without_a_trial_labels_and_spreadsheet_can_still_be_made(tmp_path: Path) -> None:
    made = Book(tmp_path / "reeds.logbook", lambda: START)
    form = forms.paper(made)
    form.labels.click()
    assert "no reeds in your logbook yet" in said(form)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), Reed(reed="1-01", box="1")])
    assert form.of_trial.layout.display == "none"
    assert "No trial yet" in form.none.value
    form.labels.click()
    assert "Made: labels.html" in said(form)
    form.spreadsheet.click()
    assert "0 planned rows" in said(form)


def test_the_page_opens_after_a_trial_was_ended_by_hand(book: Book) -> None:
    (name,) = book.protocols()
    with book.writing() as logbook:
        logbook.end_trial(name, START + timedelta(days=2), "enough")
    form = forms.paper(book)
    form.labels.click()
    assert "Made: labels.html" in said(form)
    form.sheet.click()
    assert "Made:" in said(form) or "Not saved" in said(form)


def test_it_opens_on_an_empty_folder_without_writing(tmp_path: Path) -> None:
    made = Book(tmp_path / "reeds.logbook", lambda: START)
    assert said(forms.paper(made)) == ""
    assert not list(tmp_path.iterdir())


def test_without_reeds_the_page_says_where_to_begin_and_offers_nothing_to_make(tmp_path: Path) -> None:
    made = Book(tmp_path / "reeds.logbook", lambda: START)
    form = forms.paper(made)
    assert "Begin with" in form.none.value
    assert form.of_reeds.layout.display == "none"
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), Reed(reed="1-01", box="1")])
    assert "No trial yet" in form.none.value
    assert form.of_reeds.layout.display == ""
