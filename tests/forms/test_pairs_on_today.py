"""Back to back at the desk: which go was better, said at once or by a rating of each; and one reed against itself."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.analysis.player.pair_spread import hidden_repeats
from reedlab.forms import Book
from reedlab.forms.ear_page.repeat_form import DIFFERENT, SAME, repeat_turns
from reedlab.plan import draw_up
from reedlab.summary.words.hidden_repeats import hidden_sentences
from reedlab.trial.pairs import choices, of_ratings
from tests.readability import grade

from ._playing import Clock, new_book, said, sittings


@pytest.fixture(scope="module")
def in_pairs_once(played_once: tuple[Path, Path, date], tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = new_book(tmp_path_factory.mktemp("pairs"), Clock(played_once[2]))
    shutil.copy(played_once[0], made.path)
    with made.writing() as logbook:
        logbook.start_trial(draw_up("ligature", made.frames().reeds, start=made.today(), seed=5, instrument="clarinet",
                                    simulations=100, compared=False).protocol)
    return made.path


@pytest.fixture
def in_pairs(book: Book, clock: Clock, played_once: tuple[Path, Path, date], in_pairs_once: Path) -> Book:
    shutil.copy(in_pairs_once, book.path)
    clock.on = played_once[2]
    return book


def test_two_ratings_say_which_go_was_better_and_by_how_much(in_pairs: Book) -> None:
    page = forms.today(in_pairs)
    line = next(x for x in page.lines if x.pair)
    first, second = line.both.goes
    first.put(8.0)
    assert line.answer is None
    second.put(5.5)
    assert line.answer == 2.5
    line.save.click()
    row = sittings(in_pairs).iloc[0]
    assert (row["preference"], row["remark"]) == (2.5, "first go 8, second go 5.5")
    line = next(x for x in forms.today(in_pairs).lines if x.reed == line.reed)
    line.begin_change()
    assert line.answer == 2.5  # between those on offer, and kept all the same
    assert (line.both.remark, line.other.label) == (None, "first better by 2½")


def test_a_choice_after_two_ratings_stands(in_pairs: Book) -> None:
    line = next(x for x in forms.today(in_pairs).lines if x.pair)
    for go, points in zip(line.both.goes, (6.0, 7.0), strict=True):
        go.put(points)
    assert line.answer == -1.0
    line.other.put(0.0)
    assert line.entry().row["preference"] == 0.0


def test_the_difference_of_two_ratings_ends_where_the_answers_end() -> None:
    ends = {p for _, p in choices()}
    assert (of_ratings(10, 1), of_ratings(0, 10), of_ratings(7, 7)) == (max(ends), min(ends), 0)


# --- one reed against itself ---------------------------------------------------------------------


def test_most_pairs_are_one_reed_twice_and_no_reed_comes_up_more_than_others() -> None:
    turns = repeat_turns(["1-01", "1-02", "1-03", "1-04"], 3)
    assert sum(a == b for a, b in turns) == SAME
    assert sum(a != b for a, b in turns) == DIFFERENT
    assert set(Counter(a for a, b in turns if a == b).values()) == {2}
    assert turns != repeat_turns(["1-01", "1-02", "1-03", "1-04"], 4)


def text(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_a_helper_works_it_and_the_player_learns_how_often_they_name_a_difference(played: Book) -> None:
    form = forms.ear(played).repeats
    for t in forms.ear(played).ticks.values():
        assert t.value in (True, False)
    form.begin.click()
    assert "For the helper: pair 1 of 12" in text(form.turn.value)
    form.next.click()
    assert "Better go" in said(form)
    for a, b in list(form.turns):
        assert f"First hand over reed {a}. Take it off. Then hand over reed {b}." in text(form.turn.value)
        form.answer.put(0.0 if a == b else 1.0)
        form.next.click()
    told = text(form.found.value)
    assert "8 pairs were one reed twice. You named a difference in none." in told
    assert "4 pairs were two reeds. You named a difference in 4." in told
    form.again.click()
    assert (form.turns, form.points) == ([], [])


def test_without_two_reeds_it_says_what_to_do(tmp_path: Path) -> None:
    form = forms.ear(new_book(tmp_path, Clock())).repeats
    form.begin.click()
    assert "tick two or more" in said(form)


@pytest.mark.parametrize("points", [[0] * 8, [1] * 8, [0, 0.5, -1, 0, 0, 1, 0, 0], [3, 2, 3, 2, 3, 2, 3, 2], [-2] * 8])
@pytest.mark.parametrize("others", [[], [0.0, 1.0]])
def test_what_it_says_is_plain_whatever_came_out(points: list[float], others: list[float]) -> None:
    found: Any = hidden_repeats([*points, *others], [True] * 8 + [False] * len(others))
    said_of_it = " ".join(hidden_sentences(found))
    assert grade(said_of_it) <= 8
    assert ("favour the first go" in said_of_it) == (found.lean_range[0] > 0)
    assert ("favour the second go" in said_of_it) == (found.lean_range[1] < 0)
