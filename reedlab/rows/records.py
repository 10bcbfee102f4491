"""Frozen records, one per row of a logbook table. Field names and meanings are those of `tables.TABLES`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

__all__ = ["Box", "Concert", "Day", "Deal", "Guess", "Look", "Record", "Reed", "Retirement", "Setup", "Sitting",
           "Weekday"]


@dataclass(frozen=True, kw_only=True)
class Box:
    """One box of reeds."""

    table: ClassVar[str] = "boxes"
    box: str
    instrument: str
    cut: str | None = None
    strength: str | None = None
    opened: date | None = None
    price: float | None = None
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Setup:
    """A mouthpiece with its ligature."""

    table: ClassVar[str] = "setups"
    setup: str
    instrument: str | None = None
    mouthpiece: str | None = None
    ligature: str | None = None
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Reed:
    """One reed, with its first play."""

    table: ClassVar[str] = "reeds"
    reed: str
    box: str
    first_play: float | None = None
    first_stiffness: float | None = None
    first_played: date | None = None
    set_aside: bool = False
    worked_on: date | None = None
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """One reed played once. `sitting` is made by the logbook when left None."""

    table: ClassVar[str] = "sittings"
    sitting: str | None = None
    date: date
    reed: str
    setup: str | None = None
    order: int | None = None
    play_min: float
    overall: float | None = None
    response: float | None = None
    tone: float | None = None
    stiffness: float | None = None
    preference: float | None = None
    position: str | None = None
    habit: str | None = None
    waterlogged: bool = False
    where: str | None = None
    from_memory: bool = False
    unsure_reed: bool = False
    confirmed: bool = False
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Day:
    """One day: the room's air, day off, pause."""

    table: ClassVar[str] = "days"
    date: date
    humidity_pct: float | None = None
    temp_c: float | None = None
    day_off: bool = False
    pause: bool = False
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Retirement:
    """A reed left service."""

    table: ClassVar[str] = "retirements"
    reed: str
    date: date
    reason: str
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Look:
    """An early look at a running trial."""

    table: ClassVar[str] = "looks"
    trial: str
    date: date
    why: str


@dataclass(frozen=True, kw_only=True)
class Weekday:
    """The player's usual minutes on one weekday; 0 is a day off."""

    table: ClassVar[str] = "week"
    weekday: str
    play_min: float
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Concert:
    """A concert on a day, to come or past."""

    table: ClassVar[str] = "concerts"
    date: date
    play_min: float | None = None
    remark: str | None = None


@dataclass(frozen=True, kw_only=True)
class Guess:
    """What the player took one unit of a masked trial for, before the answer. No habit: don't know."""

    table: ClassVar[str] = "guesses"
    trial: str
    unit: str
    habit: str | None = None
    date: date


@dataclass(frozen=True, kw_only=True)
class Deal:
    """One reed of a box dealt in a standing trial: which box of the trial, its place, its matched set, its way."""

    table: ClassVar[str] = "deals"
    trial: str
    number: int
    place: int
    reed: str
    matched_set: str
    habit: str
    date: date


Record = Box | Setup | Reed | Sitting | Day | Retirement | Look | Weekday | Concert | Guess | Deal
