"""Reeds of the trial that are named for a concert must be broken in by then: tried out on the days ahead."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from .concerts import Kept, days_to_break_in, keep_for_concerts
from .diary import Diary
from .own_ways import OwnWays
from .planner import Planner
from .trials_share import Share
from .usual import Usual

__all__ = ["kept_and_ready"]


def kept_and_ready(diary: Diary, usual: Usual, ways: OwnWays | None, today: date, share: Share) -> Kept:
    """Name the reeds for each concert, so that the days as they will be planned break them in in time.

    How often a reed will have played by a date depends on days off and on what is made up when, so the days are
    planned ahead with the reeds named; one that would not be ready is passed over, and the choice made again.
    Counting the plan's days instead would name another reed as soon as a missed day is made up.
    """
    unready: dict[date, set[str]] = {}
    while True:
        kept = keep_for_concerts(diary, usual, ways, today, share.concerts, unready)
        late = _first_late(diary, usual, ways, kept, today, share)
        if late is None:
            return kept
        unready.setdefault(late[0], set()).update(late[1])


def _first_late(diary: Diary, usual: Usual, ways: OwnWays | None, kept: Kept,
                today: date, share: Share) -> tuple[date, set[str]] | None:
    """Return the first concert for which reeds of the trial will not be broken in, and those reeds."""
    own = {on: [(r, n) for r in reeds if r in diary.protocol.reeds
                and diary.play_days(r, today) < (n := days_to_break_in(diary.protocol, usual, on))]
           for on, reeds in kept.reeds.items()}
    plan: Planner | None = None
    day = today
    for on in sorted(d for d, reeds in own.items() if reeds):
        plan = plan or Planner(diary.branch(), usual, replace(kept, unmet=[]), ways, today, share)
        while day < on:
            plan.plan(day)
            day += timedelta(days=1)
        late = {r for r, n in own[on] if plan.diary.play_days(r, on) < n}
        if late:
            return on, late
    return None
