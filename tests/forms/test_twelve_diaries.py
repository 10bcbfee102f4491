"""Twelve diaries of twelve shapes through the page: taken in by clicks alone, and the copy that grew without any."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html import unescape
from pathlib import Path
from typing import Any

import ipywidgets as w
import pytest

from reedlab.forms import Book
from reedlab.forms.diary_page.form import DiaryForm
from reedlab.forms.shared.fields import Number, Pick, Words

from ..errands._away import begun
from ..errands._diaries import TODAY, xlsx
from ..errands._twelve import SHAPES, UNDATED, Shape


def text(value: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", value)).split())


def controls(view: Any) -> list[Any]:
    return [view, *(c for child in getattr(view, "children", ()) for c in controls(child))]


def choose(form: DiaryForm, file: str, content: bytes) -> None:
    form.files.value = ({"name": file, "content": content, "type": "", "size": len(content),
                         "last_modified": datetime(2026, 6, 30, tzinfo=UTC)},)


def click(control: w.Widget, said: str) -> None:
    """Pick or type as a player would: of a list only what it offers."""
    if isinstance(control, Pick):
        fits = [words for words, _ in control.options if said in words]
        assert fits, (said, control.options)
        control.label = fits[0]
    else:
        control.value = said


def answer(form: DiaryForm, picks: dict[str, str]) -> None:
    """Answer what is asked, round after round, until nothing is."""
    left = dict(picks)
    for _ in range(4):
        if not form.answers:
            break
        assert form.take.layout.display == "none"
        for label, said in picks.items():
            for control in controls(form.asked):
                if isinstance(control, Pick | Number | Words) and label in control.description:
                    click(control, said)
                    left.pop(label, None)
        form.again.click()
        assert form.message.value == "", text(form.message.value)
    assert not form.answers, [text(str(getattr(c, "value", ""))) for c in controls(form.asked)]
    assert not left, "never asked"


@pytest.mark.parametrize("shape", SHAPES.values(), ids=list(SHAPES))
def test_it_is_taken_in_by_clicks_and_its_grown_copy_brings_only_what_is_new(shape: Shape, tmp_path: Path) -> None:
    path = tmp_path / "reeds.logbook"
    book = Book(begun(path) if shape.in_trial else path, lambda: TODAY)
    before = book.frames().sittings["sitting"] if shape.in_trial else ()
    form = DiaryForm(book)
    choose(form, shape.file, shape.content)
    assert form.message.value == "", text(form.message.value)
    answer(form, dict(shape.picks))
    assert len(form.ticks) == shape.skips
    if form.ticks:
        assert form.take.layout.display == "none"
        for control in form.ticks.values():
            control.value = True
        form.again.click()
    assert form.take.layout.display == ""
    assert shape.in_trial or not book.exists  # looked at, and nothing written
    form.take.click()
    assert f"Taken in: {shape.added} entr" in text(form.message.value), form.message.value
    log = book.frames().sittings
    log = log[~log["sitting"].isin(before)].sort_values("entry_id")
    assert len(log) == shape.added
    if shape.overall:
        assert tuple(log["overall"]) == shape.overall

    choose(form, shape.file, shape.grown)
    assert not form.answers, "next month's copy needs no questions"
    assert not form.ticks
    form.take.click()
    told = text(form.message.value)
    assert f"Taken in: {shape.grew} entr" in told
    assert f"{shape.added} were in the logbook already" in told
    assert ("is new" in told) == bool(shape.new)
    assert len(book.frames().sittings) == len(before) + shape.added + shape.grew


def test_there_are_twelve_and_no_two_alike() -> None:
    assert len({(s.file.rpartition(".")[2], s.content) for s in SHAPES.values()}) == 12


def test_one_without_a_day_is_refused_with_that_one_thing_missing(tmp_path: Path) -> None:
    book = Book(tmp_path / "reeds.logbook", lambda: TODAY)
    form = DiaryForm(book)
    choose(form, "undated.csv", UNDATED)
    for _ in range(2):
        asked = [text(c.value) for c in controls(form.asked) if isinstance(c, w.HTML)]
        assert "Which column holds the day?" in asked
        assert not any("Which column says" in line for line in asked)
        assert form.take.layout.display == "none"
        form.again.click()
    form.take.click()
    assert "Which column holds the day?" in text(form.message.value)
    assert not book.exists


def test_a_sheet_a_month_is_taken_in_sheet_by_sheet_and_those_not_read_are_told(tmp_path: Path) -> None:
    head = ["Date", "Reed", "Minutes", "Overall"]
    book = Book(tmp_path / "reeds.logbook", lambda: TODAY)
    content = xlsx([head, [date(2026, 3, 1), "1-01", 20, 0], [date(2026, 3, 2), "1-02", 20, 7],
                    [date(2026, 3, 3), "1-02", 20, 7]], title="March",
                   April=[head, [date(2026, 4, 1), "1-01", 20, 6], [date(2026, 4, 2), "1-03", 20, 8]],
                   Ideas=[["try the open case"]])
    form = DiaryForm(book)
    choose(form, "year.xlsx", content)
    assert "This is the sheet “March”. Not read: the sheets “April” and “Ideas”." in text(form.heard.value)
    answer(form, {"For which instrument": "clarinet"})
    form.take.click()
    assert "Taken in: 3 entries." in text(form.message.value)
    assert form.sheet.layout.display == "none"
    choose(form, "year.xlsx", content)
    click(form.sheet, "Ideas")
    assert "no line with titles" in text(form.message.value)
    form.take.click()
    assert "Choose the file first" in text(form.message.value)
    click(form.sheet, "April")
    assert not form.answers, "its titles are those of March"
    form.take.click()
    assert "Taken in: 2 entries. 1 reed is new." in text(form.message.value)
    assert len(book.frames().sittings) == 5
