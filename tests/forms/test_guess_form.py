"""A masked trial that has ended: the page asks for guesses once, before it opens the answer."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.analysis.beside.guesses import SKIPPED
from reedlab.folder.clock import TODAY_FILE
from reedlab.forms import Book
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed, Sitting

from ._playing import Clock, new_book, said


@pytest.fixture
def clock() -> Clock:
    return Clock()


def masked(folder: Path, clock: Clock, **more: Any) -> Book:
    """Start a trial of drying in which a helper hides the way, and play it."""
    book = new_book(folder, clock)
    (folder / TODAY_FILE).touch()  # no invented example beside it
    with book.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=f"1-{i:02d}", box="1", first_play=4 + i / 2) for i in range(1, 11))])
    frames = book.frames()
    plan = draw_up("drying", frames.reeds, start=clock(), seed=3, instrument="clarinet", boxes=frames.boxes,
                   trial="drying", simulations=100, masked="helper", **more).protocol
    with book.writing() as logbook:
        logbook.start_trial(plan)
    clock.next(40)
    with book.writing() as logbook:
        logbook.add_many([Sitting(date=plan.start + timedelta(days=s.day - 1), reed=s.reed, order=s.order,
                                  play_min=6, overall=5 + (s.day % 3)) for s in plan.slots])
    clock.on = plan.start
    return book


def test_guesses_are_asked_after_the_end_saved_once_and_then_the_answer_opens(tmp_path: Path, clock: Clock) -> None:
    book = masked(tmp_path, clock)
    plan = book.protocols()["drying"]
    form = forms.result(book)
    assert form.guess.view.layout.display == "none"
    assert "sealed" in form.page.value
    clock.next(60)
    form.refresh()
    assert form.guess.view.layout.display == ""
    assert form.page.value == ""
    assert list(form.guess.rows) == sorted(plan.reeds)
    form.guess.save.click()
    assert "1-01" in said(form)
    assert "I don't know" in said(form)
    assert book.frames().guesses.empty
    a, b = (h.key for h in plan.habits)
    picks = [a, b, "unsure"] * 4
    for row, pick in zip(form.guess.rows.values(), picks, strict=False):
        row.put(pick)
    form.guess.save.click()
    assert "Saved" in said(form)
    kept = book.frames().guesses
    assert kept["trial"].tolist() == ["drying"] * len(plan.reeds)
    assert kept.sort_values("unit")["habit"].tolist()[:3] == [a, b, None]
    assert form.guess.view.layout.display == "none"
    assert "you guessed which way each reed had" in form.page.value
    again = forms.result(book)
    assert again.guess.view.layout.display == "none"
    assert "rl-headline" in again.page.value


def test_a_skip_is_kept_and_said_and_nothing_is_asked_again(tmp_path: Path, clock: Clock) -> None:
    book = masked(tmp_path, clock)
    clock.next(60)
    form = forms.result(book)
    form.guess.skip.click()
    assert "Skipped" in said(form)
    assert book.frames().guesses["unit"].tolist() == [SKIPPED]
    assert "You skipped the guess" in form.page.value
    form.guess.save.click()  # a button of a page that was left open
    assert len(book.frames().guesses) == 1


def test_an_answer_opened_early_is_not_asked_about(tmp_path: Path, clock: Clock) -> None:
    book = masked(tmp_path, clock)
    clock.next(3)
    with book.writing() as logbook:
        logbook.record_look("drying", clock(), "curious")
    clock.next(60)
    form = forms.result(book)
    assert form.guess.view.layout.display == "none"
    assert "You were not asked to guess" in form.page.value
    assert "opened early" in form.page.value


def test_a_trial_with_nothing_hidden_opens_at_once(tmp_path: Path, clock: Clock) -> None:
    book = masked(tmp_path, clock)
    plan = replace(book.protocols()["drying"], masked="none", trial="open")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / TODAY_FILE).touch()
    other = new_book(tmp_path / "other", clock)
    with other.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1") for r in plan.reeds)])
        logbook.start_trial(plan)
    clock.next(60)
    form = forms.result(other)
    assert form.guess.view.layout.display == "none"
    assert "rl-headline" in form.page.value
