"""The tables of the logbook, described once.

The SQLite schema, the CSV folder and its `datapackage.json`, the spreadsheet, the forms and the
import checks are all made from `TABLES`. Frames of a table have its columns in this order, with the
types of `typed`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import pandas as pd

from ..wording import tr

__all__ = ["CHOICE_WORDS", "TABLES", "Field", "Frames", "Table", "empty", "typed", "typed_columns"]

RETIRE_REASONS: Final = ("worn_out", "damaged", "mouldy", "lost", "given_away", "by_choice")
WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
PLACES: Final = ("practice", "rehearsal", "concert")
INSTRUMENTS: Final = (
    "clarinet", "bass clarinet", "soprano saxophone", "alto saxophone", "tenor saxophone",
    "baritone saxophone", "other",
)
#: What is shown of a value that is chosen; the value itself stands in the logbook whatever the language.
CHOICE_WORDS: Final = {
    "clarinet": tr("Clarinet"), "bass clarinet": tr("Bass clarinet"), "soprano saxophone": tr("Soprano saxophone"),
    "alto saxophone": tr("Alto saxophone"), "tenor saxophone": tr("Tenor saxophone"),
    "baritone saxophone": tr("Baritone saxophone"), "other": tr("Other"),
    "practice": tr("Practice"), "rehearsal": tr("Rehearsal"), "concert": tr("Concert"),
    "monday": tr("Monday"), "tuesday": tr("Tuesday"), "wednesday": tr("Wednesday"), "thursday": tr("Thursday"),
    "friday": tr("Friday"), "saturday": tr("Saturday"), "sunday": tr("Sunday"),
    "worn_out": tr("Worn out"), "damaged": tr("Chipped or cracked"), "mouldy": tr("Mouldy"), "lost": tr("Lost"),
    "given_away": tr("Given away"), "by_choice": tr("Still fine; my choice"),
}
#: Short names of what a player rates.
RATING_WORDS: Final = {"overall": tr("Overall"), "response": tr("Response"), "tone": tr("Tone"),
                       "stiffness": tr("Stiffness")}


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


def _text(name: str, title: str, **more: Any) -> Field:
    return Field(name, "text", title, **more)


_REMARK = _text("remark", tr("Remark, in your own words"), longest=2000)
_REED = _text("reed", tr("Reed, as box-number: 2-07"), required=True, refers="reeds.reed")
_DATE = Field("date", "date", tr("Date, as 2026-03-01"), required=True)

_TABLES = (
    Table("boxes", tr("Boxes of reeds"), (
            _text("box", tr("Box, a short number or name without a dash"), required=True, pattern=r"[^\s\-,;]{1,12}"),
            Field("instrument", "choice", tr("Instrument"), required=True, choices=INSTRUMENTS),
            _text("cut", tr("Cut, as printed on the box")),
            _text("strength", tr("Strength, as printed on the box")),
            Field("opened", "date", tr("Day the box was opened")),
            Field("price", "float", tr("Price of the box, in your own money"), low=0, high=100000),
            _REMARK,
        ), ("box",)),
    Table("setups", tr("Mouthpiece and ligature"), (
            _text("setup", tr("Short name of the set-up"), required=True, pattern=r"[^\s,;]{1,24}"),
            Field("instrument", "choice", tr("Instrument"), choices=INSTRUMENTS),
            _text("mouthpiece", tr("Mouthpiece")),
            _text("ligature", tr("Ligature")),
            _REMARK,
        ), ("setup",)),
    Table("reeds", tr("Reeds"), (
            _text("reed", tr("Reed, as box-number: 2-07"), required=True, pattern=r"[^\s\-,;]{1,12}-\d{1,3}"),
            _text("box", tr("Box"), required=True, refers="boxes.box"),
            Field("first_play", "float", tr("First play: overall, 0 to 10"), low=0, high=10, step=0.5),
            Field("first_stiffness", "float", tr("First play: stiffness, -3 too soft, 0 just right, +3 too hard"),
                  low=-3, high=3, step=0.5),
            Field("first_played", "date", tr("Day of the first play")),
            Field("set_aside", "bool", tr("Set aside (left out of dealing; can be taken back)")),
            Field("worked_on", "date", tr("Sanded, scraped or clipped: since which day")),
            _REMARK,
        ), ("reed",)),
    Table("sittings", tr("Sittings: one reed played once"), (
            _text("sitting", tr("Name of this sitting (made for you)"), pattern=r"[^\s,;]{1,40}"),
            _DATE,
            _REED,
            _text("setup", "Set-up", refers="setups.setup"),
            Field("order", "int", tr("Place in the day's order: 1 first"), low=1, high=50),
            Field("play_min", "float", tr("Minutes played"), required=True, low=0, high=720),
            Field("overall", "float", tr("Overall, 0 to 10"), low=0, high=10, step=0.5),
            Field("response", "float", tr("Response, 0 to 10"), low=0, high=10, step=0.5),
            Field("tone", "float", tr("Tone, 0 to 10"), low=0, high=10, step=0.5),
            Field("stiffness", "float", tr("Stiffness, -3 too soft, 0 just right, +3 too hard"), low=-3, high=3,
                  step=0.5),
            Field("preference", "float", tr("Back to back: points the first go was ahead; below 0, the second"),
                  low=-5, high=5, step=0.5),
            _text("position", tr("Place of the reed on the mouthpiece")),
            _text("habit", tr("Habit really used"), pattern=r"[^\s,;]{1,24}"),
            Field("waterlogged", "bool", tr("Tip looked dark and see-through")),
            Field("where", "choice", tr("Where"), choices=PLACES),
            Field("from_memory", "bool", tr("Written down later, from memory")),
            Field("unsure_reed", "bool", tr("Not sure which reed it was")),
            Field("confirmed", "bool", tr("Odd, but so it was: confirmed")),
            _REMARK,
        ), ("sitting",)),
    Table("days", tr("Days"), (
            _DATE,
            Field("humidity_pct", "float", tr("Humidity of the room, %"), low=0, high=100),
            Field("temp_c", "float", tr("Temperature of the room, °C"), low=-20, high=50),
            Field("day_off", "bool", tr("Day off")),
            Field("pause", "bool", tr("The trial is paused this day (holiday, illness)")),
            _REMARK,
        ), ("date",)),
    Table("retirements", tr("Reeds that left service"), (
            _REED,
            _DATE,
            Field("reason", "choice", tr("Why"), required=True, choices=RETIRE_REASONS),
            _REMARK,
        ), ("reed",)),
    Table("trials", tr("Trials"), (
            _text("trial", tr("Name of the trial"), required=True, pattern=r"[^\t\n]{1,60}"),
            Field("started", "date", tr("First day"), required=True),
            Field("ended", "date", tr("Day it was ended by hand")),
            _text("ended_why", tr("Why it was ended"), longest=1000),
            _text("protocol_sha256", tr("Fingerprint of the plan"), required=True, pattern=r"[0-9a-f]{64}"),
            _text("protocol", tr("The frozen plan, as JSON"), required=True),
        ), ("trial",)),
    Table("looks", tr("Early looks at a running trial"), (
            _text("trial", tr("Trial"), required=True, refers="trials.trial"),
            _DATE,
            _text("why", tr("Why it was opened early"), required=True, longest=1000),
        ), ("trial", "date")),
    Table("week", tr("The usual week"), (
            Field("weekday", "choice", tr("Weekday"), required=True, choices=WEEKDAYS),
            Field("play_min", "float", tr("Minutes you usually play; 0 is a day off"), required=True, low=0, high=720),
            _REMARK,
        ), ("weekday",)),
    Table("concerts", tr("Concerts"), (
            _DATE,
            Field("play_min", "float", tr("Minutes you will play"), low=0, high=720),
            _REMARK,
        ), ("date",)),
    Table("guesses", tr("What the player took it for, before the answer"), (
            _text("trial", tr("Trial"), required=True, refers="trials.trial"),
            _text("unit", tr("What was shuffled, as the plan names it"), required=True),
            _text("habit", tr("The habit guessed; empty is don't know"), pattern=r"[^\s,;]{1,24}"),
            _DATE,
        ), ("trial", "unit")),
    Table("deals", tr("Reeds dealt in a standing trial, box by box"), (
            _text("trial", tr("Trial"), required=True, refers="trials.trial"),
            Field("number", "int", tr("Which box of the trial: 1 first"), required=True, low=1, high=1000),
            Field("place", "int", tr("Place in the box by first play: 1 best"), required=True, low=1, high=1000),
            _REED,
            _text("matched_set", tr("Matched set"), required=True, pattern=r"[0-9]{1,4}(\.[0-9]{1,3})?"),
            _text("habit", tr("The habit dealt to it"), required=True, pattern=r"[^\s,;]{1,24}"),
            _DATE,
        ), ("trial", "reed")),
)
TABLES: Final = MappingProxyType({t.name: t for t in _TABLES})

_DTYPE: Final[dict[str, Any]] = {"date": "datetime64[ns]", "int": "Int64", "float": "float64", "bool": "bool"}


def typed(table: str, rows: Iterable[Mapping[str, Any]] | pd.DataFrame) -> pd.DataFrame:
    """Return `rows` as a frame with the table's columns and types (further columns are kept, at the end).

    Types: date ``datetime64[ns]``; int ``Int64``; float ``float64``; bool ``bool`` (missing is False);
    text and choice ``object`` holding `str` or None. Missing columns are filled as missing.
    Values are trusted here: the checks live in `reedlab.rows.values`.
    """
    frame = rows if isinstance(rows, pd.DataFrame) else pd.DataFrame(list(rows))
    if frame.empty and not len(frame.columns):
        return _no_rows(table).copy()
    return typed_columns(table, dict(frame.reset_index(drop=True).items()), len(frame))


def typed_columns(table: str, columns: Mapping[str, Any], rows: int) -> pd.DataFrame:
    """Return columns of so many values each, by name, as `typed` returns rows."""
    none = np.full(rows, None, dtype=object)
    held = {f.name: _column(f.kind, columns.get(f.name, none)) for f in TABLES[table].fields}
    more = {c: pd.Series(values, dtype=values.dtype, copy=True) for c, values in columns.items() if c not in held}
    return pd.DataFrame({**held, **more}, index=pd.RangeIndex(rows))


def _column(kind: str, column: Any) -> Any:
    """Return the values of a column in its type. Arrays throughout, for frames are read with every Save."""
    values = np.asarray(column)
    if kind in ("text", "choice"):
        said = values.astype(object)  # a copy
        said[pd.isna(said)] = None
        return pd.Series(said, dtype=object)
    if kind == "bool":
        return np.where(pd.isna(values), False, values).astype(bool)
    if kind == "date":
        return pd.to_datetime(values).to_numpy("datetime64[ns]")
    return pd.array(pd.to_numeric(values), dtype=_DTYPE[kind]) if kind == "int" else pd.to_numeric(values).astype(float)


@cache
def _no_rows(table: str) -> pd.DataFrame:
    fields = TABLES[table].fields
    return pd.DataFrame({f.name: pd.Series([], dtype=_DTYPE.get(f.kind, object)) for f in fields})


def empty(table: str) -> pd.DataFrame:
    """Return the table's frame without rows."""
    return _no_rows(table).copy()


@dataclass(frozen=True)
class Frames:
    """All current rows of a logbook as typed frames: what the analysis reads."""

    boxes: pd.DataFrame
    setups: pd.DataFrame
    reeds: pd.DataFrame
    sittings: pd.DataFrame
    days: pd.DataFrame
    retirements: pd.DataFrame
    trials: pd.DataFrame
    looks: pd.DataFrame
    week: pd.DataFrame = field(default_factory=lambda: empty("week"))
    concerts: pd.DataFrame = field(default_factory=lambda: empty("concerts"))
    guesses: pd.DataFrame = field(default_factory=lambda: empty("guesses"))
    deals: pd.DataFrame = field(default_factory=lambda: empty("deals"))

    @classmethod
    def of(cls, **tables: Iterable[Mapping[str, Any]] | pd.DataFrame) -> Frames:
        """Build from rows or frames by table name, every value checked; tables not named are empty.

        Text is read as in a file: dates as 2026-03-01, "yes" and "no" for what is ticked. Columns beyond the
        table's own are kept as they are.

        Raises
        ------
        EntryRefused
            With every value that cannot be, by table and row, counted from 1; and tables that are not known.

        Examples
        --------
        >>> frames = Frames.of(reeds=[{"reed": "2-07", "box": "2", "first_play": 6.5}])
        >>> float(frames.reeds["first_play"].iloc[0])
        6.5
        """
        from .values import read_rows

        return cls.trusted(**read_rows(tables))

    @classmethod
    def trusted(cls, **tables: Iterable[Mapping[str, Any]] | pd.DataFrame) -> Frames:
        """Build from rows or frames whose values were checked before; KeyError for a table not known."""
        unknown = set(tables) - set(TABLES)
        if unknown:
            raise KeyError(f"no such table: {', '.join(sorted(unknown))}")
        return cls(**{name: typed(name, tables.get(name, [])) for name in TABLES})
