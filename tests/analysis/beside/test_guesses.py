"""Guesses at the end of a masked trial: when they are asked, and what they count."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from reedlab.analysis.beside.guesses import SKIPPED, guessed, guesses_of, to_ask
from reedlab.analysis.trial import analyse
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol

from .._players import A, B, after, by_reed, frames, on, rated, squares

PLAN = by_reed((4, 4), masked="helper", expected=B.key)


def logged(p: Protocol, guesses: dict[str, str | None], **more: Any) -> Frames:
    rows = [{"trial": p.trial, "unit": u, "habit": g, "date": after(p)} for u, g in guesses.items()]
    return frames(p, rated(p, lambda reed, day, habit: 5.0 + (habit == B.key)), guesses=rows, **more)


def dealt(p: Protocol, key: str) -> list[str]:
    return [u.unit for u, k in zip(p.units, p.dealt, strict=True) if k == key]


def test_each_habit_has_its_own_index_by_bang() -> None:
    a, b = dealt(PLAN, A.key), dealt(PLAN, B.key)
    said: dict[str, str | None] = dict(zip(a, (A.key, A.key, B.key, None), strict=True))
    said |= dict(zip(b, (B.key, B.key, B.key, None), strict=True))
    found = analyse(PLAN, logged(PLAN, said), today=after(PLAN), side_readings=False).guesses
    assert found is not None
    assert found.asked == "guessed"
    one, two = found.habits
    assert one is not None
    assert two is not None
    assert (one.right, one.wrong, one.unsure) == (2, 1, 1)
    assert (two.right, two.wrong, two.unsure) == (3, 0, 1)
    assert (one.index, two.index) == (0.25, 0.75)


def test_the_blinding_index_gives_the_published_cholesterol_trial() -> None:
    # Bang, Ni & Davis 2004, table 7 (counts as in the help page of R package BI): of 277 on the drug 82 guessed
    # the drug, 25 placebo, 170 did not know; of 139 on placebo 27, 29 and 83. Published: 0.21 and 0.01.
    drug, placebo = guessed(82, 25, 170), guessed(29, 27, 83)
    assert round(drug.index, 2) == 0.21
    assert round(placebo.index, 2) == 0.01
    # the error by resampling the 277 answers: a slow second way
    rng = np.random.default_rng(1)
    draws = rng.multinomial(277, [82 / 277, 25 / 277, 170 / 277], size=40_000)
    assert (drug.high - drug.low) / (2 * 1.959964) == pytest.approx(
        ((draws[:, 0] - draws[:, 1]) / 277).std(), rel=0.02)
    assert drug.low < drug.index < drug.high


def test_guesses_all_right_all_wrong_and_none_lie_at_the_ends_and_the_middle() -> None:
    assert (guessed(6, 0, 0).index, guessed(0, 6, 0).index) == (1.0, -1.0)
    assert guessed(0, 0, 6).index == 0.0
    assert guessed(3, 3, 0).low == pytest.approx(-0.8, abs=0.01)


def test_a_habit_of_which_no_reed_was_guessed_has_none() -> None:
    found = guesses_of(PLAN, logged(PLAN, {dealt(PLAN, A.key)[0]: None}))
    assert found is not None
    assert found.habits[0] is not None
    assert found.habits[1] is None


def test_it_is_asked_once_after_the_end_and_before_the_answer() -> None:
    bare = logged(PLAN, {})
    assert [to_ask(PLAN, bare, s) for s in ("running", "opened_early", "finished", "ended_early")] == [
        False, False, True, True]
    assert not to_ask(PLAN, logged(PLAN, {"1-01": None}), "finished")
    assert not to_ask(PLAN, logged(PLAN, {SKIPPED: None}), "finished")
    looked = logged(PLAN, {}, looks=[{"trial": PLAN.trial, "date": on(3), "why": "curious"}])
    assert not to_ask(PLAN, looked, "finished")
    other = logged(PLAN, {}, looks=[{"trial": "another", "date": on(3), "why": "curious"}])
    assert to_ask(PLAN, other, "finished")


@pytest.mark.parametrize(("plan", "said", "asked"), [
    (PLAN, {}, "not_asked"), (PLAN, {SKIPPED: None}, "skipped"), (PLAN, {"9-99": A.key}, "not_asked"),
    (PLAN, {"1-01": "something else"}, "not_asked"), (squares(masked="helper"), {}, "not_reeds")])
def test_why_there_is_no_guess_is_kept(plan: Protocol, said: dict[str, str | None], asked: str) -> None:
    found = guesses_of(plan, logged(plan, said))
    assert found is not None
    assert found.asked == asked
    assert found.habits == (None, None)


def test_nothing_is_asked_where_nothing_was_hidden_and_a_running_trial_tells_nothing() -> None:
    open_plan = by_reed((4, 4))
    assert guesses_of(open_plan, logged(open_plan, {"1-01": A.key})) is None
    assert not to_ask(open_plan, logged(open_plan, {}), "finished")
    assert analyse(PLAN, logged(PLAN, {"1-01": A.key}), today=on(3)).guesses is None


def test_guesses_of_another_trial_do_not_count() -> None:
    rows = [{"trial": "another", "unit": "1-01", "habit": A.key, "date": on(1)}]
    f = frames(PLAN, [], guesses=rows)
    found = guesses_of(PLAN, f)
    assert found is not None
    assert found.asked == "not_asked"
