"""An old diary on the plan page: folded, one button, the hint above the fair trial. The diary is invented."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from html import unescape
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


def test_it_is_folded_at_first_and_says_what_a_file_must_hold(book: Book) -> None:
    page = forms.plan_more(book)
    assert page.forms == {}
    page.words["An old diary"].value = True
    form = page.forms["An old diary"]
    told = form.inside.children[0].value
    assert "date,reed,play_min,overall,habit" in told
    assert "reedlab import" in told


def test_the_help_is_plain(book: Book) -> None:
    form = forms.old_diary(book)
    text = " ".join(c.value for c in form.inside.children if isinstance(c, w.HTML)).split("<pre>")
    told = re.sub(r"<h3>.*?</h3>|<[^>]+>", " ", text[0] + text[1].split("</pre>")[1])
    assert len(told) > 300
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


def files(**texts: str) -> tuple[dict[str, object], ...]:
    return tuple({"name": f"{n}.csv", "type": "text/csv", "size": len(t), "content": memoryview(t.encode()),
                  "last_modified": datetime(2026, 1, 1, tzinfo=UTC)} for n, t in texts.items())


BOXES, REEDS = "box,instrument\n1,clarinet\n", "reed,box\n1-01,1\n1-02,1\n"
SITTINGS = "date,reed,play_min,overall,habit\n2025-11-03,1-01,30,6.5,water\n2025-11-04,1-02,25,7,mouth\n"


def test_files_chosen_on_the_page_go_into_the_logbook(tmp_path: Path) -> None:
    fresh = new_book(tmp_path, Clock())
    form = forms.old_diary(fresh)
    form.files.value = files(boxes=BOXES, reeds=REEDS, sittings=SITTINGS)
    form.take.click()
    assert "Read in: 1 box, 2 reeds, 2 sittings." in said(form)
    assert list(fresh.frames().sittings["habit"]) == ["water", "mouth"]


def test_files_at_fault_are_named_by_line_and_leave_no_empty_logbook(tmp_path: Path) -> None:
    fresh = new_book(tmp_path, Clock())
    form = forms.old_diary(fresh)
    form.take.click()
    assert "Choose the files first" in said(form)
    form.files.value = files(boxes=BOXES, reeds=REEDS, sittings=SITTINGS.replace("6.5", "65"))
    form.take.click()
    assert "sittings.csv, line 2, column `overall`" in said(form)
    assert not fresh.exists
    form.files.value = (*files(boxes=BOXES), {**files(x="")[0], "name": "diary.xlsx"})
    form.take.click()
    assert "not both" in said(form)


def test_the_example_on_the_page_can_be_taken_in_as_it_stands(tmp_path: Path) -> None:
    fresh = new_book(tmp_path, Clock())
    form = forms.old_diary(fresh)
    shown = unescape(form.inside.children[0].value.split("<pre>")[1].split("</pre>")[0])
    assert len(shown.splitlines()) == 3
    form.files.value = files(boxes=BOXES, reeds=REEDS, sittings=shown)
    form.take.click()
    assert "2 sittings" in said(form)


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
