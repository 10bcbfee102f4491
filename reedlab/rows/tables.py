"""Rows of the logbook's tables as frames, and what is shown of their values.

Frames of a table have its columns in the order of `TABLES`, with the types of `typed`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final

import numpy as np
import pandas as pd

from ..errors import EntryRefused
from ..wording import tr
from .records import INSTRUMENTS, PLACES, RETIRE_REASONS, TABLES, WEEKDAYS, Field, Table
from .values import read_rows

__all__ = ["CHOICE_WORDS", "INSTRUMENTS", "PLACES", "RATING_WORDS", "RETIRE_REASONS", "TABLES", "WEEKDAYS", "Field",
           "Frames", "Table", "empty", "typed", "typed_columns"]

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
        rows, faults = read_rows(tables)
        if faults:
            raise EntryRefused(faults)
        return cls.trusted(**rows)

    @classmethod
    def trusted(cls, **tables: Iterable[Mapping[str, Any]] | pd.DataFrame) -> Frames:
        """Build from rows or frames whose values were checked before; KeyError for a table not known."""
        unknown = set(tables) - set(TABLES)
        if unknown:
            raise KeyError(f"no such table: {', '.join(sorted(unknown))}")
        return cls(**{name: typed(name, tables.get(name, [])) for name in TABLES})
