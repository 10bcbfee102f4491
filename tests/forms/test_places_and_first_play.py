"""First play writes its minutes down, and every sitting its place in the day."""

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
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

from ._playing import entry_sheet, typing_in

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
    """A box of four reeds, nothing played."""
    made = Book(tmp_path / "reeds.logbook", clock)
    with made.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1") for r in REEDS)])
    return made


@pytest.fixture
def in_trial(book: Book) -> Book:
    """The same in an invented trial of two reeds a day."""
    with book.writing() as logbook:
        logbook.start_trial(Protocol(
            trial="Open or not", question="drying", ask="?", instrument="clarinet",
            habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
            design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
            units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
            dealt=("case", "open", "open", "case"),
            slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2))
    return book


def said(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.message.value)).split())


def orders(book: Book) -> list[tuple[str, Any]]:
    return [(r.reed, r.order) for r in book.frames().sittings.itertuples()]


def first(form: Any, minutes: str | None = None) -> str:
    reed: str = form._reed()
    form.overall.put(6)
    form.stiffness.put(0.0)
    if minutes is not None:
        form.minutes.value = minutes
    form.save.click()
    return reed


def test_first_play_writes_its_minutes_as_a_sitting_and_its_rating_with_the_reed(book: Book) -> None:
    form = forms.first_play(book)
    one, two = first(form), first(form, "5,5")
    assert "Saved" in said(form)
    assert "Minutes" in said(form)
    assert "5.5" in said(form)
    rows = book.frames().sittings
    assert [(r.date.date(), r.reed, r.play_min, r.where, r.order) for r in rows.itertuples()] == [
        (START, one, 4.0, "practice", 1), (START, two, 5.5, "practice", 2)]
    assert rows[["overall", "stiffness", "habit"]].isna().all(axis=None)
    reeds = book.frames().reeds.set_index("reed")
    assert reeds.loc[[one, two], "first_play"].tolist() == [6, 6]
    assert form.minutes.typed == "4"


@pytest.mark.parametrize("minutes", ["", "ten", "-1", "900"])
def test_first_play_wants_sound_minutes_and_saves_nothing_without(book: Book, minutes: str) -> None:
    form = forms.first_play(book)
    first(form, minutes)
    assert "Minutes:" in said(form)
    assert len(book.frames().sittings) == 0
    assert book.frames().reeds["first_play"].isna().all()
    assert form.overall.typed == 6


def test_first_play_is_saved_whole_or_not_at_all(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    form = forms.first_play(book)

    def fail(*_: object) -> int:
        raise RuntimeError("the disk is gone")

    monkeypatch.setattr(Logbook, "put", fail)
    first(form)
    assert "not your fault" in said(form)
    assert len(book.frames().sittings) == 0


def test_the_case_counts_the_minutes_of_the_first_play(book: Book) -> None:
    reed = first(forms.first_play(book), "6")
    page = forms.case(book)
    row = next(r for r in page.reeds.value.split("<tr") if f">{reed}<" in r and " h<" in r)
    assert "0.1 of 6" in row  # hours played, of the range expected


def test_today_gives_each_sitting_the_next_place_of_its_day(in_trial: Book) -> None:
    form = entry_sheet(in_trial, "1-01")
    form.entry.play_min.put(20)
    form.entry.overall.put(5)
    form.save.click()
    form._yes.click()  # not on the plan of the day
    page = forms.today(in_trial)
    for line in page.lines:
        if line.saved is None:
            line.overall.put(6)
    page.save_all.click()
    assert [n for _, n in orders(in_trial)] == [1, 2, 3]


def test_a_change_keeps_the_place_and_another_day_gives_a_new_one(in_trial: Book, clock: Clock) -> None:
    clock.on = START + timedelta(days=1)
    with in_trial.writing() as logbook:
        logbook.add_many([
            Sitting(date=START, reed="1-03", play_min=10, overall=7, order=1),
            Sitting(date=START, reed="1-04", play_min=10, overall=7, order=2),
            Sitting(date=clock.on, reed="1-01", play_min=10, overall=7, order=1)])
    page = forms.today(in_trial)

    def change(reed: str, on: date | None = None) -> None:
        rows = in_trial.frames().sittings
        page.rarer.change(int(rows.loc[rows["reed"] == reed, "entry_id"].iloc[0]))
        form = page.rarer.shown
        form.entry.overall.put(3)
        if on is not None:
            form.entry.date.value = on
        form.save.click()
        if "Is this right" in said(form):
            form._yes.click()
        assert "Saved" in said(form)

    change("1-03")
    assert dict(orders(in_trial)) == {"1-01": 1, "1-03": 1, "1-04": 2}
    change("1-03", clock.on)
    assert dict(orders(in_trial)) == {"1-01": 1, "1-03": 2, "1-04": 2}


def test_an_old_entry_without_a_place_is_changed_without_getting_one(in_trial: Book) -> None:
    with in_trial.writing() as logbook:
        logbook.add(Sitting(date=START, reed="1-03", play_min=10, overall=7))
    page = forms.today(in_trial)
    page.rarer.change(int(in_trial.frames().sittings["entry_id"].iloc[0]))
    form = page.rarer.shown
    form.entry.overall.put(3)
    form.save.click()
    assert in_trial.frames().sittings["order"].isna().tolist() == [True]


def test_a_rehearsal_has_its_place_too(in_trial: Book) -> None:
    with in_trial.writing() as logbook:
        logbook.add(Sitting(date=START, reed="1-03", play_min=10, overall=7, order=1))
    form = forms.outing(in_trial)
    form.where.put("rehearsal")
    form.reed.put("1-01")
    form.play_min.put(30)
    form.save.click()
    assert orders(in_trial)[-1] == ("1-01", 2)


def test_a_typed_sheet_keeps_the_plans_places_where_they_are_free(in_trial: Book) -> None:
    with in_trial.writing() as logbook:
        logbook.add(Sitting(date=START, reed="1-01", play_min=10, order=1))
    form = typing_in(in_trial)
    own = form.lines[-1]
    own.date.value = START
    own.reed.put("1-02")
    own.play_min.put(15)
    for reed in ("1-03", "1-04"):  # first and second by the plan
        row = next(x for x in form.lines if x.planned and (x.planned["date"], x.planned["reed"]) == (START, reed))
        row.play_min.put(10)
        row.overall.put(7)
    form.save.click()
    form._yes.click()  # 1-02 is not on the plan of this day
    assert "Saved: 3 rows" in said(form)
    assert dict(orders(in_trial)) == {"1-01": 1, "1-03": 2, "1-04": 3, "1-02": 4}


def test_an_odd_entry_is_kept_as_confirmed_and_an_ordinary_one_is_not(in_trial: Book) -> None:
    form = entry_sheet(in_trial)
    form.entry.overall.put(6)
    form.save.click()
    assert in_trial.frames().sittings["confirmed"].tolist() == [False]
    form.entry.reed.put("1-01")  # not on the plan of the day, and over its limit
    form.entry.play_min.put(90)
    form.entry.overall.put(5)
    form.save.click()
    assert "Is this right?" in said(form)
    assert len(in_trial.frames().sittings) == 1
    form._yes.click()
    assert "confirmed by you" in said(form)
    assert in_trial.frames().sittings["confirmed"].tolist() == [False, True]


def test_a_slip_put_right_is_no_longer_confirmed(in_trial: Book) -> None:
    form = entry_sheet(in_trial)
    form.entry.play_min.put(90)
    form.entry.overall.put(6)
    form.save.click()
    form._yes.click()
    assert in_trial.frames().sittings["confirmed"].tolist() == [True]
    form.edit(int(in_trial.frames().sittings["entry_id"].iloc[0]))
    form.entry.play_min.put(9)
    form.save.click()
    assert in_trial.frames().sittings["confirmed"].tolist() == [False]


def test_of_a_days_lines_only_the_odd_one_is_kept_as_confirmed(in_trial: Book) -> None:
    page = forms.today(in_trial)
    first, second = page.lines
    first.overall.put(6)
    second.play_min.put(90)
    second.overall.put(7)
    page.save_all.click()
    page._yes.click()
    assert in_trial.frames().sittings["confirmed"].tolist() == [False, True]


def test_a_long_rehearsal_is_kept_as_confirmed(in_trial: Book) -> None:
    form = forms.outing(in_trial)
    form.where.put("rehearsal")
    form.reed.put("1-01")
    form.play_min.put(100)
    form.save.click()
    form._yes.click()
    assert in_trial.frames().sittings["confirmed"].tolist() == [True]
