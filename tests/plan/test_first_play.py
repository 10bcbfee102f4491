from __future__ import annotations

import pytest

from reedlab.errors import InputError
from reedlab.plan import first_play_days

from ._reeds import reeds


def test_at_most_five_new_reeds_a_day_each_once() -> None:
    days = first_play_days([f"1-{i:02d}" for i in range(1, 13)], seed=3)
    assert [d.day for d in days] == [1, 2, 3]
    assert all(len(d.reeds) <= 5 and 3 <= d.minutes <= 5 for d in days)
    assert sorted(r for d in days for r in d.reeds) == [f"1-{i:02d}" for i in range(1, 13)]


def test_the_order_is_shuffled_from_the_seed_alone() -> None:
    codes = [f"1-{i:02d}" for i in range(1, 11)]
    assert first_play_days(codes, seed=1) == first_play_days(codes[::-1], seed=1)
    assert first_play_days(codes, seed=1) != first_play_days(codes, seed=2)


def test_a_table_gives_only_reeds_without_a_first_play() -> None:
    table = reeds(4)
    assert first_play_days(table, seed=1) == ()
    table.loc[0, "first_play"] = None
    table.loc[1, "first_play"] = None
    table.loc[1, "set_aside"] = True
    assert [d.reeds for d in first_play_days(table, seed=1)] == [("1-01",)]


def test_too_many_reeds_or_minutes_a_day_are_both_named() -> None:
    with pytest.raises(InputError) as err:
        first_play_days(["1-01"], seed=1, a_day=8, minutes=30)
    assert "new reeds a day" in str(err.value)
    assert "`minutes`" in str(err.value)
