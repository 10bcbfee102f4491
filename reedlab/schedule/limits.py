"""The usual limits of a reed, and what the habit under test puts in their place."""

from __future__ import annotations

from ..trial.practice import RAMP, value
from ..trial.protocol import Protocol

__all__ = ["SLOT", "daily_limit", "hours_matter", "own_value", "ramp", "rest_of", "width_of"]

#: Minutes of one rating slot.
SLOT = value("slot_min")


def own_value(protocol: Protocol, habit: str | None, name: str) -> float | None:
    """Return what a habit puts in the place of a default, or None where it leaves it alone."""
    for key, what, number in protocol.overrides:
        if key == habit and what == name:
            return number
    return None


def daily_limit(protocol: Protocol, habit: str | None) -> float:
    """Return the most minutes a day of a reed dealt this habit (None: of any other reed)."""
    own = own_value(protocol, habit, "daily_limit_min")
    return value("daily_limit_min") if own is None else own


def ramp(protocol: Protocol, habit: str | None) -> tuple[float, ...]:
    """Return the most minutes on the first days of play of a reed of the trial; () where there is no ramp.

    Unless reeds start new, they were broken in before the first day. A habit may set its own first day;
    0 means no ramp.
    """
    if not protocol.from_new or own_value(protocol, habit, "break_in_ramp_min") is not None:
        return ()
    return RAMP


def rest_of(protocol: Protocol, habit: str | None, usual: int) -> int:
    """Return the days of rest after each day of play."""
    own = own_value(protocol, habit, "rest_days")
    return usual if own is None else int(own)


def width_of(protocol: Protocol, habit: str) -> int:
    """Return how many reeds of a habit take turns."""
    turn = own_value(protocol, habit, "rotation_size") or 1
    return max(1, int(turn), rest_of(protocol, habit, 0) + 1)


def hours_matter(protocol: Protocol) -> bool:
    """Say whether the day's minutes belong to the trial: wear, life, or a habit that sets the hours."""
    return not protocol.same_days or protocol.card.hours_matter
