"""What was entered by mistake can be taken back as long as nothing rests on it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Retirement, Sitting
from reedlab.screens.slips import slips, undo

ON = date(2026, 3, 20)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook.create(tmp_path / "reeds.logbook") as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), Box(box="2", instrument="clarinet"),
                          Reed(reed="1-01", box="1"), Reed(reed="1-02", box="1"),
                          Reed(reed="1-03", box="1", first_play=6, first_stiffness=1, first_played=ON, set_aside=True),
                          Reed(reed="2-01", box="2"), Reed(reed="2-02", box="2")])
        logbook.add(Sitting(date=ON, reed="1-03", play_min=4, where="practice"))
        logbook.add(Sitting(date=ON, reed="1-01", play_min=30, overall=6))
        yield logbook


def found(book: Logbook) -> set[tuple[str, str]]:
    return {(s.kind, s.code) for s in slips(book.frames(), {})}


def test_only_what_nothing_rests_on_is_offered(book: Logbook) -> None:
    assert found(book) == {("reed", "1-02"), ("first_play", "1-03"), ("reed", "2-01"), ("reed", "2-02"), ("box", "2")}
    book.add(Retirement(reed="2-01", date=ON, reason="lost"))
    assert found(book) == {("reed", "1-02"), ("first_play", "1-03"), ("reed", "2-02")}


def test_a_first_play_taken_back_leaves_a_new_reed_and_its_minutes_are_gone(book: Logbook) -> None:
    assert undo(book, "first_play", "1-03")
    frames = book.frames()
    row = frames.reeds[frames.reeds["reed"] == "1-03"].iloc[0]
    assert row[["first_play", "first_stiffness", "first_played"]].isna().all()
    assert not row["set_aside"]
    assert "1-03" not in set(frames.sittings["reed"])
    assert ("reed", "1-03") in found(book)
    assert not undo(book, "first_play", "1-03")  # twice is once


def test_a_box_goes_with_its_reeds_or_not_at_all(book: Logbook) -> None:
    assert undo(book, "box", "2")
    assert set(book.frames().boxes["box"]) == {"1"}
    assert not undo(book, "box", "2")
    before = book.frames()
    with pytest.raises(Exception, match="1-01"):
        undo(book, "box", "1")
    after = book.frames()
    assert list(after.reeds["reed"]) == list(before.reeds["reed"])
