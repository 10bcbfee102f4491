"""Days off on which a day-by-day trial would lose its ratings: pausing it then moves the rest along."""

from __future__ import annotations

from datetime import date, timedelta

from ..rows.tables import Frames
from ..trial.calendar import paused_days
from ..trial.protocol import Protocol
from .usual import usual_from

__all__ = ["days_off_to_pause"]

_MOST = 120  # a trial of so many days off is not going to be saved by pausing


def days_off_to_pause(protocol: Protocol, frames: Frames, today: date) -> list[date]:
    """Return the days off from today on, up to the trial's last day, on which its ratings would be lost.

    Each is counted as paused for those after it, so that the last day moves along. Only a trial whose ratings
    belong to their days can lose any; elsewhere a missed turn is made up. A day with an entry is left alone.
    """
    numbers = {d for u in protocol.units for _, d in u.cells}
    if not numbers:
        return []
    usual = usual_from(frames)
    paused = paused_days(frames)
    played = set(frames.sittings["date"].dt.date)
    out: list[date] = []
    on, number = protocol.start, 1  # the trial day that `on` is, unless it is paused
    while number <= protocol.days:
        if on in paused:
            pass
        elif on >= today and usual.off(on) and on not in played and number in numbers:
            out.append(on)
            if len(out) > _MOST:
                return []
        else:
            number += 1
        on += timedelta(days=1)
    return out
