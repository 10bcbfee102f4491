"""A logbook to play with, and hands that use a form as a player would."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

from reedlab import forms
from reedlab.analysis.units.first_plays import first_plays
from reedlab.forms import Book


class Clock:
    """A day that tests can move on."""

    def __init__(self, on: date = date(2026, 3, 2)) -> None:
        self.on = on

    def __call__(self) -> date:
        return self.on

    def next(self, days: int = 1) -> None:
        self.on += timedelta(days=days)


def new_book(folder: Path, clock: Clock) -> Book:
    return forms.here(folder / "reeds.logbook", clock)


def said(form: Any) -> str:
    """Return the form's message as a player reads it."""
    return unescape(re.sub(r"<[^>]+>", " ", form.message.value))


def sittings(book: Book) -> Any:
    """Return the sittings after the first play of each reed."""
    frames = book.frames()
    return frames.sittings[~first_plays(frames)]


def entry_sheet(book: Book, reed: str | None = None) -> Any:
    """Return the sheet with all of an entry, behind "Something else?", on a reed: the first due unless told."""
    page = forms.today(book)
    page.rarer.begin("entry")
    sheet = page.rarer.shown
    sheet.entry.reed.put(reed or next(x.reed for x in page.lines if x.saved is None))
    return sheet


def add_box(book: Book, reeds: int = 10, name: str | None = None) -> None:
    form = forms.boxes(book)
    if name is not None:
        form.box.put(name)
    form.instrument.put("clarinet")
    form.reeds.put(reeds)
    form.save.click()
    assert "Saved" in said(form)


def play_all_first(book: Book, clock: Clock) -> None:
    form = forms.first_play(book)
    n = 0
    while form.stage is not None:
        while form._reed() is not None:
            form.overall.put(4 + (n * 7 % 9) / 2)
            form.stiffness.put((n % 5 - 2) / 2)
            form.save.click()
            assert "Saved" in said(form)
            n += 1
        clock.next()
        form.refresh()


def start_trial(book: Book, question: str = "wetting") -> Any:
    form = forms.plan(book)
    form.wishes.question.put(question)
    form.wishes.start.value = book.today()
    form.wishes.expected.put("same")
    form.draw.click()
    form.start.click()
    assert "Started" in said(form), said(form)
    return form


def typing_in(book: Book) -> Any:
    """Return the form for a filled sheet, opened."""
    form: Any = forms.sheet(book)
    form.open.value = True
    return form
