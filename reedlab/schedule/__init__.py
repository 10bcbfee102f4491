"""What to play on the coming days, so that a trial fits inside normal playing."""

from __future__ import annotations

from .days import KINDS, Line, PlayDay, Schedule, Unmet
from .make import running_schedules, schedule, what_to_play
from .usual import (
    CONCERT_MIN,
    Concert,
    Usual,
    Wishes,
    coming_concerts,
    minutes_a_day,
    stored_week,
    usual_from,
    week_unsaid,
)

__all__ = [
    "CONCERT_MIN", "KINDS", "Concert", "Line", "PlayDay", "Schedule", "Unmet", "Usual", "Wishes",
    "coming_concerts", "minutes_a_day", "running_schedules", "schedule", "stored_week", "usual_from", "week_unsaid",
    "what_to_play",
]
