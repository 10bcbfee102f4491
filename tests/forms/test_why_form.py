"""The page for a class runs by itself, again on a button, and names wrong numbers."""

from __future__ import annotations

from reedlab.errands.book import Book
from reedlab.forms.why_page.form import WhyForm


def test_it_runs_when_shown_and_again_with_other_numbers() -> None:
    form = WhyForm(Book.here())
    first = form.found.value
    assert "300 imagined players" in first
    form.players.put(20)
    form.seed.put(2)
    form.run.click()
    assert "20 imagined players" in form.found.value
    assert form.bar.layout.display == "none"
    assert form.bar.value == form.bar.max


def test_wrong_numbers_are_said_and_the_last_figures_stay() -> None:
    form = WhyForm(Book.here())
    before = form.found.value
    form.players.value = "many"
    form.run.click()
    assert "Imagined players" in form.message.value
    assert form.found.value == before
    form.players.value = "3"
    form.run.click()
    assert "10 to 5000" in form.message.value
