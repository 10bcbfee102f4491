"""The page Today: one line a reed, saved by itself, with its rating, change and take back in the line."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.forms.shared import pressed
from reedlab.forms.today_page.reed_line import ReedLine

from ._playing import said


@pytest.fixture
def book(demo: Path) -> Book:
    """The demo's running trial, with two reeds due on this day."""
    return forms.here(demo, lambda: date(2025, 3, 14))


def seen(part: Any) -> bool:
    return part.layout.display != "none" and part.layout.visibility != "hidden"


def of_today(book: Book) -> Any:
    rows = book.frames().sittings
    return rows[rows["date"].dt.date == book.today()]


def test_a_line_says_reed_way_with_its_sign_and_minutes_and_no_rating(book: Book) -> None:
    page = forms.today(book)
    (day,) = book.trial_days(book.today())
    due = day.due
    assert [x.reed for x in page.lines] == [d.reed for d in sorted(due, key=lambda d: d.order)]
    for line, one in zip(page.lines, sorted(due, key=lambda d: d.order), strict=True):
        assert day.protocol.habit(one.habit).name.lower() in line.head.value.lower()
        assert f"{one.minutes:g} min" in line.head.value
        assert "<circle" in line.head.value or "<path" in line.head.value
        assert line.overall.typed is None
        assert not seen(line.save)


def test_a_rating_brings_save_and_saved_it_stands_in_the_line_with_change_and_take_back(book: Book) -> None:
    page = forms.today(book)
    line = page.lines[0]
    line.overall.put(7.5)
    assert seen(line.save)
    line.save.click()
    assert f"Saved: {line.reed}, 10 minutes, overall 7.5" in said(page)
    assert "✓ 7.5" in line.head.value
    assert (seen(line.change), seen(line.back), seen(line.overall), seen(line.save)) == (True, True, False, False)


def test_change_in_the_line_keeps_the_history_and_can_be_left(book: Book) -> None:
    page = forms.today(book)
    page.lines[0].overall.put(5)
    page.lines[0].save.click()
    line = page.lines[0]
    line.change.click()
    assert (line.overall.typed, line.play_min.typed) == (5, "10")
    line.leave.click()
    assert not line.touched
    assert len(of_today(book)) == 1
    line.change.click()
    line.overall.put(8)
    line.play_min.put(12)
    line.save.click()
    assert of_today(book)[["overall", "play_min"]].to_numpy().tolist() == [[8, 12]]
    with book.reading() as logbook:
        number = int(of_today(book)["entry_id"].iloc[0])
        assert logbook.history("sittings", number)["overall"].tolist() == [5, 8]


def test_take_back_asks_and_the_reed_is_due_again(book: Book) -> None:
    page = forms.today(book)
    page.lines[0].overall.put(5)
    page.lines[0].save.click()
    page.lines[0].back.click()
    assert len(of_today(book)) == 1
    page._yes.click()
    assert len(of_today(book)) == 0
    assert "Taken back" in said(page)
    page._yes.click()  # the second half of a double click
    assert "Taken back" in said(page)
    assert seen(page.lines[0].overall)


def test_save_pressed_twice_writes_one_entry_and_keeps_its_answer(book: Book) -> None:
    page = forms.today(book)
    line = page.lines[0]
    line.overall.put(6)
    line.save.click()
    line.save.click()
    assert len(of_today(book)) == 1
    assert "Saved" in said(page)
    page.save_all.click()
    assert len(of_today(book)) == 1
    assert "Saved" in said(page)


def test_a_rating_typed_while_another_page_saved_the_reed_is_asked_about_and_not_lost(book: Book) -> None:
    page = forms.today(book)
    page.lines[0].overall.put(6)
    other = forms.today(Book(book.path, book.today))
    other.lines[0].overall.put(4)
    other.lines[0].save.click()
    forms.bring_up_to_date()
    assert page.lines[0].overall.typed == 6
    page.lines[0].save.click()
    assert "has an entry on" in said(page)
    assert of_today(book)["overall"].tolist() == [4]


def test_an_earlier_days_rating_is_nowhere_on_the_page(book: Book) -> None:
    page = forms.today(book)
    rows = book.frames().sittings
    assert (rows["date"].dt.date < book.today()).any()
    assert not any("✓" in x.head.value for x in page.lines)


def test_one_sheet_is_open_at_a_time_and_closes(book: Book) -> None:
    rarer = forms.today(book).rarer
    assert rarer.sheet.children == ()
    opened = []
    for name in ("entry", "yesterday", "outing", "day", "retire", "worked_on", "week", "past"):
        rarer.begin(name)
        assert rarer.sheet.children[0] is rarer.shown
        opened.append(type(rarer.shown).__name__)
    assert len(set(opened)) == 7  # today's and yesterday's entry are one form
    rarer.close.click()
    assert rarer.sheet.children == ()
    assert not rarer.open.value


def test_a_line_that_asks_for_no_rating_takes_minutes_alone() -> None:
    from reedlab.screens import Line

    line = ReedLine("1-01", date(2026, 3, 2), Line(
        "t", "1-01", 1, "As you like", "", None, (), 20.0, False, False, False, "overall", (), None, ()))
    assert (seen(line.overall), seen(line.play_min), seen(line.save)) == (False, True, False)  # nothing to save yet
    line.play_min.put(25)
    assert seen(line.save)
    assert line.entry().row["play_min"] == "25"


def test_a_trial_that_goes_by_another_rating_asks_for_it_in_the_line() -> None:
    from reedlab.screens import Line

    line = ReedLine("1-01", date(2026, 3, 2), Line(
        "t", "1-01", 1, "As you like", "", None, (), 10.0, True, True, False, "stiffness", (), None, ()))
    assert line.other is not None
    line.other.put(-1.5)
    assert line.entry().row["stiffness"] == -1.5


def test_a_button_is_shut_while_it_works_and_says_so(book: Book) -> None:
    page = forms.today(book)
    line = page.lines[0]
    line.overall.put(6)
    told: list[tuple[str, bool]] = []
    line.save.observe(lambda _: told.append((line.save.description, line.save.disabled)), ["disabled"])
    line.save.click()
    assert told[0] == ("Saving…", True)
    assert (line.save.description, line.save.disabled) == ("Save", False)


def test_a_press_sent_while_the_button_worked_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[int] = []
    button = forms.shared.form.button("Save")  # type: ignore[attr-defined]

    def work(which: Any) -> None:
        with pressed.at_work(which):
            done.append(1)

    button.on_click(work)

    def press(sent: float) -> None:
        monkeypatch.setattr(pressed, "_sent_at", lambda: sent)
        button._handle_button_msg(button, {"event": "click"}, [])

    monkeypatch.setattr(pressed.time, "time", lambda: 1000.0)  # when the work of the first press ends
    press(999.0)
    press(999.2)
    press(1000.05)  # sent before the answer can have come to the screen
    assert len(done) == 1
    press(1001.0)
    assert len(done) == 2
