"""The tables of the logbook, described once: a frozen record for a row of each, and what its columns take.

The SQLite schema, the CSV folder and its `datapackage.json`, the spreadsheet, the forms and the import checks are all
made from `TABLES`, which is read off the records.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from types import MappingProxyType
from typing import Any, ClassVar, Final, dataclass_transform

from ..wording import tr

__all__ = ["INSTRUMENTS", "PLACES", "RETIRE_REASONS", "TABLES", "WEEKDAYS", "Box", "Concert", "Day", "Deal", "Field",
           "Guess", "Look", "Record", "Reed", "Retirement", "Setup", "Sitting", "Table", "Weekday"]

RETIRE_REASONS: Final = ("worn_out", "damaged", "mouldy", "lost", "given_away", "by_choice")
WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
PLACES: Final = ("practice", "rehearsal", "concert")
INSTRUMENTS: Final = (
    "clarinet", "bass clarinet", "soprano saxophone", "alto saxophone", "tenor saxophone",
    "baritone saxophone", "other",
)


@dataclass(frozen=True)
class Field:
    """One column: `kind` is text, date, int, float, bool or choice; `low`/`high` are inclusive."""

    name: str
    kind: str
    title: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    step: float | None = None
    refers: str | None = None  # "table.column" this value must exist in
    pattern: str | None = None  # full-match regular expression for text
    longest: int = 200  # characters of a text; what a plan holds has bounds of its own


@dataclass(frozen=True)
class Table:
    """One table: its fields, and the columns that together name a row (`key`)."""

    name: str
    title: str
    fields: tuple[Field, ...]
    key: tuple[str, ...]

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Column names in order."""
        return tuple(f.name for f in self.fields)

    def field(self, name: str) -> Field:
        """Return the field called `name`; KeyError if there is none."""
        for f in self.fields:
            if f.name == name:
                return f
        raise KeyError(name)


_TABLES: Final[dict[str, Table]] = {}
_KINDS: Final = {"str": "text", "date": "date", "int": "int", "float": "float", "bool": "bool"}


def _must(title: str, **more: Any) -> Any:
    """Describe a column that may not be empty: its title, and what else a `Field` says."""
    return dataclasses.field(metadata={"title": title, **more})


def _may(title: str, default: Any = None, **more: Any) -> Any:
    """Describe a column that may be empty."""
    return dataclasses.field(default=default, metadata={"title": title, **more})


def _tick(title: str) -> Any:
    """Describe a column that is ticked or not."""
    return _may(title, default=False)


def _remark() -> Any:
    return _may(tr("Remark, in your own words"), longest=2000)


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(_must,))
class _Row:
    """A row of a table as a frozen record; what the class says of its columns is the table."""

    table: ClassVar[str]

    def __init_subclass__(cls, *, table: str, title: str, key: tuple[str, ...]) -> None:
        cls.table = table
        record: Any = dataclass(frozen=True, kw_only=True)(cls)
        _TABLES[table] = Table(table, title, tuple(map(_field, dataclasses.fields(record))), key)


def _field(column: dataclasses.Field[Any]) -> Field:
    kind = "choice" if "choices" in column.metadata else _KINDS[str(column.type).removesuffix(" | None")]
    return Field(column.name, kind, required=column.default is dataclasses.MISSING, **column.metadata)


_REED: Final = tr("Reed, as box-number: 2-07")
_DATE: Final = tr("Date, as 2026-03-01")
_SHORT: Final = r"[^\s,;]{1,24}"
_POINTS: Final[dict[str, float]] = {"low": 0, "high": 10, "step": 0.5}
_STIFFNESS: Final[dict[str, float]] = {"low": -3, "high": 3, "step": 0.5}


class Box(_Row, table="boxes", title=tr("Boxes of reeds"), key=("box",)):
    """One box of reeds."""

    box: str = _must(tr("Box, a short number or name without a dash"), pattern=r"[^\s\-,;]{1,12}")
    instrument: str = _must(tr("Instrument"), choices=INSTRUMENTS)
    cut: str | None = _may(tr("Cut, as printed on the box"))
    strength: str | None = _may(tr("Strength, as printed on the box"))
    opened: date | None = _may(tr("Day the box was opened"))
    price: float | None = _may(tr("Price of the box, in your own money"), low=0, high=100000)
    remark: str | None = _remark()


class Setup(_Row, table="setups", title=tr("Mouthpiece and ligature"), key=("setup",)):
    """A mouthpiece with its ligature."""

    setup: str = _must(tr("Short name of the set-up"), pattern=_SHORT)
    instrument: str | None = _may(tr("Instrument"), choices=INSTRUMENTS)
    mouthpiece: str | None = _may(tr("Mouthpiece"))
    ligature: str | None = _may(tr("Ligature"))
    remark: str | None = _remark()


class Reed(_Row, table="reeds", title=tr("Reeds"), key=("reed",)):
    """One reed, with its first play."""

    reed: str = _must(_REED, pattern=r"[^\s\-,;]{1,12}-\d{1,3}")
    box: str = _must(tr("Box"), refers="boxes.box")
    first_play: float | None = _may(tr("First play: overall, 0 to 10"), **_POINTS)
    first_stiffness: float | None = _may(tr("First play: stiffness, -3 too soft, 0 just right, +3 too hard"),
                                         **_STIFFNESS)
    first_played: date | None = _may(tr("Day of the first play"))
    set_aside: bool = _tick(tr("Set aside (left out of dealing; can be taken back)"))
    worked_on: date | None = _may(tr("Sanded, scraped or clipped: since which day"))
    remark: str | None = _remark()


class Sitting(_Row, table="sittings", title=tr("Sittings: one reed played once"), key=("sitting",)):
    """One reed played once. `sitting` is made by the logbook when left None."""

    sitting: str | None = _may(tr("Name of this sitting (made for you)"), pattern=r"[^\s,;]{1,40}")
    date: date = _must(_DATE)
    reed: str = _must(_REED, refers="reeds.reed")
    setup: str | None = _may("Set-up", refers="setups.setup")
    order: int | None = _may(tr("Place in the day's order: 1 first"), low=1, high=50)
    play_min: float = _must(tr("Minutes played"), low=0, high=720)
    overall: float | None = _may(tr("Overall, 0 to 10"), **_POINTS)
    response: float | None = _may(tr("Response, 0 to 10"), **_POINTS)
    tone: float | None = _may(tr("Tone, 0 to 10"), **_POINTS)
    stiffness: float | None = _may(tr("Stiffness, -3 too soft, 0 just right, +3 too hard"), **_STIFFNESS)
    preference: float | None = _may(tr("Back to back: points the first go was ahead; below 0, the second"),
                                    low=-5, high=5, step=0.5)
    position: str | None = _may(tr("Place of the reed on the mouthpiece"))
    habit: str | None = _may(tr("Habit really used"), pattern=_SHORT)
    waterlogged: bool = _tick(tr("Tip looked dark and see-through"))
    where: str | None = _may(tr("Where"), choices=PLACES)
    from_memory: bool = _tick(tr("Written down later, from memory"))
    unsure_reed: bool = _tick(tr("Not sure which reed it was"))
    confirmed: bool = _tick(tr("Odd, but so it was: confirmed"))
    remark: str | None = _remark()


class Day(_Row, table="days", title=tr("Days"), key=("date",)):
    """One day: the room's air, day off, pause."""

    date: date = _must(_DATE)
    humidity_pct: float | None = _may(tr("Humidity of the room, %"), low=0, high=100)
    temp_c: float | None = _may(tr("Temperature of the room, °C"), low=-20, high=50)
    day_off: bool = _tick(tr("Day off"))
    pause: bool = _tick(tr("The trial is paused this day (holiday, illness)"))
    remark: str | None = _remark()


class Retirement(_Row, table="retirements", title=tr("Reeds that left service"), key=("reed",)):
    """A reed left service."""

    reed: str = _must(_REED, refers="reeds.reed")
    date: date = _must(_DATE)
    reason: str = _must(tr("Why"), choices=RETIRE_REASONS)
    remark: str | None = _remark()


class _Trial(_Row, table="trials", title=tr("Trials"), key=("trial",)):
    """A trial with its frozen plan. None is added as a record: `Logbook.start_trial` writes it down."""

    trial: str = _must(tr("Name of the trial"), pattern=r"[^\t\n]{1,60}")
    started: date = _must(tr("First day"))
    ended: date | None = _may(tr("Day it was ended by hand"))
    ended_why: str | None = _may(tr("Why it was ended"), longest=1000)
    protocol_sha256: str = _must(tr("Fingerprint of the plan"), pattern=r"[0-9a-f]{64}")
    protocol: str = _must(tr("The frozen plan, as JSON"))


class Look(_Row, table="looks", title=tr("Early looks at a running trial"), key=("trial", "date")):
    """An early look at a running trial."""

    trial: str = _must(tr("Trial"), refers="trials.trial")
    date: date = _must(_DATE)
    why: str = _must(tr("Why it was opened early"), longest=1000)


class Weekday(_Row, table="week", title=tr("The usual week"), key=("weekday",)):
    """The player's usual minutes on one weekday; 0 is a day off."""

    weekday: str = _must(tr("Weekday"), choices=WEEKDAYS)
    play_min: float = _must(tr("Minutes you usually play; 0 is a day off"), low=0, high=720)
    remark: str | None = _remark()


class Concert(_Row, table="concerts", title=tr("Concerts"), key=("date",)):
    """A concert on a day, to come or past."""

    date: date = _must(_DATE)
    play_min: float | None = _may(tr("Minutes you will play"), low=0, high=720)
    remark: str | None = _remark()


class Guess(_Row, table="guesses", title=tr("What the player took it for, before the answer"), key=("trial", "unit")):
    """What the player took one unit of a masked trial for, before the answer. No habit: don't know."""

    trial: str = _must(tr("Trial"), refers="trials.trial")
    unit: str = _must(tr("What was shuffled, as the plan names it"))
    habit: str | None = _may(tr("The habit guessed; empty is don't know"), pattern=_SHORT)
    date: date = _must(_DATE)


class Deal(_Row, table="deals", title=tr("Reeds dealt in a standing trial, box by box"), key=("trial", "reed")):
    """One reed of a box dealt in a standing trial: which box of the trial, its place, its matched set, its way."""

    trial: str = _must(tr("Trial"), refers="trials.trial")
    number: int = _must(tr("Which box of the trial: 1 first"), low=1, high=1000)
    place: int = _must(tr("Place in the box by first play: 1 best"), low=1, high=1000)
    reed: str = _must(_REED, refers="reeds.reed")
    matched_set: str = _must(tr("Matched set"), pattern=r"[0-9]{1,4}(\.[0-9]{1,3})?")
    habit: str = _must(tr("The habit dealt to it"), pattern=_SHORT)
    date: date = _must(_DATE)


Record = Box | Setup | Reed | Sitting | Day | Retirement | Look | Weekday | Concert | Guess | Deal
TABLES: Final = MappingProxyType(_TABLES)
