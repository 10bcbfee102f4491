from __future__ import annotations

from reedlab.plan import first_play_order

CODES = [f"1-{i:02d}" for i in range(1, 11)]


def test_each_reed_comes_once_in_an_order_shuffled_from_the_seed_alone() -> None:
    assert sorted(first_play_order(CODES, seed=1)) == CODES
    assert first_play_order(CODES, seed=1) == first_play_order(CODES[::-1], seed=1)
    assert first_play_order(CODES, seed=1) != first_play_order(CODES, seed=2)
    assert first_play_order([], seed=1) == []
