"""The player's own marks: said in the plan, frozen, and shown wherever a rating is asked for."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.errors import InputError
from reedlab.forms import Book
from reedlab.forms.plan_page.wishes import Wishes
from reedlab.forms.plan_page.words import draft_html, scale_words
from reedlab.forms.shared.fields import Rating
from reedlab.handout.sheet import sheet
from reedlab.handout.week import week_of
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed
from reedlab.screens.plan import ReedChoice
from reedlab.trial.practice import ANCHORS
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

from ._playing import typing_in

START = date(2026, 3, 2)
OWN = ((2, "a duck"), (6, "all right"), (10, "a dream"))


def a_plan(reeds: tuple[str, ...], trial: str, scale: tuple[tuple[int, str], ...]) -> Protocol:
    return Protocol(
        trial=trial, question="drying", ask="?", instrument="clarinet",
        habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
        units=tuple(Unit(r, "s", (r,)) for r in reeds), dealt=("case", "open"),
        slots=tuple(Slot(d, k + 1, r) for d in range(1, 15) for k, r in enumerate(reeds)), seed=2, scale=scale)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Two invented trials side by side, with different words beside their ratings."""
    made = Book(tmp_path / "reeds.logbook", lambda: START)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=f"1-0{n}", box="1", first_play=6) for n in range(1, 6))])
        logbook.start_trial(a_plan(("1-01", "1-02"), "One", OWN))
        logbook.start_trial(a_plan(("1-03", "1-04"), "Two", ((3, "thin"), (6, "round"), (9, "golden"))))
    return made


def wishes_for(question: str, design: str | None = None, outcome: str | None = None) -> Wishes:
    made = Wishes(START)
    made.question.put(question)
    if design is not None:
        made.design.put(design)
    if outcome is not None:
        made.outcome.put(outcome)
    made.expected.put("none")
    made.offer_reeds([ReedChoice(r, 5.0) for r in reed_frame()["reed"]], [])
    return made


def reed_frame() -> Any:
    from reedlab.rows.tables import typed

    return typed("reeds", [{"reed": f"1-{n:02d}", "box": "1", "first_play": 4 + n % 5} for n in range(1, 11)])


def shown(control: Any) -> bool:
    return bool(control.layout.display != "none")


def test_usual_marks_are_filled_in_and_read() -> None:
    values = wishes_for("wetting").values()
    assert values["marks"].scale == tuple(ANCHORS.items())
    assert values["cap_hours"] is None


def test_own_words_are_read_and_an_emptied_one_is_left_out() -> None:
    made = wishes_for("wetting")
    made.marks.anchors[2].put("a duck")
    made.marks.anchors[4].put("")
    assert made.values()["marks"].scale == ((2, "a duck"), (6, "rehearsal"), (8, "concert"), (10, "best I have had"))


def test_too_few_words_are_refused_beside_every_other_fault() -> None:
    made = wishes_for("wetting")
    for points in (2, 4, 6):
        made.marks.anchors[points].put("")
    made.days.value = "ten"
    with pytest.raises(InputError) as err:
        made.values()
    assert "at least 3" in str(err.value)
    assert "Days" in str(err.value)


def test_worn_out_rule_is_asked_only_where_lives_are_compared() -> None:
    marks = wishes_for("wetting").marks
    assert not shown(marks.worn)
    marks = wishes_for("rotation", outcome="life_hours").marks
    assert shown(marks.worn)
    assert shown(marks.below)
    assert not shown(marks.good)
    marks.rule.put("player")
    assert not shown(marks.below)
    marks = wishes_for("rotation", outcome="good_hours").marks
    assert shown(marks.good)
    assert not shown(marks.rule)


def test_cap_is_asked_only_where_the_way_sets_the_hours() -> None:
    made = wishes_for("drying")
    assert not shown(made.marks.capped)
    made.marks.cap.put(12)  # typed for another question before
    assert made.values()["cap_hours"] is None
    made = wishes_for("rotation")
    assert shown(made.marks.capped)
    made.marks.cap.put(12)
    assert made.values()["cap_hours"] == 12
    own = wishes_for("own")
    assert not shown(own.marks.capped)
    own.words.sets_hours.value = True
    assert shown(own.marks.capped)


@pytest.mark.parametrize(("control", "typed", "says"), [
    ("cap", "0", "Most playing hours"), ("cap", "ten", "Most playing hours"), ("below", "12", "Worn out below"),
    ("in_a_row", "1.5", "whole number"), ("below", "7", "no more than the second")])
def test_numbers_that_make_no_sense_are_named(control: str, typed: str, says: str) -> None:
    made = wishes_for("rotation", outcome="life_hours")
    getattr(made.marks, control).value = typed
    with pytest.raises(InputError, match=says):
        made.values()


def test_plan_shows_the_marks_it_freezes() -> None:
    made = wishes_for("rotation", outcome="life_hours")
    made.marks.anchors[2].put("a duck")
    made.marks.below.put(3)
    made.marks.cap.put(6)
    values = made.values()
    frame = reed_frame()
    keep = {k: values[k] for k in ("outcome", "marks", "cap_hours", "start")}
    draft = draw_up(values["question"], frame, seed=1, instrument="clarinet", simulations=100, **keep)
    assert (draft.protocol.scale[0], draft.protocol.worn_out_below, draft.protocol.cap_hours) == ((2, "a duck"), 3, 6)
    page = draft_html(draft)
    assert "2 a duck · 4 practice only" in page
    assert "After 2 ratings in a row below 3 points." in page
    assert "A reed is done after 6 playing hours." in page
    by_word = replace(draft, protocol=replace(draft.protocol, worn_out_rule="player"))
    assert "When you retire it as worn out." in draft_html(by_word)


def labels(rating: Rating) -> list[str]:
    return [text for text, _ in rating.whole.options]


def test_today_shows_the_words_of_the_reeds_own_trial(book: Book) -> None:
    page = forms.today(book)
    page.rarer.begin("entry")
    form = page.rarer.shown
    form.entry.reed.put("1-01")
    assert "2\na duck" in labels(form.entry.overall)
    form.entry.overall.put(7.5)
    form.entry.reed.put("1-03")
    assert "9\ngolden" in labels(form.entry.overall)
    assert "2" in labels(form.entry.overall)
    assert form.entry.overall.typed == 7.5
    first, second = (re.sub(r"<[^>]+>", "", x) for x in page.below.value.split("</div>")[:2])
    assert ("1-01" in first, "2 a duck" in first) == (True, True)
    assert ("1-04" in second, "9 golden" in second) == (True, True)


def test_rewording_an_empty_rating_leaves_it_empty() -> None:
    rating = Rating("Overall", dict(ANCHORS))
    rating.reword(dict(OWN))
    assert rating.typed is None
    assert rating.foot.layout.display == "none"


def test_a_trial_started_while_the_page_is_open_brings_its_words(tmp_path: Path) -> None:
    made = Book(tmp_path / "reeds.logbook", lambda: START)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=f"1-0{n}", box="1") for n in (1, 2))])
    page = forms.today(made)
    form = page.rarer.shown  # open by itself, since nothing is due
    assert "2\nwould not play" in labels(form.entry.overall)
    with made.writing() as logbook:
        logbook.start_trial(a_plan(("1-01", "1-02"), "One", OWN))
    assert "2\na duck" in labels(form.entry.overall)
    assert "<b>2</b> a duck" in page.below.value


def test_sheet_and_typing_it_back_show_the_words_too(book: Book) -> None:
    form = typing_in(book)
    form.trial.put("One")
    assert scale_words(OWN) in form.scale.value
    form.trial.put("Two")
    assert "9 golden" in form.scale.value
    plan = book.protocols()["One"]
    page = sheet(plan, week_of(plan, book.frames(), today=START + timedelta(days=1)))
    assert "<b>2</b>&nbsp;a duck" in page


def test_a_plan_on_reeds_another_page_just_gave_to_a_trial_is_not_started(book: Book) -> None:
    form = forms.plan(book)
    draft = draw_up("drying", reed_frame(), start=START, seed=1, instrument="clarinet", simulations=100)
    form.draft = replace(draft, protocol=a_plan(("1-02", "1-05"), "Three", OWN))
    form.name.put("Three")
    form.start.click()
    assert "Not started yet" in form.message.value
    assert "Plan: found reed 1-02 in the plan; wanted reeds that serve in no other trial" in form.message.value
    assert list(book.protocols()) == ["One", "Two"]
