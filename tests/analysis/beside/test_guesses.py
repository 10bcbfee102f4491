"""Guesses at the end of a masked trial: when they are asked, and what they count."""

from __future__ import annotations

from typing import Any

import pytest

from reedlab.analysis.beside.fragile import blinding_index
from reedlab.analysis.beside.guesses import SKIPPED, guesses_of, to_ask
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
    for g in (one, two):
        wanted = blinding_index(g.right, g.wrong, g.unsure)
        assert (g.index, g.low, g.high) == (wanted.index, wanted.low, wanted.high)


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
