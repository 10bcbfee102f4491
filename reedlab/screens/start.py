"""What the start page shows, as plain data: one thing to do now, told from where the player is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from ..rows.tables import Frames
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..wording import spoken_date
from .due import running
from .today import Line, Today, today

__all__ = ["Start", "start"]


@dataclass(frozen=True)
class Start:
    """Where the player is.

    `state` is "new" (no reeds yet), "trial" (one runs), "first_play" (new reeds wait), "ended" (a trial has an
    answer) or "between" (reeds, and no trial yet). `lines` are the reeds of the trials due today, `first` those that
    get their first play today, and `waiting` all that wait for it. `answer` is the trial that ended last. `held`
    counts boxes, reeds and entries.
    """

    state: str
    heading: str
    trials: tuple[str, ...]
    lines: tuple[Line, ...]
    first: tuple[str, ...]
    waiting: int
    answer: str | None
    held: tuple[int, int, int]


def start(frames: Frames, protocols: Mapping[str, Protocol], on: date, *, first: Sequence[str] = (),
          waiting: int = 0) -> Start:
    """Return where the player is.

    Parameters
    ----------
    frames : Frames
        All current rows of the logbook.
    protocols : mapping
        The plan of every trial by name, in the order they were started.
    on : date
    first : sequence of str
        The reeds that get their first play on that day, in order.
    waiting : int
        How many reeds wait for their first play, those included.
    """
    days = running(protocols, frames, on)
    ended = [p for p in protocols.values()
             if (p.how_dealt != "not" or p.slots) and calendar_of(p, frames).over(on)]
    last = max(ended, key=lambda p: calendar_of(p, frames).last_held, default=None)
    page: Today | None = today(frames, protocols, on, days=days) if days else None
    if not len(frames.reeds):
        state = "new"
    elif days:
        state = "trial"
    elif waiting:
        state = "first_play"
    else:
        state = "ended" if last is not None else "between"
    return Start(state, spoken_date(on), page.trials if page else (), page.lines if page else (), tuple(first), waiting,
                 last.trial if last is not None else None,
                 (len(frames.boxes), len(frames.reeds), len(frames.sittings)))
