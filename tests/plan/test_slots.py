from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest

from reedlab.plan.own_hours import days_needed, limit_slots, side_by_side_slots, turn_widths
from reedlab.plan.slots import days_of_a_round, even_slots
from reedlab.plan.squares import day_slots, day_units
from reedlab.trial.protocol import Slot


def rng(seed: int = 0) -> np.random.Generator:
    return np.random.default_rng(seed)


def sets_of(*sizes: int) -> list[list[str]]:
    return [[f"1-{100 * i + j:03d}" for j in range(n)] for i, n in enumerate(sizes)]


def by_day(slots: tuple[Slot, ...]) -> dict[int, list[str]]:
    out: dict[int, list[str]] = {}
    for s in sorted(slots, key=lambda s: (s.day, s.order)):
        out.setdefault(s.day, []).append(s.reed)
    return out


@pytest.mark.parametrize("sizes", [(4, 4), (2, 2, 2, 2, 2, 2), (10,), (4, 6), (5,), (6, 6, 8), (3, 4)])
@pytest.mark.parametrize("a_day", [1, 2, 4, 5])
def test_every_reed_is_rated_alike_and_no_day_is_too_full(sizes: tuple[int, ...], a_day: int) -> None:
    sets = sets_of(*sizes)
    slots = even_slots(sets, 40, a_day, rng())
    assert len(set(Counter(s.reed for s in slots).values())) == 1
    for day, today in by_day(slots).items():
        assert 1 <= day <= 40
        assert len(today) <= a_day
        assert len(set(today)) == len(today)
    assert max(s.day for s in slots) <= 40
    assert len(slots) == 40 // days_of_a_round(sizes, a_day) * sum(sizes)


def test_a_set_that_fits_on_a_day_plays_on_the_same_days() -> None:
    sets = sets_of(4, 2, 2, 3)
    days = {r: {s.day for s in even_slots(sets, 30, 4, rng(3)) if s.reed == r} for group in sets for r in group}
    assert all(days[r] == days[group[0]] for group in sets for r in group)


def test_the_order_within_a_day_favours_no_reed() -> None:
    """Over many rounds each reed of a set of four is first about as often (chi-square, 3 df, 99.9 %: 16.27)."""
    slots = even_slots(sets_of(4), 2000, 4, rng(5))
    first = Counter(s.reed for s in slots if s.order == 1)
    assert sum((n - 500) ** 2 / 500 for n in first.values()) < 16.27


@pytest.mark.parametrize(("reeds", "days", "a_day"), [(4, 14, 2), (4, 14, 4), (3, 14, 2), (2, 13, 2), (5, 20, 4)])
def test_squares_hold_two_reeds_two_days_and_opposite_diagonals(reeds: int, days: int, a_day: int) -> None:
    names = [f"1-{i:02d}" for i in range(reeds)]
    units = day_units(names, days, a_day, rng())
    for one, two in zip(units[::2], units[1::2], strict=True):
        assert one.block == two.block
        cells = set(one.cells) | set(two.cells)
        assert len(cells) == 4
        assert len({r for r, _ in cells}) == len({d for _, d in cells}) == 2
        for unit in (one, two):
            (r1, d1), (r2, d2) = unit.cells
            assert r1 != r2
            assert d1 != d2
    assert len(units) == 2 * (min(a_day, reeds) // 2) * (days // 2)
    served = Counter(r for u in units for r, _ in u.cells)
    assert max(served.values()) - min(served.values()) <= 2


def test_one_reed_a_day_plays_two_days_running() -> None:
    units = day_units(["1-01", "1-02", "1-03"], 14, 1, rng())
    for one, two in zip(units[::2], units[1::2], strict=True):
        (r, d), (s, e) = one.cells[0], two.cells[0]
        assert (r, d + 1) == (s, e)
    assert {s.day for s in day_slots(units, rng())} == set(range(1, 15))


def test_day_slots_hold_each_cell_once() -> None:
    units = day_units([f"1-{i}" for i in range(4)], 14, 4, rng())
    slots = day_slots(units, rng(1))
    assert sorted((s.reed, s.day) for s in slots) == sorted(c for u in units for c in u.cells)
    assert all(sorted(s.order for s in slots if s.day == d) == [1, 2, 3, 4] for d in range(1, 15))


def test_rotation_takes_turns_beside_one_reed_at_a_time() -> None:
    reeds = {"rotation": list("abcde"), "single": list("vwxyz")}
    overrides = (("rotation", "rotation_size", 4), ("single", "rotation_size", 1))
    widths = turn_widths(["rotation", "single"], overrides)
    slots = side_by_side_slots(reeds, widths, ["single"], cap_hours=8, minutes_a_day=60, rng=rng())
    plays = Counter(s.reed for s in slots)
    assert set(plays.values()) == {16}  # 8 hours at half an hour a day, both ways alike
    assert max(s.day for s in slots) == days_needed(10, 8, 60) == 80
    seen = by_day(slots)
    assert all(len(today) == 2 and len(set(today) & set("vwxyz")) == 1 for today in seen.values())
    single = [next(r for r in seen[d] if r in "vwxyz") for d in sorted(seen)]
    assert [r for i, r in enumerate(single) if i == 0 or r != single[i - 1]] == list("vwxyz")
    turns = [next(r for r in seen[d] if r in "abcde") for d in sorted(seen)]
    assert all(a != b for a, b in itertools.pairwise(turns))


def test_a_reed_that_rests_never_plays_two_days_running() -> None:
    widths = turn_widths(["daily", "rest"], (("rest", "rest_days", 1),))
    slots = side_by_side_slots({"daily": list("vwxyz"), "rest": list("abcde")}, widths, ["rest"], cap_hours=4,
                               minutes_a_day=60, rng=rng())
    for r in "abcde":
        days = sorted(s.day for s in slots if s.reed == r)
        assert min(np.diff(days)) >= 2
        assert len(days) == 8


def test_a_daily_limit_gives_both_ways_the_same_hours() -> None:
    slots = limit_slots(list("abcd"), list("wxyz"), limit_min=30, cap_hours=6, minutes_a_day=60, rng=rng())
    plays = Counter(s.reed for s in slots)
    assert {plays[r] * 30 / 60 for r in "abcd"} == {6.0}
    assert {plays[r] * 60 / 60 for r in "wxyz"} == {6.0}
    for today in by_day(slots).values():
        assert (set(today) <= set("abcd") and len(today) == 2) or (set(today) <= set("wxyz") and len(today) == 1)
    assert max(s.day for s in slots) == days_needed(8, 6, 60)
