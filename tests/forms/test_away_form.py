"""The page of one file from the page Paper: made by one button, read back by one button."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab.forms import Book
from reedlab.forms.paper_page.away_form import AwayForm

from ..errands._away import START, begun, handed, sitting


def said(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.message.value)).split())


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(begun(tmp_path / "reeds.logbook"), lambda: START + timedelta(days=1))


def count(book: Book) -> int:
    return int((book.frames().sittings["date"].dt.date >= START).sum())


def test_the_page_is_made_in_the_folder(book: Book) -> None:
    form = AwayForm(book)
    form.make.click()
    assert said(form).startswith("✓ Made: away-open-or-not.html, in your folder.")
    assert (book.path.parent / "away-open-or-not.html").is_file()


def test_pasted_text_is_read_in_and_twice_counts_once(book: Book) -> None:
    form = AwayForm(book).back
    form.read_in.click()
    assert "Choose the file, or paste the text" in said(form)
    form.text.value = handed([sitting(1, START, "1-03"), sitting(2, START, "1-04")])
    form.read_in.click()
    assert "Read in for Open or not: 2 new." in said(form)
    assert form.text.value == ""
    form.text.value = handed([sitting(1, START, "1-03"), sitting(2, START, "1-04")])
    form.read_in.click()
    assert "nothing new. 2 were in the logbook already." in said(form)
    assert count(book) == 2


def test_odd_entries_are_asked_about_and_what_is_refused_stays_to_be_put_right(book: Book) -> None:
    form = AwayForm(book).back
    text = handed([sitting(1, START, "1-03", play_min="300")])
    form.text.value = text
    form.read_in.click()
    assert "300 minutes on one reed is a lot. Is that right?" in said(form)
    assert count(book) == 0
    form._yes.click()
    assert "1 new" in said(form)
    form.text.value = text.replace("300", "30")
    form.read_in.click()
    assert "changed, or cut short" in said(form)
    assert form.text.value
    assert count(book) == 1
