"""The form for a standing trial: it says what one may take, begins it and deals the next box."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from reedlab.errands.book import Book
from reedlab.forms.plan_page.standing_form import StandingForm
from reedlab.logbook import Logbook

from ..plan.test_standing import filled


def test_begin_and_deal_the_next_box(tmp_path: Path) -> None:
    path = tmp_path / "reeds.logbook"
    filled(path).close()
    form = StandingForm(Book.here(path, lambda: date(2026, 3, 4)))
    assert form.going.layout.display == "none"
    form.begin.click()
    assert "Question: choose one" in form.message.value
    form.question.put("rinse")
    form.look.click()
    assert "are settled by box" in form.shown.value
    form.box.put("1")
    form.name.put("R")
    form.begin.click()
    assert "Begun: R" in form.message.value
    assert form.going.layout.display == ""
    form.next_box.put("2")
    form.deal.click()
    assert "Dealt" in form.message.value
    with Logbook.open(path, read_only=True) as book:
        plan = book.protocol("R")
        assert {u.block for u in plan.units} == {"1", "2"}
        assert book.check() == []
