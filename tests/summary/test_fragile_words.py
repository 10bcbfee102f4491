"""How little would undo the answer, in words, and the small table of other readings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reedlab.summary.case import Case
from reedlab.summary.words.fragile import (
    changes_sentence,
    fragile_sentences,
    knowing_sentences,
    readings_table,
    shaky_sentences,
)
from reedlab.trial.result import Fragile, TrialResult, WhatIf
from tests.readability import grade

from ._results import result


def ifs(left_out: bool, turned: bool, added: bool) -> tuple[WhatIf, ...]:
    return tuple(WhatIf(k, "m2", 0.04 if s else 0.08, s)
                 for k, s in (("left_out", left_out), ("turned", turned), ("added", added)))


def told(case: TrialResult, **fragile: object) -> str:
    base: dict[str, object] = {"side": "B", "shift": 0.4, "what_ifs": ifs(True, False, True)}
    seen = Case(replace(case, fragile=Fragile(**{**base, **fragile})))  # type: ignore[arg-type]
    return " ".join([*shaky_sentences(seen), *(fragile_sentences(seen) or knowing_sentences(seen))])


WON = result("day_rating", "b_better")


@pytest.mark.parametrize("expected", [None, "A", "B", "same"])
@pytest.mark.parametrize("gap", [None, 0.3, 0.4, 1.0])
@pytest.mark.parametrize("stands", [(True, True, True), (True, False, True), (False, False, False)])
def test_every_combination_reads_plainly(expected: str | None, gap: float | None,
                                         stands: tuple[bool, bool, bool]) -> None:
    text = told(WON, expected=expected, expected_gap=gap, what_ifs=ifs(*stands))
    assert grade(text) <= 8.0
    assert "0.4 points" in text


def test_the_lean_is_set_beside_what_was_expected() -> None:
    assert "better by 1 point, and such a lean is less than that" in told(WON, expected="B", expected_gap=1.0)
    assert "such a lean is more than that" in told(WON, expected="B", expected_gap=0.3)
    assert "leaned to no side at first" in told(WON, expected="same")
    assert "more likely the other way" in told(WON, expected="A")
    assert "did not say before the start" in told(WON)


def test_it_says_what_one_set_would_do() -> None:
    text = told(WON)
    assert "Without the swap that helps most, the winner stays." in text
    assert "other way round, no winner could be named" in text
    assert "would not undo it" in text
    weak = told(WON, what_ifs=ifs(False, False, False))
    assert "Without the swap that helps most, no winner could be named." in weak


def test_sameness_can_hide_a_gap_and_nothing_claimed_has_nothing_to_undo() -> None:
    same = result("day_rating", "no_real_difference")
    text = told(same, side=None, what_ifs=())
    assert text == "A lean of 0.4 points in your ratings could hide a gap that matters."
    assert fragile_sentences(Case(result("day_rating", "cannot_tell"))) == []


def test_the_table_has_a_row_for_every_reading_and_says_whether_the_answer_changes() -> None:
    main = WON.main
    assert main is not None
    done = replace(main, reading="as_done", verdict=None, exceeds=None)
    short = replace(done, reading="complete", estimate=0.2, low=-0.9, high=1.4)
    read = replace(WON, readings=(main, done, short))
    rows = readings_table(Case(read))
    assert [r[0] for r in rows] == ["as planned (this counts)", "by what you really did",
                                    "only sets with nothing missing"]
    assert rows[1][1:] == ("the same",) * 3
    assert rows[0][3] == "a long soak is better"
    assert rows[2][3] == "can't tell"
    assert changes_sentence(Case(read)) == ("It would say something else if read like this: "
                                            "only sets with nothing missing.")
    same = replace(WON, readings=(main, done))
    assert changes_sentence(Case(same)) == "Read in each of these ways, it says the same."
    assert readings_table(Case(replace(WON, readings=()))) == []
