"""What DEVELOPERS.md says is promised is held by tests that are there; what it says to change is there, too."""

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


def places() -> list[tuple[str, str]]:
    """Return of each wish of "Where do I change" what to look at."""
    part = PAGE.read_text(encoding="utf-8").split("### Where do I change")[1].split("\n## ")[0]
    lines = [line.strip("|").split("|") for line in part.splitlines() if line.startswith("|")]
    return [(cells[0].strip(), cells[1]) for cells in lines[2:]]


@pytest.mark.parametrize(("wish", "place"), places())
def test_every_wish_names_places_that_are_there(wish: str, place: str) -> None:
    package, room = TESTS.parent / "reedlab", Path()
    for name in re.findall(r"`([\w/.-]+)`", place):
        if "/" not in name and Path(name).suffix not in (".py", ".css"):
            continue  # a name within a file
        found = package / name if (package / name).exists() else package / room / name
        assert found.exists(), (wish, name)
        room = (found if found.is_dir() else found.parent).relative_to(package)  # the room is named once


def test_the_questions_of_a_newcomer_have_a_place() -> None:
    wishes = " ".join(wish for wish, _ in places())
    for word in ("trial runs", "a p, a range", "winner", "a remark", "a sentence", "their order"):
        assert word in wishes
