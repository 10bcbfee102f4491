"""Counting arrangements by halves gives what listing every one of them gives."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.shuffling.deals import Deals, used_units
from reedlab.trial.dealing import all_arrangements, draw_arrangements, layout_dealt

BLOCKS = [
    ("pairs", [f"p{i // 2}" for i in range(12)]),
    ("fours", [f"f{i // 4}" for i in range(12)]),
    ("uneven", ["a"] * 5 + ["b"] * 3 + ["c"] * 4),
    ("one", ["x"] * 9),
]


def listed(values: np.ndarray, is_b: np.ndarray, block: list[str]) -> tuple[float, float]:
    """Tail shares by listing every arrangement of the units that are left."""
    every = np.vstack(list(all_arrangements(layout_dealt(block, is_b))))
    sums = every @ values
    top = values[is_b].sum()
    return float((sums >= top - 1e-9).mean()), float((sums <= top + 1e-9).mean())


@pytest.mark.parametrize(("name", "block"), BLOCKS, ids=[n for n, _ in BLOCKS])
@pytest.mark.parametrize("lost", [0.0, 0.25])
def test_shares_equal_those_of_a_full_list(name: str, block: list[str], lost: float) -> None:
    rng = np.random.default_rng(11)
    k, n = 40, len(block)
    n_b = {b: block.count(b) // 2 for b in block}
    is_b = draw_arrangements(block, n_b, k, 3)
    used = used_units(rng.random((k, n)) >= lost, is_b, block)
    values = np.where(used, np.round(rng.normal(size=(k, n)) * 2) / 2, 0.0)  # half points: many ties
    deals = Deals(is_b, used, block)
    rows = np.arange(k)
    upper, lower = deals.tails(values, deals.observed(values, rows), np.full(k, 1e-9), rows)
    for i in range(k):
        u = used[i]
        left = [b for b, x in zip(block, u, strict=True) if x]
        want = listed(values[i, u], is_b[i, u], left) if u.any() else (1.0, 1.0)
        assert (upper[i], lower[i]) == pytest.approx(want, abs=1e-12)


def test_a_subset_of_trials_in_any_order_gets_its_own_answers() -> None:
    rng = np.random.default_rng(5)
    block = ["a"] * 6 + ["b"] * 6
    is_b = draw_arrangements(block, 3, 30, 1)
    used = used_units(rng.random((30, 12)) >= 0.15, is_b, block)
    values = np.where(used, rng.normal(size=(30, 12)), 0.0)
    deals = Deals(is_b, used, block)
    tie = np.full(30, 1e-9)
    every = np.arange(30)
    whole = deals.tails(values, deals.observed(values, every), tie, every)
    some = rng.permutation(30)[:11]
    part = deals.tails(values[some], deals.observed(values[some], some), tie[some], some)
    assert np.array_equal(part[0], whole[0][some])
    assert np.array_equal(part[1], whole[1][some])


def test_a_block_that_lost_a_habit_leaves_whole() -> None:
    is_b = np.array([[True, False, True, False]])
    present = np.array([[True, False, True, True]])
    assert used_units(present, is_b, ["p", "p", "q", "q"]).tolist() == [[False, False, True, True]]


def test_drawn_arrangements_agree_with_all_of_them_within_their_error() -> None:
    rng = np.random.default_rng(8)
    block = ["a"] * 10 + ["b"] * 10
    is_b = draw_arrangements(block, 5, 12, 2)
    used = used_units(rng.random((12, 20)) >= 0.1, is_b, block)
    values = np.where(used, rng.normal(size=(12, 20)), 0.0)
    rows, tie = np.arange(12), np.full(12, 1e-9)
    exact, drawn = Deals(is_b, used, block), Deals(is_b, used, block, limit=100, samples=20_000, seed=4)
    assert exact.exact.all()
    assert not drawn.exact.any()
    for one, two in zip(exact.tails(values, exact.observed(values, rows), tie, rows),
                        drawn.tails(values, drawn.observed(values, rows), tie, rows), strict=True):
        assert np.abs(one - two).max() < 5 * np.sqrt(0.25 / 20_000)


@pytest.mark.parametrize("pairs", [30, 80])  # draws are made in one way for few units, in another for many
def test_trials_of_pairs_that_lost_differently_count_in_one_draw_as_each_does_by_itself(pairs: int) -> None:
    rng = np.random.default_rng(9)
    block = [f"p{i // 2}" for i in range(2 * pairs)]
    is_b = draw_arrangements(block, 1, 25, 6)
    used = used_units(rng.random((25, 2 * pairs)) >= np.linspace(0, 0.4, 25)[:, None], is_b, block)
    values = np.round(rng.normal(size=(25, 2 * pairs)) * 2) / 2  # half points: many ties; lost ones are no zeros
    how = {"limit": 1, "samples": 500, "seed": 3}
    deals, rows, tie = Deals(is_b, used, block, **how), np.arange(25), np.full(25, 1e-9)
    assert len(np.unique(used.sum(axis=1))) > 10
    upper, lower = deals.tails(values, deals.observed(values, rows), tie, rows)
    for i in range(25):
        u = used[i]
        alone = Deals.whole(is_b[i, u], [b for b, x in zip(block, u, strict=True) if x], **how)
        top = alone.observed(values[i:i + 1, u], rows[:1])
        mine = alone.tails(values[i:i + 1, u], top, tie[:1], rows[:1])
        assert (upper[i], lower[i]) == (mine[0][0], mine[1][0])


def test_centring_uses_the_units_that_are_left() -> None:
    block = ["a", "a", "a", "b", "b"]
    is_b = np.array([[True, False, False, True, False]])
    used = np.array([[True, True, False, True, True]])
    got = Deals(is_b, used, block).centred(np.array([[1.0, 3.0, 99.0, 2.0, 4.0]]), np.array([0]))
    assert got.tolist() == [[-1.0, 1.0, 0.0, -1.0, 1.0]]
