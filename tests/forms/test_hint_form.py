"""What an old diary hints at: one button, the hint above the fair trial. The diary is invented."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import ipywidgets as w
import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.rows.records import Sitting
from tests.readability import grade

from ._playing import Clock, add_box, new_book, said


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    clock = Clock()
    made = new_book(Path(tmp_path_factory.mktemp("player")), clock)
    add_box(made, reeds=6)
    with made.writing() as logbook:
        logbook.add_many([
            Sitting(date=clock() - timedelta(days=d), reed=f"1-{1 + d % 6:02d}", play_min=30, overall=4 + d % 5,
                    habit=("water", "mouth")[d // 6 % 2]) for d in range(1, 37)])
    return made


def test_it_stands_below_what_takes_a_diary_in(book: Book) -> None:
    page = forms.plan_more(book)
    assert page.forms == {}
    page.words["What you wrote down elsewhere"].value = True
    form = page.forms["What you wrote down elsewhere"].hints
    form.question.put("wetting")
    form.read.click()
    assert "Only a hint from your old diary" in form.found.value


def test_the_help_is_plain(book: Book) -> None:
    form = forms.old_diary(book)
    told = re.sub(r"<h2>.*?</h2>|<[^>]+>", " ", " ".join(c.value for c in form.children if isinstance(c, w.HTML)))
    assert len(told) > 200
    assert grade(told) <= 8
    assert not re.search(r"significan|\barms?\b|\bblocks?\b|\bnotes\b|\bprotocol\b", told)


def test_the_hint_and_the_fair_trial_appear_below_the_button(book: Book) -> None:
    form = forms.old_diary(book)
    form.question.put("wetting")
    assert "<code>mouth</code> (wetting in the mouth)" in form.ways.value
    before = book.path.read_bytes()
    form.read.click()
    found = form.found.value
    assert found.index("Only a hint from your old diary") < found.index("The fair trial that would settle it")
    assert "With your 6 reeds" in found
    assert book.path.read_bytes() == before
    assert form.view.bar.layout.display == "none"
    form.question.put("position")
    assert form.found.value == ""


def test_what_is_missing_is_said_in_place(book: Book, tmp_path: Path) -> None:
    form = forms.old_diary(book)
    form.read.click()
    assert "Choose a question" in said(form)
    form.question.put("drying")
    form.read.click()
    assert "Not read yet" in said(form)
    assert "'mouth' 18 times" in said(form)
    empty = forms.old_diary(new_book(tmp_path, Clock()))
    empty.question.put("wetting")
    empty.read.click()
    assert "still empty" in said(empty)


def test_life_and_lasting_are_asked_only_where_they_make_sense(book: Book) -> None:
    form = forms.old_diary(book)
    shown = {}
    for key in ("position", "drying", "own"):
        form.question.put(key)
        shown[key] = (form.counts.layout.display == "", form.lasts.layout.display == "")
    assert shown == {"position": (False, False), "drying": (True, False), "own": (True, True)}
    form.question.put("drying")
    form.counts.put(True)
    form.question.put("position")
    form.question.put("wetting")
    form.read.click()
    assert "served both ways" in said(form)
