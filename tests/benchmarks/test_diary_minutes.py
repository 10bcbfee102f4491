"""What the benchmark of the schedule calls feasible, on small cases worked out by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from reedlab.schedule import Line, PlayDay

from ..schedule._plans import START, book, plan, sat, slots
from .diary_minutes import Happened, Tally, reach
from .diary_rules import Wishes


def tally(*days: tuple[float, float, float, float], minutes: tuple[float, float] = (200.0, 200.0)) -> Tally:
    return Tally([Happened(*d) for d in days], list(minutes))


def wishes(minutes: float = 60.0, most: int | None = None) -> Wishes:
    return Wishes(dict.fromkeys(range(7), minutes), (), (), most, 0)


def the_day(number: int, reeds: list[str]) -> PlayDay:
    p = plan()
    lines = tuple(Line(i, r, 10.0, p.habit_for(r, number).key, "slot", True)  # type: ignore[union-attr]
                  for i, r in enumerate(reeds, start=1))
    return PlayDay(START + timedelta(days=number - 1), "on", number, lines)


def test_an_upset_of_the_last_day_can_only_be_evened_out_by_who_knew_it() -> None:
    t = tally((-30, 30, 0, 0), (-30, 30, 100, 100))
    assert t.fair() == pytest.approx(100 / 200)
    assert t.knowing() == pytest.approx(40 / 200)


def test_an_upset_with_days_enough_after_it_can_be_evened_out() -> None:
    t = tally((-30, 30, 100, 100), (-30, 30, 0, 95), (-30, 30, 0, 90), (-30, 30, 0, 90), (-30, 30, 0, 90))
    assert t.fair() == 0.0


def test_the_best_of_all_evenings_counts() -> None:
    """The diary got even by luck on its first day; from there the last day could keep it so."""
    assert tally((10, 20, -50, 0), (-5, 5, 0, 40)).fair() == 0.0


def test_what_no_day_could_reach_is_impossible_even_in_hindsight() -> None:
    assert tally((10, 20, 0, 15), (10, 30, 20, 60)).knowing() == pytest.approx(40 / 200)


def test_the_reach_of_a_day_is_its_slots_and_the_rest_of_its_minutes() -> None:
    """One hour, ten minutes for each reed, the rest to one way, never past a reed's own limit."""
    p = plan()
    reeds = slots(p)[1]
    b = sum(p.habit_for(r, 1) == p.habits[1] for r in reeds)
    a, rest = len(reeds) - b, 60 - 10 * len(reeds)
    assert reach(p, wishes(), book(p), the_day(1, reeds), (), free=True) == (10 * (b - a) - rest, 10 * (b - a) + rest)
    assert reach(p, wishes(), book(p), the_day(1, reeds), (), free=False) == (10 * (b - a), 10 * (b - a))


def test_a_forgotten_reed_brings_nothing() -> None:
    p = plan()
    reeds = slots(p)[1]
    one = next(r for r in reeds if p.habit_for(r, 1) == p.habits[1])
    low, high = reach(p, wishes(), book(p), the_day(1, reeds), (), free=False)
    assert reach(p, wishes(), book(p), the_day(1, reeds), [one], free=False) == (low - 10, high - 10)


def test_a_missed_turn_may_be_made_up_and_one_that_was_played_may_not() -> None:
    p = plan()
    first, second = slots(p)[1], slots(p)[2]
    room = 10.0 * (len(first) + len(second))
    played = [sat(START, r) for r in first]
    spread = [max(reach(p, wishes(room), book(p, rows), the_day(2, second), (), free=True), key=abs)
              for rows in ([], played)]
    alone = 10 * sum(1 if p.habit_for(r, 2) == p.habits[1] else -1 for r in second)
    rest = room - 10 * len(second)
    assert abs(spread[1]) == abs(alone) + rest
    missed = reach(p, wishes(10.0 * len(second)), book(p), the_day(2, second), (), free=True)
    assert missed == (alone, alone)


def test_more_reeds_than_wished_are_never_counted() -> None:
    p = plan("drying", outcome="wear_rate")
    low, high = reach(p, wishes(), book(p), PlayDay(START, "on", 1, ()), (), free=True)
    assert (low, high) != (0.0, 0.0)
    assert reach(p, wishes(most=1), book(p), PlayDay(START, "on", 1, ()), (), free=True) == (0.0, 0.0)
