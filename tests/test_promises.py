"""What DEVELOPERS.md says is promised is held by tests that are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
PAGE = TESTS.parent / "DEVELOPERS.md"


def rows() -> list[tuple[str, str]]:
    """Return of each row of the table the promise and what holds it."""
    part = PAGE.read_text(encoding="utf-8").split("## What is promised\n")[1].split("\n## ")[0]
    lines = [line.strip("|").split("|") for line in part.splitlines() if line.startswith("|")]
    return [(cells[0].strip(), cells[2]) for cells in lines[2:]]


@pytest.mark.parametrize(("promise", "held_by"), rows())
def test_every_promise_names_tests_that_are_there(promise: str, held_by: str) -> None:
    files = re.findall(r"`([^`]+)`", held_by)
    assert files, promise
    room = Path()
    for name in files:
        room = Path(name).parent if "/" in name else room  # the room is named once
        assert (TESTS / room / Path(name).name).is_file(), (promise, name)


def test_the_page_of_promises_has_its_rooms() -> None:
    told = " ".join(promise for promise, _ in rows())
    assert {"Logbook", "Copies", "Files", "Phone", "Imports", "Speed"} <= set(re.findall(r"\*\*(\w+)\.\*\*", told))
