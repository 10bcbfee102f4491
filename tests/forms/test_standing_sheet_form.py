"""Typing the paper sheet of a standing trial back: a line a reed, minutes day by day, what was ticked as done."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab.errands.papers import write_sheet
from reedlab.forms import Book
from reedlab.handout.standing_sheet import SPARE
from reedlab.handout.week import week_of, weeks_begun
from reedlab.logbook import Logbook
from reedlab.rows.records import Retirement, Sitting

from ..plan.test_standing import START, drawn, filled
from ._playing import typing_in

WEEK = [START + timedelta(days=k) for k in range(7)]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """A standing trial on the fifth day of its first week."""
    with filled(tmp_path / "a.logbook") as logbook:
        logbook.start_trial(drawn(logbook, trial="R").protocol)
    return Book(tmp_path / "a.logbook", lambda: WEEK[4])


def said(form: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", form.message.value)).split())


def line(form: Any, reed: str) -> Any:
    return next(x for x in form.lines if x.week.reed == reed)


def test_its_lines_and_boxes_are_those_of_the_paper(book: Book, tmp_path: Path) -> None:
    form = typing_in(book)
    with book.reading() as logbook:
        page = write_sheet(logbook, tmp_path / "s.html", today=WEEK[4]).path.read_text(encoding="utf8")
    on_paper = re.findall(r'<td class="reed">([\w-]+)</td>', page)
    assert [x.week.reed for x in form.lines] == [*on_paper, *[None] * SPARE]
    assert page.count('<tr class="blank">') == SPARE
    assert all(list(x.cells) == WEEK[:5] for x in form.lines)  # the days that have come
    assert [text for text, _ in form.lines[0].done.options] == ["—", "Worn out", "Chipped or cracked"]
    assert form.scale.value == ""
    assert not form.days


def test_minutes_ticks_and_remarks_are_saved_once_and_stand_there_afterwards(book: Book) -> None:
    form = typing_in(book)
    one, two = line(form, "1-01"), line(form, "1-02")
    one.cells[WEEK[0]].put(30)
    one.cells[WEEK[2]].value = "12,5"
    one.done.put("worn_out")
    one.remark.put("dull")
    two.done.put("damaged")
    two.remark.put("dropped")
    two.unsure.value = True  # of no minutes, so it says nothing
    form.fresh.value = False
    form.save.click()
    assert said(form).startswith("✓ Saved: 2 rows and 2 reeds done.")
    frames = book.frames()
    log = frames.sittings
    assert list(zip(log["date"].dt.date, log["play_min"], log["remark"], log["from_memory"], strict=True)) == [
        (WEEK[0], 30.0, None, True), (WEEK[2], 12.5, "dull", True)]
    with book.reading() as logbook:
        plan = logbook.protocol("R")
    assert set(log["habit"]) == {plan.habit_for("1-01", 1).key}  # type: ignore[union-attr]
    left = {r.reed: (r.date.date(), r.reason, r.remark) for r in frames.retirements.itertuples()}
    assert left == {"1-01": (WEEK[2], "worn_out", None), "1-02": (WEEK[4], "damaged", "dropped")}
    form.save.click()
    assert "Nothing to save yet" in said(form)
    again = line(form, "1-01")
    assert again.week.there == {WEEK[0]: 30.0, WEEK[2]: 12.5}
    assert list(again.cells) == [WEEK[1]]  # not beyond the day on which it left
    assert (again.done.disabled, again.done.typed) == (True, "worn_out")
    assert len(book.frames().sittings) == 2


def test_a_line_of_ones_own_takes_any_reed_and_the_way_only_from_its_deal_on(book: Book) -> None:
    with book.writing() as logbook:
        plan = logbook.open_box("R", [f"2-{i:02d}" for i in range(1, 9)], WEEK[3])
    form = typing_in(book)
    assert list(line(form, "2-01").cells) == WEEK[3:5]
    own = form.lines[-1]
    own.reed.put("2-01")
    own.cells[WEEK[0]].put(5)
    other = form.lines[-2]
    other.reed.put("3-01")
    other.cells[WEEK[1]].put(10)
    line(form, "2-01").cells[WEEK[3]].put(20)
    form.save.click()
    assert said(form).startswith("✓ Saved: 3 rows.")
    ways = {(r.reed, r.date.date()): r.habit for r in book.frames().sittings.itertuples()}
    assert ways == {("2-01", WEEK[0]): None, ("3-01", WEEK[1]): None,
                    ("2-01", WEEK[3]): plan.habit_for("2-01", 1).key}  # type: ignore[union-attr]


def test_faults_are_told_by_day_and_reed_and_nothing_is_saved(book: Book) -> None:
    form = typing_in(book)
    line(form, "1-01").cells[WEEK[0]].value = "ten"
    line(form, "1-03").remark.put("bright")
    own = form.lines[-1]
    own.cells[WEEK[1]].put(10)
    form.lines[-2].done.put("worn_out")
    form.save.click()
    assert "Mon 2 Mar, 1-01: Minutes: found 'ten'" in said(form)
    assert "Fri 6 Mar, 1-03: Minutes: found nothing" in said(form)
    assert "Tue 3 Mar, Row of your own: Reed: found nothing" in said(form)
    assert "Fri 6 Mar, Row of your own: Reed: found nothing" in said(form)
    assert not len(book.frames().sittings)
    assert not len(book.frames().retirements)
    assert line(form, "1-01").cells[WEEK[0]].value == "ten"


def test_a_reed_that_was_played_after_it_was_done_is_refused_with_all_else(book: Book) -> None:
    with book.writing() as logbook:
        logbook.add(Sitting(date=WEEK[1], reed="1-02", play_min=20))
        logbook.add(Retirement(reed="1-02", date=WEEK[1], reason="lost"))
    form = typing_in(book)
    gone = line(form, "1-02")
    assert gone.done.typed == "lost"
    assert list(gone.cells) == [WEEK[0]]
    own = form.lines[-1]
    own.reed.put("1-02")
    own.cells[WEEK[4]].put(10)
    line(form, "1-01").cells[WEEK[0]].put(10)
    form.save.click()
    assert "Fri 6 Mar, 1-02" in said(form)
    assert len(book.frames().sittings) == 1


def test_with_a_helper_no_way_is_written(tmp_path: Path) -> None:
    with filled(tmp_path / "h.logbook") as logbook:
        logbook.start_trial(replace(drawn(logbook, trial="R").protocol, masked="helper"))
    book = Book(tmp_path / "h.logbook", lambda: WEEK[1])
    form = typing_in(book)
    line(form, "1-01").cells[WEEK[0]].put(10)
    form.save.click()
    assert list(book.frames().sittings["habit"]) == [None]


def test_the_sheets_of_a_trial_that_was_ended_can_still_be_typed_in(book: Book, tmp_path: Path) -> None:
    with Logbook.open(book.path, now=None) as logbook:
        logbook.end_trial("R", WEEK[3], "enough")
    later = Book(book.path, lambda: date(2026, 6, 1))
    form = typing_in(later)
    assert [n for _, n in form.week.options if n] == [1]
    assert list(line(form, "1-01").cells) == WEEK[:3]
    line(form, "1-01").cells[WEEK[0]].put(10)
    form.save.click()
    assert said(form).startswith("✓ Saved: 1 row.")


@pytest.mark.parametrize(("ended", "today", "weeks"), [
    (None, START - timedelta(days=1), 0), (None, START, 1), (None, WEEK[6], 1), (None, START + timedelta(days=70), 11),
    (START, WEEK[6], 0), (START + timedelta(days=7), START + timedelta(days=70), 1),
    (START + timedelta(days=8), START + timedelta(days=70), 2)])
def test_weeks_begun_end_before_the_day_of_its_end(
        book: Book, ended: date | None, today: date, weeks: int) -> None:
    with Logbook.open(book.path) as logbook:
        plan = logbook.protocol("R")
        if ended is not None:
            logbook.end_trial("R", ended, "enough")
        frames = logbook.frames()
    assert weeks_begun(plan, frames, today) == weeks
    for number in range(1, weeks + 1):
        assert week_of(plan, frames, today=today, number=number).days
