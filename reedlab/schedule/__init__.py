"""What to play on the coming days, so that a trial fits inside normal playing."""

from __future__ import annotations

from .days import KINDS, Line, PlayDay, Schedule, Unmet
from .make import schedule, what_to_play
from .usual import Concert, Usual

__all__ = ["KINDS", "Concert", "Line", "PlayDay", "Schedule", "Unmet", "Usual", "schedule", "what_to_play"]
