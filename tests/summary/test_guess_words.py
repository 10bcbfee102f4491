"""Guesses in plain words, in the fold, the report and the plain data."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reedlab.analysis.beside.guesses import guessed
from reedlab.summary import answer
from reedlab.summary.case import Case
from reedlab.summary.report import report_items
from reedlab.summary.words.guesses import guess_sentences
from reedlab.trial.result import Fragile, Guesses, TrialResult
from tests.readability import grade

from ._results import plan, result


def masked(verdict: str, guesses: Guesses | None, **more: object) -> TrialResult:
    r = result("mean_rating", verdict)
    return replace(r, protocol=plan("mean_rating", masked="helper", **more), guesses=guesses)  # type: ignore[arg-type]


def told(guesses: Guesses, **more: object) -> str:
    return " ".join(guess_sentences(Case(masked("b_better", guesses, **more))))


KNEW = Guesses("guessed", (guessed(6, 1, 0), guessed(5, 0, 2)))
BLIND = Guesses("guessed", (guessed(4, 3, 0), guessed(3, 4, 0)))
LEANED = Guesses("guessed", (guessed(0, 6, 1), guessed(6, 0, 1)))


@pytest.mark.parametrize("guesses", [KNEW, BLIND, LEANED, Guesses("guessed", (guessed(1, 0, 0), None)),
                                     *(Guesses(a) for a in ("skipped", "not_asked", "opened_early", "not_reeds"))])
@pytest.mark.parametrize("expected", [None, "k1", "k2", "same"])
def test_every_kind_of_guess_reads_plainly(guesses: Guesses, expected: str | None) -> None:
    assert grade(told(guesses, expected=expected)) <= 8.0


def test_it_says_what_was_guessed_and_what_that_shows_beside_what_was_expected() -> None:
    text = told(KNEW, expected="k2")
    assert "Of 7 reeds with a short soak, you guessed 6 right and 1 wrong." in text
    assert "Of 7 reeds with a long soak, you guessed 5 right and none wrong, and of 2 you could not say." in text
    assert "that is 0.7; it could be from 0.2 to 1" in text
    assert text.count("tossing") + text.count("toss of a coin") == 1
    assert "Here that number is 0.7" in text
    assert "So you could tell, at least in part" in text
    assert "Before the start you had expected a long soak to do better." in text
    assert "nothing shows that you could tell, though with few reeds much can be missed" in told(BLIND)
    assert "You took most reeds for a long soak, whichever way they had" in told(LEANED)
    assert "You did not say before the start" in told(BLIND)


def test_a_lean_is_called_less_likely_only_where_the_guesses_do_not_speak_against_it() -> None:
    fold = {}
    for name, guesses in (("knew", KNEW), ("blind", BLIND), ("skipped", Guesses("skipped"))):
        r = replace(masked("b_better", guesses), fragile=Fragile("B", 0.4))
        fold[name] = dict(answer(r).sections)["How fragile is it?"]
    assert "by your guesses you could tell, so such a lean is possible" in fold["knew"]
    assert "such a lean is less likely" in fold["blind"]
    assert "You skipped the guess" in fold["skipped"]


def test_the_fold_tells_of_the_guesses_even_where_nothing_was_claimed() -> None:
    fold = dict(answer(masked("cannot_tell", KNEW)).sections)["How fragile is it?"]
    assert fold.startswith("After the end, before the answer")
    assert "How fragile is it?" not in dict(answer(result("mean_rating", "cannot_tell")).sections)


def test_report_and_plain_data_have_them_too() -> None:
    a = answer(masked("b_better", KNEW))
    assert "you guessed 6 right" in report_items(a)[10].text
    assert a.to_dict()["guesses"]["habits"][0] == {
        "key": "k1", "right": 6, "wrong": 1, "unsure": 0, "index": pytest.approx(5 / 7),
        "low": pytest.approx(0.19587, abs=1e-4), "high": 1.0}
    assert answer(masked("b_better", Guesses("not_reeds"))).to_dict()["guesses"] == {
        "asked": "not_reeds", "habits": [None, None]}
    assert answer(result("mean_rating", "b_better")).to_dict()["guesses"] is None
