"""A reed serves one trial at a time: told by rows alone, whatever door a plan comes in by."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.logbook.between import cross_check
from reedlab.trial.overlaps import overlap_words, overlaps
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
DAY = timedelta(days=1)


def plan(trial: str, reeds: tuple[str, ...] = ("1-01", "1-02"), start: date = START, **more: Any) -> Protocol:
    given: dict[str, Any] = {
        "question": "drying", "ask": "?", "instrument": "clarinet", "habits": (Habit("case", "a"), Habit("open", "b")),
        "design": "reed_by_reed", "outcome": "mean_rating", "matters": 1.0, "days": 10,
        "units": tuple(Unit(r, "s", (r,)) for r in reeds), "dealt": ("case", "open")[:len(reeds)],
        "slots": tuple(Slot(d, 1, reeds[0]) for d in range(1, 11)), "seed": 1}
    return Protocol(trial=trial, start=start, **(given | more))


def found(*plans: tuple[Protocol, date | None], paused: tuple[date, ...] = ()) -> list[tuple[Any, ...]]:
    return [tuple(x) for x in overlaps(plans, paused)]


@pytest.mark.parametrize(("other", "shared"), [
    (plan("b", start=START + 9 * DAY), ("1-01", "1-02")),  # on the last day
    (plan("b", start=START + 10 * DAY), None),  # on the day after
    (plan("b", ("1-02", "1-03"), START + DAY), ("1-02",)),
    (plan("b", ("1-03", "1-04"), START), None),
])
def test_plans_overlap_where_a_reed_is_held_on_a_day_by_both(other: Protocol, shared: tuple[str, ...] | None) -> None:
    assert found((plan("a"), None), (other, None)) == ([] if shared is None else [(0, 1, shared)])
    assert found((other, None), (plan("a"), None)) == ([] if shared is None else (
        [(1, 0, shared)] if other.start > START else [(0, 1, shared)]))


def test_a_trial_ended_by_hand_frees_its_reeds_from_that_day_on() -> None:
    later = plan("b", start=START + 4 * DAY)
    assert found((plan("a"), START + 4 * DAY), (later, None)) == []
    assert found((plan("a"), START + 5 * DAY), (later, None)) == [(0, 1, ("1-01", "1-02"))]
    assert found((plan("a"), START), (plan("b"), None)) == []


def test_a_pause_shifts_the_end_only_where_it_is_asked_for() -> None:
    both = (plan("a"), None), (plan("b", start=START + 10 * DAY), None)
    assert found(*both) == []
    assert found(*both, paused=(START + DAY,)) == [(0, 1, ("1-01", "1-02"))]


def test_an_old_diary_holds_no_reed() -> None:
    assert found((plan("a"), None), (plan("b", how_dealt="not", slots=()), None)) == []


def row(p: Protocol, **more: Any) -> dict[str, Any]:
    return {"trial": p.trial, "started": p.start, "ended": None, "protocol": p.to_json(),
            "protocol_sha256": p.sha256} | more


def faults(*trials: dict[str, Any]) -> list[tuple[int, str]]:
    rows = {"boxes": [{"box": "1", "instrument": "clarinet"}],
            "reeds": [{"reed": f"1-0{n}", "box": "1"} for n in range(1, 5)], "trials": trials}
    return [(f.row, f.wanted) for f in cross_check(rows, START) if f.table == "trials"]


def test_the_later_trial_is_named_and_the_new_one_before_one_that_stands() -> None:
    early, late = plan("early"), plan("late", start=START + DAY)
    assert faults(row(early), row(late)) == [(1, overlap_words("early", ("1-01", "1-02"))[1])]
    assert faults(row(late), row(early)) == [(0, overlap_words("early", ("1-01", "1-02"))[1])]
    assert faults(row(late, entry_id=1), row(early)) == [(1, overlap_words("late", ("1-01", "1-02"))[1])]


def test_three_trials_at_once_are_three_faults_and_trials_one_after_the_other_none() -> None:
    assert len(faults(row(plan("a")), row(plan("b")), row(plan("c")))) == 3
    assert faults(row(plan("a")), row(plan("b", start=START + 10 * DAY)),
                  row(plan("c", start=START + 20 * DAY))) == []
