"""The parts below the schedule: sharing minutes, chance that stays, the player's wishes."""

from __future__ import annotations

import itertools
from datetime import date

import pytest

from reedlab.errors import InputError
from reedlab.rows.tables import Frames
from reedlab.schedule.chance import draw, insert_by_chance, shuffled
from reedlab.schedule.parts_of_day import share
from reedlab.schedule.usual import Concert, usual_from

from ._plans import plan

HABIT = {"a1": "a", "a2": "a", "b1": "b"}


def test_minutes_go_first_to_the_way_that_is_behind() -> None:
    given = share(list(HABIT), dict.fromkeys(HABIT, 10.0), dict.fromkeys(HABIT, 60.0), 60.0, HABIT,
                  {"a": 100.0, "b": 80.0}, {}, slack=30.0)
    assert given == {"a1": 10.0, "a2": 10.0, "b1": 40.0}


@pytest.mark.parametrize("arm", [{"a": 0.0, "b": 0.0}, {"a": 35.0, "b": 0.0}, {"a": 0.0, "b": 60.0}])
def test_no_other_shares_in_steps_of_five_leave_the_ways_closer(arm: dict[str, float]) -> None:
    """Against every way to share an hour, tried out one by one."""
    low, high, total = 10.0, 45.0, 60.0
    given = share(list(HABIT), dict.fromkeys(HABIT, low), dict.fromkeys(HABIT, high), total, HABIT, arm, {}, 1e9)

    def gap(m: dict[str, float]) -> float:
        return abs(arm["a"] + m["a1"] + m["a2"] - arm["b"] - m["b1"])

    steps = [low + 5 * i for i in range(8)]
    every = [dict(zip(HABIT, m, strict=True)) for m in itertools.product(steps, repeat=3) if sum(m) == total]
    assert sum(given.values()) == total
    assert gap(given) <= min(map(gap, every)) + 5


def test_what_would_tip_the_balance_stays_free() -> None:
    given = share(["a1", "a2"], {"a1": 10.0, "a2": 10.0}, {"a1": 60.0, "a2": 60.0}, 90.0, HABIT,
                  {"a": 50.0, "b": 50.0}, {}, slack=30.0)
    assert sum(given.values()) == 30


def test_chance_stays_when_a_reed_leaves_or_joins() -> None:
    p = plan()
    reeds = list(p.reeds)
    order = shuffled(p, 4, reeds)
    assert shuffled(p, 4, reeds[1:]) == [r for r in order if r != reeds[0]]
    assert shuffled(p, 5, reeds) != order
    joined = insert_by_chance(p, 4, order[:4], order[4:])
    assert [r for r in joined if r in order[:4]] == order[:4]
    assert sorted(joined) == sorted(order)


def test_chance_is_even() -> None:
    """Of 2,000 draws about half lie below one half (four standard errors)."""
    p = plan()
    assert abs(sum(draw(p, "coin", i) < 0.5 for i in range(2000)) - 1000) < 90


def test_faulty_wishes_are_all_named() -> None:
    with pytest.raises(InputError) as err:
        usual_from(Frames.of(), usual_min={7: 60, 0: 900}, days_off=["Monday"],  # type: ignore[list-item]
                   concerts=[Concert(date(2026, 3, 9), 0), date(2026, 3, 9)], reeds_at_most=0, rest_days=-1)
    text = str(err.value)
    for word in ("weekday 7", "0 to 720", "'Monday'", "1 to 720 minutes", "one date", "reeds at most",
                 "fewer than 0"):
        assert word in text


def test_a_weekday_without_minutes_is_a_day_off() -> None:
    usual = usual_from(Frames.of(), usual_min={0: 60, 2: 30}, days_off=[date(2026, 3, 4)])
    week = [usual.minutes_on(date(2026, 3, 2 + i)) for i in range(7)]
    assert week == [60, 0, 0, 0, 0, 0, 0]  # Wednesday the 4th is off this week
    assert usual.longest == 60
