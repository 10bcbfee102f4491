"""How little would undo an answer, and how far guesses beat a coin."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from reedlab.analysis.beside.fragile import knowing_shift
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.trial import analyse
from reedlab.trial.result import Finding, TrialResult

from .._players import after, by_reed, frames, on, one_a_day, rated

GAPS = (0.5, 1.0, 1.5, 0.5, 1.0, 2.0, 0.5)


def paired(gaps: tuple[float, ...] = GAPS, lift: float = 0.0, **more: object) -> TrialResult:
    """Day by day, one reed a day: each matched set's gap is given, and `lift` is added to the second way."""
    plan = one_a_day(len(gaps), matters=0.2, **more)
    rows = rated(plan, lambda r, d, h: 5.0 + (h == "water") * (gaps[(d - 1) // 2] + lift))
    return analyse(plan, frames(plan, rows), today=after(plan))


def test_a_lift_of_just_the_shift_undoes_the_answer_and_a_smaller_one_does_not() -> None:
    found = paired()
    assert found.main is not None
    assert found.fragile is not None
    assert found.main.verdict == "b_better"
    shift = found.fragile.shift
    assert shift == found.main.low == 0.5
    assert paired(lift=-shift - 1e-6).main.verdict == "cannot_tell"  # type: ignore[union-attr]
    assert paired(lift=-shift + 1e-6).main.verdict == "b_better"  # type: ignore[union-attr]


def test_the_shift_of_the_first_way_is_counted_in_its_favour() -> None:
    found = paired(tuple(-g for g in GAPS))
    assert found.fragile is not None
    assert (found.fragile.side, found.fragile.shift) == ("A", 0.5)


def finding(verdict: str, scale: str = "difference") -> Finding:
    return Finding("day_rating", "as_planned", scale, 0.1, -0.3, 0.5, -0.2, 0.4, 0.95, 0.6, 0.01, True, 100,
                   (7, 7), 7, verdict=verdict)


def test_sameness_is_undone_once_the_moved_range_reaches_what_matters() -> None:
    assert knowing_shift(finding("no_real_difference"), 1.0) == pytest.approx(0.6)
    assert knowing_shift(finding("cannot_tell"), 1.0) is None
    assert knowing_shift(finding("b_better", "ratio"), 1.5) is None


def test_what_was_expected_is_set_beside_by_its_side() -> None:
    assert paired(expected="mouth", expected_gap=0.5).fragile.expected == "A"  # type: ignore[union-attr]
    assert paired(expected="same").fragile.expected == "same"  # type: ignore[union-attr]
    assert paired().fragile.expected is None  # type: ignore[union-attr]


def signs_p(gaps: list[float]) -> float:
    """Two-sided p of pairs by turning every sign, the slow way."""
    every = np.array([np.dot(gaps, s) for s in itertools.product((1, -1), repeat=len(gaps))])
    seen = sum(gaps)
    return min(1.0, 2 * min((every >= seen - 1e-9).mean(), (every <= seen + 1e-9).mean()))


def test_one_set_left_out_turned_or_added_gives_the_p_that_enumeration_gives() -> None:
    found = paired()
    assert found.fragile is not None
    by = {w.kind: w for w in found.fragile.what_ifs}
    gaps = list(GAPS)
    rest = [g for g in gaps if g != 2.0]
    assert by["left_out"].block == "set 6"  # the one that helps most
    assert by["left_out"].p_value == pytest.approx(signs_p(rest))
    assert by["turned"].p_value == pytest.approx(signs_p([*rest, -2.0]))
    assert by["added"].p_value == pytest.approx(signs_p([*gaps, -2.0]))
    assert by["left_out"].stands
    assert not by["turned"].stands


def test_a_trial_that_claims_nothing_has_nothing_to_undo() -> None:
    assert paired((0.5, -1.0, 1.0, -0.5, 0.0, 0.5, -1.0)).fragile is None


def test_a_turned_set_of_lives_changes_the_places_of_the_two_ways() -> None:
    plan = by_reed((2,) * 8, outcome="life_hours", worn_out_rule="player", slots=False, days=20, matters=1.2)
    rows, gone = [], []
    for u, key in zip(plan.units, plan.dealt, strict=True):
        hours = 10.0 + plan.units.index(u) * 0.1 + 8 * (key == "water")
        for day in range(1, 3):
            rows.append({"date": on(day), "reed": u.unit, "play_min": 30 * hours, "habit": key})
        gone.append({"reed": u.unit, "date": on(3), "reason": "worn_out"})
    found = analyse(plan, frames(plan, rows, retirements=gone), today=after(plan))
    assert found.main is not None
    assert found.fragile is not None
    assert found.main.verdict == "b_better"
    assert found.fragile.shift is None
    turned = next(w for w in found.fragile.what_ifs if w.kind == "turned")
    assert found.units is not None
    arm = [("BA" if b == turned.block else "AB")["AB".index(a)]
           for a, b in zip(found.units["arm"], found.units["block"], strict=True)]
    again = compare_lives(found.units["value"], found.units["worn_out"], arm, found.units["block"])
    assert turned.p_value == pytest.approx(again.p_value)


def test_side_readings_can_be_left_out() -> None:
    plan = one_a_day(7)
    rows = rated(plan, lambda r, d, h: 5.0 + (h == "water"))
    found = analyse(plan, frames(plan, rows), today=after(plan), side_readings=False)
    assert found.fragile is None
    assert found.readings == ()
