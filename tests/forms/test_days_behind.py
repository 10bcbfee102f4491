"""Days gone by without an entry: Today says so, and one press under "Not playing" moves the plan along by them."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Protocol

START = date(2026, 3, 2)
REEDS = ("1-01", "1-02", "1-03", "1-04")


class Clock:
    """A day that tests can move on."""

    def __init__(self) -> None:
        self.on = START

    def __call__(self) -> date:
        return self.on


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def book(tmp_path: Path, clock: Clock) -> Book:
    """Four reeds in a trial of 14 days, rated day by day; its first two days are played."""
    made = Book(tmp_path / "reeds.logbook", clock)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(
            Reed(reed=r, box="1", first_play=6.0, first_played=START - timedelta(days=9)) for r in REEDS)])
        logbook.start_trial(draw_up(
            "wetting", logbook.frames().reeds, start=START, seed=3, instrument="clarinet", design="day_by_day", days=14,
            simulations=100, read_early=True).protocol)
    for day in (1, 2):
        clock.on = START + timedelta(days=day - 1)
        play(made, day)
    return made


def plan(book: Book) -> Protocol:
    return next(iter(book.protocols().values()))


def play(book: Book, day: int) -> None:
    """Play what the plan says for one of its days, today."""
    p = plan(book)
    with book.writing() as logbook:
        logbook.add_many([Sitting(date=book.today(), reed=s.reed, play_min=10.0, overall=6.0,
                                  habit=p.habit_for(s.reed, day).key) for s in p.slots if s.day == day])


def foot(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.foot.value)).split())


def test_two_missed_days_are_moved_along_by_one_press(book: Book, clock: Clock) -> None:
    clock.on = START + timedelta(days=4)
    page = forms.today(book)
    assert "Nothing is in the book for" in foot(page)
    assert "Not in the book" not in foot(page)
    assert "day 5 of 14" in page.head.value
    away = forms.not_playing(book)
    assert [value for _, value in away.how.options] == ["today", "until", "behind"]
    away.how.put("behind")
    assert "moves along by 2 days" in away.means.value
    away.save.click()
    assert [value for _, value in away.how.options] == ["today", "until"]
    days = book.frames().days
    assert days.loc[days["pause"], "date"].dt.date.tolist() == [START + timedelta(days=d) for d in (2, 3)]
    again = forms.today(book)
    assert "day 3 of 14" in again.head.value
    assert "Nothing is in the book" not in foot(again)
    due = {line.reed for line in again.lines}
    assert due == {s.reed for s in plan(book).slots if s.day == 3}


def test_what_was_played_on_the_days_moved_to_counts_for_the_deal(book: Book, clock: Clock) -> None:
    clock.on = START + timedelta(days=4)
    away = forms.not_playing(book)
    away.how.put("behind")
    away.save.click()
    play(book, 3)
    clock.on += timedelta(days=1)
    play(book, 4)
    with book.reading() as logbook:
        result = read(logbook, plan(book).trial, clock.on)
    assert result.progress.sittings_rated == 16  # four reeds on four days of playing
    assert result.progress.day == 4


def read(logbook: Any, trial: str, on: date) -> Any:
    from reedlab.errands.read_trial import read_trial

    return read_trial(logbook, trial, today=on).result
