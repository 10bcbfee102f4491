"""If every reed went on fading as so far: the p by plain enumeration, the range by inversion, never a verdict."""

from __future__ import annotations

import dataclasses
import itertools
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.beside.expected_lives import ExpectedLives, expected_lives
from reedlab.analysis.beside.expected_reading import read_expected
from reedlab.analysis.shuffling.compare import compare
from reedlab.analysis.trial import analyse
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values
from reedlab.trial.protocol import Protocol
from reedlab.trial.result import Finding

from .._players import A, B, after, by_reed, frames, on
from .test_expected_lives import course, fading, slow_lives


def a_trial(seed: int, sizes: tuple[int, ...] = (4, 4), *, days: int = 9, **more: Any) -> tuple[Protocol, Any]:
    p = by_reed(sizes, outcome=more.pop("outcome", "life_hours"), days=60, slots=False, seed=seed, **more)
    ratings = fading(len(p.units), 40 + seed, days=days)
    return p, frames(p, [r for reed, ys in zip(p.reeds, ratings, strict=True) for r in course(reed, ys)])


def expected_of(p: Protocol, made: Any) -> ExpectedLives:
    trial = blind(p, made)
    return expected_lives(trial, life_values(trial, p.outcome))


def read(p: Protocol, made: Any, level: float = 0.95) -> Finding:
    found = read_expected(p, expected_of(p, made), level=level)
    assert found is not None
    return found


def turned(p: Protocol) -> Protocol:
    return dataclasses.replace(p, dealt=tuple(A.key if k == B.key else B.key for k in p.dealt))


def slow_p(p: Protocol, made: Any) -> float:
    """Deal every way the plan could have, sum the logs of B's lives, and count."""
    lives = slow_lives(p, made)
    arm = dict(zip((u.unit for u in p.units), p.arms, strict=True))
    sets = []
    for b in dict.fromkeys(u.block for u in p.units):
        here = [u.unit for u in p.units if u.block == b and np.isfinite(lives[u.unit])]
        k = sum(arm[r] == "B" for r in here)
        if 0 < k < len(here):
            sets.append(list(itertools.combinations(here, k)))
    used = {r for s in sets for way in s for r in way}
    sums = np.array([sum(np.log(lives[r]) for way in deal for r in way) for deal in itertools.product(*sets)])
    seen = sum(np.log(lives[r]) for r in used if arm[r] == "B")
    return min(1.0, 2 * min(np.mean(sums >= seen - 1e-9), np.mean(sums <= seen + 1e-9)))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("sizes", [(4, 4), (2, 2, 2, 2), (6, 3)])
def test_p_is_that_of_dealing_every_way_by_hand(seed: int, sizes: tuple[int, ...]) -> None:
    p, made = a_trial(seed, sizes)
    assert read(p, made).p_value == pytest.approx(slow_p(p, made))


def test_p_leaves_out_reeds_without_a_course_and_sets_that_lost_a_habit() -> None:
    p, made = a_trial(3, (4, 2, 2))
    kept = made.sittings[(made.sittings["reed"] != "1-05") | (made.sittings["date"] < np.datetime64(on(3)))]
    less = dataclasses.replace(made, sittings=kept.reset_index(drop=True))
    found = read(p, less)
    assert found.blocks_dropped == ("set 2",)
    assert sum(found.units) == 6
    assert found.p_value == pytest.approx(slow_p(p, less))


def b_faster(made: Any, p: Protocol, ratio: float) -> Any:
    """The same trial with all minutes of B's reeds divided by the ratio."""
    sittings = made.sittings.copy()
    of_b = sittings["reed"].isin([u.unit for u, a in zip(p.units, p.arms, strict=True) if a == "B"])
    sittings.loc[of_b, "play_min"] = sittings.loc[of_b, "play_min"] / ratio
    return dataclasses.replace(made, sittings=sittings)


@pytest.mark.parametrize("seed", [1, 4, 5])
def test_the_ends_of_the_range_are_where_the_whole_trial_read_again_turns(seed: int) -> None:
    p, made = a_trial(seed, (4, 4), days=10)
    found = read(p, made, level=0.9)
    assert (found.low, found.high) == (found.low90, found.high90)
    for end, outwards in ((found.low, -1), (found.high, 1)):
        if 0.01 < end < 100:
            assert slow_p(p, b_faster(made, p, end * 1.0005**-outwards)) > 0.1
            assert slow_p(p, b_faster(made, p, end * 1.0005**outwards)) <= 0.1


def test_at_the_estimate_the_habits_stand_level() -> None:
    p, made = a_trial(2, (4, 4), days=12)
    found = read(p, made)
    level = read(p, b_faster(made, p, found.estimate))
    assert level.estimate == pytest.approx(1.0, abs=1e-4)
    assert level.p_value > 0.4


def test_swapping_the_habits_mirrors_it() -> None:
    for seed in range(4):
        p, made = a_trial(seed)
        one, two = read(p, made), read(turned(p), made)
        assert one.p_value == pytest.approx(two.p_value)
        assert one.estimate == pytest.approx(1 / two.estimate, rel=1e-4)
        for here, there in (("low", "high"), ("high", "low"), ("low90", "high90"), ("high90", "low90")):
            mirrored = getattr(two, there)
            assert getattr(one, here) == pytest.approx(np.inf if mirrored == 0 else 1 / mirrored, rel=1e-4)
        assert one.events == (two.events or ())[::-1]


def test_where_every_reed_is_worn_out_it_is_the_test_of_the_logarithms_of_the_hours() -> None:
    rng = np.random.default_rng(5)
    p = by_reed((4, 6), outcome="life_hours", days=60, slots=False)
    rows = [r for u in p.units for r in course(u.unit, [8, 7, 3, 3], minutes=float(rng.integers(60, 900)))]
    made = frames(p, rows)
    found = read(p, made)
    plain = compare(np.log(expected_of(p, made).lives.hours), p.arms, [u.block for u in p.units])
    assert found.p_value == plain.p_value
    assert sum(found.events or ()) == 10
    for name in ("estimate", "low", "high"):
        assert getattr(found, name) == pytest.approx(np.exp(getattr(plain, name)), rel=1e-5), name


def test_the_range_holds_no_difference_just_where_the_p_does_not_rule_it_out() -> None:
    for seed in range(12):
        found = read(*a_trial(seed, (4, 4)), level=0.7)
        assert (found.low <= 1 <= found.high) == (found.p_value > 0.3 + 1e-12)


def test_reeds_that_do_not_fade_tell_nothing_and_leave_both_ends_open() -> None:
    p = by_reed((4, 4), outcome="life_hours", days=60, slots=False)
    made = frames(p, [r for reed in p.reeds for r in course(reed, [6, 7, 7, 8, 8])])
    found = read(p, made)
    assert found.p_value == 1.0
    assert (found.low, found.high) == (0.0, np.inf)


def test_without_any_course_there_is_no_such_reading() -> None:
    p = by_reed((4, 4), outcome="life_hours", days=20, slots=False)
    made = frames(p, [r for reed in p.reeds for r in course(reed, [float("nan")] * 5)])
    assert read_expected(p, expected_of(p, made), level=0.95) is None
    found = analyse(p, made, today=after(p))
    assert [f.reading for f in found.readings] == ["as_planned", "as_done", "damage_counts"]


def test_it_stands_last_beside_the_other_readings_and_gets_no_verdict() -> None:
    p, made = a_trial(1)
    result = analyse(p, made, today=after(p))
    last = result.readings[-1]
    assert last.reading == "expected"
    assert (last.verdict, last.exceeds, last.scale) == (None, None, "ratio")
    assert result.main is not None
    assert result.main.reading == "as_planned"
    assert sum(last.events or ()) < sum(last.units)


def test_it_is_not_there_while_the_trial_runs_or_where_every_reed_is_worn_out() -> None:
    p, made = a_trial(1)
    assert analyse(p, made, today=on(10)).readings == ()
    ends = frames(p, [r for reed in p.reeds for r in course(reed, [8, 7, 3, 3])])
    assert "expected" not in [f.reading for f in analyse(p, ends, today=after(p)).readings]


def test_a_rating_trial_has_no_such_reading() -> None:
    p, made = a_trial(1, outcome="wear_rate")
    assert "expected" not in [f.reading for f in analyse(p, made, today=after(p)).readings]
