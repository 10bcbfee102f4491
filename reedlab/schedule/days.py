"""A schedule as data: days, their lines, and what could not be had."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Final

__all__ = ["KINDS", "Line", "PlayDay", "Schedule", "Unmet"]

#: slot: the trial's rating slot. play: minutes the trial needs, rated too. break_in: the first days of a
#: reed, before the trial or for a concert. concert: one of its reeds. free: a suggestion for the rest of the
#: day, never owed. rest: a reed left alone this day.
KINDS: Final = ("slot", "play", "break_in", "concert", "free", "rest")


@dataclass(frozen=True)
class Line:
    """One reed on one day.

    Attributes
    ----------
    order : int or None
        Place in the day, 1 first; None where it does not matter (rest, concert, free).
    reed : str
    minutes : float
        Minutes to play; 0 for a rest and for a spare.
    habit : str or None
        Key of the habit dealt to it; None where the trial deals none.
    kind : str
        One of `KINDS`.
    rate : bool
        The trial asks for a rating.
    done : bool
        Already in the logbook (today only).
    """

    order: int | None
    reed: str
    minutes: float
    habit: str | None
    kind: str
    rate: bool = False
    done: bool = False


@dataclass(frozen=True)
class Unmet:
    """One thing the schedule cannot satisfy, and why, in a plain sentence. `code` is for tests and pages."""

    code: str
    text: str
    day: date | None = None
    reeds: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlayDay:
    """What to play on one date.

    `state` is "waiting" (the trial has not begun), "on", "day_off", "paused" or "over"; `number` the trial day,
    None when there is none. `unmet` says what could not be had on this day; `said` what else the trial asks on it.
    """

    on: date
    state: str
    number: int | None
    lines: tuple[Line, ...] = ()
    unmet: tuple[Unmet, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def owed(self) -> tuple[Line, ...]:
        """The lines the trial asks for, in the order to play them."""
        return tuple(x for x in self.lines if x.kind in ("slot", "play"))

    def line(self, reed: str) -> Line | None:
        """Return the first line of a reed, or None."""
        return next((x for x in self.lines if x.reed == reed), None)


@dataclass(frozen=True)
class Schedule:
    """The coming days of one trial, from today to its end or as far as was asked.

    `concerts` names the reeds kept for each concert date. `unmet` holds everything that could not be had, those of
    single days included. `minutes` are playing minutes by habit up to the last day of the schedule: kept for the
    balance, never to be shown while the trial runs.
    """

    trial: str
    days: tuple[PlayDay, ...]
    unmet: tuple[Unmet, ...]
    concerts: Mapping[date, tuple[str, ...]]
    minutes: Mapping[str, float] = field(repr=False)

    def day(self, on: date) -> PlayDay | None:
        """Return one date's plan, or None where the schedule does not reach it."""
        return next((d for d in self.days if d.on == on), None)
