"""If every reed went on fading as so far: said with its "if", beside the answer, and never as one."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from reedlab.summary import answer
from reedlab.summary.case import Case
from reedlab.summary.words.expected import expected_sentences
from reedlab.summary.words.fragile import changes_sentence, readings_table
from reedlab.trial.result import TrialResult
from tests.readability import grade

from ._results import finding, result


def with_look_ahead(verdict: str = "cannot_tell", outcome: str = "life_hours", like: str = "b_better", *,
                    habits: str = "plain", **more: Any) -> TrialResult:
    base = result(outcome, verdict, habits=habits, state="diary" if verdict == "hint_only" else "finished")
    assert base.main is not None
    ahead = finding(base.protocol, None, like=like, reading="expected", **{"events": (2, 1), **more})
    return replace(base, readings=(base.main, ahead))


def said(found: TrialResult) -> str:
    return " ".join(expected_sentences(Case(found)))


@pytest.mark.parametrize("outcome", ["life_hours", "good_hours"])
@pytest.mark.parametrize("like", ["a_better", "b_better", "no_real_difference", "cannot_tell"])
@pytest.mark.parametrize("events", [(3, 0), (2, 1), (6, 7)])
@pytest.mark.parametrize("habits", ["plain", "trade"])
def test_every_case_reads_plainly_and_says_if(outcome: str, like: str, events: tuple[int, int], habits: str) -> None:
    text = said(with_look_ahead(outcome=outcome, like=like, events=events, habits=habits))
    assert text.startswith("What if every reed went on fading as so far? Then ")
    assert text.endswith("so this never decides the answer.")
    assert grade(text) <= 8.0, text
    for word in ("p-value", "significant", "predict", "null", "better"):
        assert word not in text


def test_it_says_how_many_are_reckoned_and_when_that_is_most() -> None:
    text = said(with_look_ahead())
    assert "For 11 of 14 reeds this is worked out from ratings; 3 came to their end." in text
    assert "So most of it is a look ahead, not what happened." in text
    few = said(with_look_ahead(events=(5, 6)))
    assert "For 3 of 14 reeds" in few
    assert "most of it" not in few


@pytest.mark.parametrize("events", [(0, 0), (1, 0), (1, 1)])
def test_with_fewer_than_three_ends_it_is_not_told(events: tuple[int, int]) -> None:
    ahead = with_look_ahead(events=events)
    assert said(ahead) == ""
    assert readings_table(Case(ahead))[-1][1:] == ("too few came to their end", "no range", "can't tell")


def test_without_an_end_or_an_estimate_nothing_is_made_up() -> None:
    assert "longer than with a short soak, but by how much is open" in said(
        with_look_ahead(estimate=math.inf, high=math.inf))
    open_ = said(with_look_ahead(low=0.0, high=math.inf))
    assert "The range has no end on either side." in open_
    none = said(with_look_ahead(estimate=math.nan, low=0.0, high=math.inf))
    assert none.startswith("What if every reed went on fading as so far? There is too little to tell of.")
    assert "range" not in none


@pytest.mark.parametrize(("low", "high", "words"), [
    (1.2, 3.0, "is from 1.2 times to 3 times as long with a long soak."),
    (1.0, 3.0, "is from just as long to 3 times as long with a long soak."),
    (0.25, 0.625, "is from 1.6 times to 4 times as long with a short soak."),
    (1.2, math.inf, "starts at 1.2 times as long with a long soak, and has no upper end."),
    (1.0, math.inf, "starts at just as long with a long soak, and has no upper end."),
    (0.0, 0.625, "starts at 1.6 times as long with a short soak, and has no upper end."),
    (0.5, 3.0, "goes up to twice as long with a short soak, and up to 3 times as long with a long soak."),
    (0.0, 3.0, "goes up to 3 times as long with a long soak. With a short soak, it has no end."),
    (0.5, math.inf, "goes up to twice as long with a short soak. With a long soak, it has no end."),
    (1.0, 1.0, "leaves no gap at all."),
])
def test_the_range_is_told_from_whichever_side_it_has_an_end(low: float, high: float, words: str) -> None:
    assert f"The range (95 in 100) {words}" in said(with_look_ahead(low=low, high=high))


def test_it_stands_in_the_fold_the_report_and_the_table_but_not_in_the_answer() -> None:
    found = answer(with_look_ahead())
    assert "fading as so far" not in found.headline + found.summary
    assert "What if every reed went on fading as so far?" in dict(found.sections)["Read another way"]
    assert "What if every reed went on fading as so far?" in found.report_html()
    page = found.to_html()
    assert page.count("as if every reed went on fading as so far") == 2  # the row, and the sentence over it
    assert "What if every reed went on fading as so far?" in page


def test_the_table_names_no_winner_for_it() -> None:
    row = readings_table(Case(with_look_ahead()))[-1]
    assert row[0] == "as if every reed went on fading as so far"
    assert row[3] == "a long soak would lead"
    same = with_look_ahead("no_real_difference", like="no_real_difference", estimate=1.05)
    assert readings_table(Case(same))[-1][3] == "can't tell"


def test_a_lead_on_the_side_of_the_winner_changes_nothing() -> None:
    assert changes_sentence(Case(with_look_ahead("b_better", estimate=2.0))) == (
        "Read in each of these ways, it says the same.")
    assert "would say something else" in changes_sentence(Case(with_look_ahead("cannot_tell")))


def test_plain_data_says_how_many_are_reckoned_each_way() -> None:
    readings = answer(with_look_ahead()).to_dict()["readings"]
    assert [r["reading"] for r in readings] == ["as_planned", "expected"]
    assert readings[1]["predicted"] == [5, 6]
    assert readings[1]["verdict"] is None
    assert readings[0]["predicted"] is None


def test_an_old_diary_has_no_look_ahead_in_words() -> None:
    assert said(with_look_ahead("hint_only")) == ""
