"""Schedules for habits that set the hours themselves: rotation, a daily limit, rest days.

"The same days for both ways" cannot hold here. What is held instead: the two ways run side by side and
get the same minutes, and every reed is played until it is worn out or has the same number of playing
hours (the cap), whichever way it was dealt. The slots follow the deal here, as the habits demand: what is
compared is the two ways of playing as a whole, their calendars included.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

import numpy as np

from ..trial.protocol import Slot

__all__ = ["days_needed", "limit_slots", "side_by_side_slots", "turn_widths"]


def turn_widths(habits: Sequence[str], overrides: Sequence[tuple[str, str, float]]) -> dict[str, int]:
    """Return for each habit how many reeds take turns: its rotation size, or one more than its rest days."""
    out = dict.fromkeys(habits, 1)
    for habit, name, value in overrides:
        if name == "rotation_size":
            out[habit] = max(out[habit], int(value))
        elif name == "rest_days":
            out[habit] = max(out[habit], int(value) + 1)
    return out


def _groups(reeds: Sequence[str], width: int) -> list[list[str]]:
    """Cut reeds into groups of at most `width` that are as even as can be."""
    parts = math.ceil(len(reeds) / width)
    edges = np.linspace(0, len(reeds), parts + 1).round().astype(int)
    return [list(reeds[a:b]) for a, b in itertools.pairwise(edges)]


def _track(reeds: Sequence[str], width: int, rest: bool, plays: int) -> list[str | None]:
    """Return the reed of each day for one way; None on a day of rest that no other reed fills."""
    days: list[str | None] = []
    for group in _groups(reeds, width):
        turn: list[str | None] = [*group]
        if rest:
            turn += [None] * (width - len(group))
        days += turn * plays
    while days and days[-1] is None:
        days.pop()
    return days


def side_by_side_slots(
    reeds: Mapping[str, Sequence[str]], widths: Mapping[str, int], rests: Sequence[str], *,
    cap_hours: float, minutes_a_day: float, rng: np.random.Generator,
) -> tuple[Slot, ...]:
    """Give each way half of every day's minutes and one reed a day.

    A way of width 1 plays one reed every day until the cap, then the next. A wider one plays a group of
    so many reeds in turn, one a day, until all are at the cap, then the next group. Which of the two
    reeds comes first in a day is shuffled. A reed that wears out sooner leaves, and the next moves up.

    Parameters
    ----------
    reeds : mapping of habit to its reeds, in the order in which they are to be played
    widths : mapping of habit to reeds in turn
    rests : habits that must leave a day free rather than play a reed two days running
    """
    plays = plays_to_cap(cap_hours, minutes_a_day / 2)
    tracks = [_track(r, widths[h], h in rests, plays) for h, r in reeds.items()]
    out: list[Slot] = []
    for day in range(1, max(map(len, tracks)) + 1):
        today = [r for t in tracks if day <= len(t) and (r := t[day - 1]) is not None]
        rng.shuffle(today)
        out += [Slot(day, i + 1, r) for i, r in enumerate(today)]
    return tuple(out)


def limit_slots(
    limited: Sequence[str], free: Sequence[str], *, limit_min: float, cap_hours: float, minutes_a_day: float,
    rng: np.random.Generator,
) -> tuple[Slot, ...]:
    """Give the ways days of their own, two by two, a coin saying which comes first.

    On a day with the limit, as many reeds as the minutes need are played for `limit_min` each; on a day
    without, one reed for all the minutes. Reeds of a group take turns, so that those of both ways get the
    same hours over the same weeks.
    """
    a_day = max(2, round(minutes_a_day / limit_min))
    short = _limited_days(limited, a_day, plays_to_cap(cap_hours, limit_min))
    long: list[list[str]] = []
    for group in _groups(free, a_day):
        long += [[r] for r in group] * plays_to_cap(cap_hours, minutes_a_day)
    out: list[Slot] = []
    day = 0
    for k in range(max(len(short), len(long))):
        pair = [x[k] for x in (short, long) if k < len(x)]
        rng.shuffle(pair)
        for today in pair:
            day += 1
            order = list(today)
            rng.shuffle(order)
            out += [Slot(day, i + 1, r) for i, r in enumerate(order)]
    return tuple(out)


def _limited_days(reeds: Sequence[str], a_day: int, plays: int) -> list[list[str]]:
    """Return the reeds of each day: at most `a_day`, fewest plays first, in order of the groups."""
    left = dict.fromkeys(reeds, plays)
    days = []
    while left:
        today = list(left)[:a_day]
        days.append(today)
        for r in today:
            left[r] -= 1
            if left[r] == 0:
                del left[r]
    return days


def plays_to_cap(cap_hours: float, minutes: float) -> int:
    """Return how many plays of so many minutes reach the cap."""
    return max(1, math.ceil(cap_hours * 60 / minutes - 1e-9))


def days_needed(reeds: int, cap_hours: float, minutes_a_day: float) -> int:
    """Return the fewest days in which so many reeds can all reach the cap."""
    return math.ceil(reeds * cap_hours * 60 / minutes_a_day - 1e-9)
