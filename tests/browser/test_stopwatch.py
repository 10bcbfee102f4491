"""The phone and an ordinary day by the stopwatch; `benchmarks/stopwatch.py` measures more of it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from reedlab.phone import keys, page_address

from ..benchmarks.stopwatch import (
    DAY,
    SLOW,
    can_be_used,
    day_at_desk,
    day_on_phone,
    over,
    saves,
)
from .conftest import PHONE, PHONE_AT

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def address(player: Any) -> str:
    key = keys.read(player.folder)
    return page_address(PHONE_AT, player.port, key.key)


def phone(player: Any) -> Any:
    return player.chromium.new_context(viewport=PHONE).new_page()


def test_an_ordinary_day_takes_less_than_a_minute_at_the_desk_and_on_the_phone_without_scrolling(in_trial: Any) -> None:
    tab = phone(in_trial)
    can_be_used(tab, address(in_trial))
    there = day_on_phone(tab, (7, 6, 5, 4), waits=False)
    tab.context.close()
    in_trial.day(DAY + timedelta(days=1))
    in_trial.open("today")
    here = day_at_desk(in_trial.tab, (7, 6, 5, 4), waits=False)
    for where, day in (("phone", there), ("desk", here)):
        print(f"four reeds, {where}: {day.seconds:.1f} s, {day.presses} presses")
        assert day.seconds < 60
        assert (day.presses, day.scrolls) == (8, 0)
    assert in_trial.troubles == []


def test_the_phones_page_can_be_used_within_a_second_at_home_and_three_over_a_slow_line(in_trial: Any) -> None:
    can_be_used(phone(in_trial), address(in_trial))
    for where, line, most in (("at home", None, 1.0), ("slow line", SLOW, 3.0)):
        found = []
        for _ in range(3):
            tab = phone(in_trial)
            if line:
                over(tab, line)
            found.append(can_be_used(tab, address(in_trial)))
            tab.context.close()
        print(f"{where}: {min(found):.2f} to {max(found):.2f} s")
        assert (min(found) >= 2 * SLOW["latency"] / 1000) == bool(line)  # the line was as slow as it should be
        assert min(found) <= most


def test_a_save_is_confirmed_before_one_wonders(in_trial: Any) -> None:
    tab = phone(in_trial)
    can_be_used(tab, address(in_trial))
    days = iter(range(8))
    times = saves(tab, lambda: in_trial.day(DAY + timedelta(days=next(days))), 12)
    print(f"Save confirmed in {sorted(times)[len(times) // 2]:.0f} ms, at most {max(times):.0f}")
    assert len(times) == 12
    assert sorted(times)[len(times) // 2] <= 1000
