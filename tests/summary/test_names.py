"""The name of a way inside a sentence: as it is where it reads like our own, in quotes where it does not."""

from __future__ import annotations

import pytest

from reedlab.questions import CATALOGUE
from reedlab.summary.names import one_line, spoken


@pytest.mark.parametrize(("name", "said"), [
    ("wetting in water", "wetting in water"), ("a short soak.", "a short soak"), ("two minutes in the mouth",) * 2,
    ("on the windowsill", "“on the windowsill”"), ("water", "“water”"),
    ("soak it long, then dry", "“soak it long, then dry”"),
    ('the "blue" case', "“the ‘blue’ case”"), ("„lange“ wässern", "“‘lange’ wässern”"),
    ("a\nshort  soak", "a short soak"),
])
def test_a_name_that_would_not_read_on_is_quoted(name: str, said: str) -> None:
    assert spoken(name) == said


def test_our_own_names_need_no_quotes() -> None:
    for question in CATALOGUE.values():
        for habit in question.habits:
            assert spoken(habit.name) == one_line(habit.name)
