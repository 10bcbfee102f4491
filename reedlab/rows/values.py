"""What a single value and a single row must look like, read off `tables.TABLES`.

Pure: no file, no clock. The store, the import and the forms all ask here, so that they agree.
Checks between rows live in `reedlab.logbook.between`.
"""

from __future__ import annotations

import difflib
import math
import numbers
import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import cache
from typing import Any, Final, NamedTuple

import pandas as pd

from ..errors import Fault
from ..wording import tr
from .records import TABLES, Field

__all__ = ["YEARS", "ValueFault", "as_it_stands", "as_json", "nearest", "part_of_a_day", "plain",
           "read_fields", "read_row", "read_rows", "read_value", "shown", "wanted"]

#: The years that a day may lie in.
YEARS: Final = (1950, 2150)
_ISO: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_NUMBER: Final = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
_COMMA: Final = re.compile(r"[+-]?[0-9]+,[0-9]+")
_BOOL: Final = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
#: Patterns in words, for the columns that have one.
_FORMS: Final = {
    "reed": tr("a reed code as box-number, such as 2-07"),
    "box": tr("a short box name without dash, space or comma, such as 2"),
    "setup": tr("a short name without space or comma, such as main"),
    "sitting": tr("a short name without space or comma"),
    "habit": tr("the short name of a habit, without space or comma"),
    "trial": tr("a name in one line, of 60 characters at most"),
    "protocol_sha256": tr("64 hex digits"),
}


class ValueFault(NamedTuple):
    """One bad value: the column, what was found there and what is wanted, both in plain words."""

    column: str
    found: str
    wanted: str


class _Bad(Exception):
    """Raised inside with the words for what is wanted."""


def shown(value: object) -> str:
    """Return a value as a message shows it: dates plain, numbers without a needless ``.0``, text quoted."""
    if _missing(value):
        return tr("nothing")
    if isinstance(value, bool):
        return tr("true") if value else tr("false")
    if isinstance(value, date):
        return value.isoformat()[:10]
    if isinstance(value, numbers.Real):
        try:
            return f"{float(value):.10g}"
        except OverflowError:
            return tr("a very large number")
    text = str(value)
    text = text if len(text) <= 40 else text[:37] + "..."
    return "'" + "".join(c if c.isprintable() else "?" for c in text) + "'"


def nearest(word: str, known: Iterable[str], asked: str = "") -> str:
    """Return `asked`, usually ``"; did you mean 'x'?"``, about the closest known name, or an empty string."""
    by_fold = {k.casefold(): k for k in known}
    close = difflib.get_close_matches(word.strip().casefold(), list(by_fold), n=1, cutoff=0.6)
    return (asked or tr("; did you mean '{name}'?")).format(name=by_fold[close[0]]) if close else ""


def wanted(field: Field) -> str:
    """Return in words what a column takes."""
    if field.kind == "date":
        return tr("a date as 2026-03-01")
    if field.kind == "bool":
        return tr("true or false")
    if field.kind == "choice":
        return tr("one of {c}").format(c=", ".join(c.replace("_", " ") for c in field.choices))
    if field.kind in ("int", "float"):
        what = tr("a whole number") if field.kind == "int" else tr("a number")
        return tr("{what} from {low:g} to {high:g}").format(
                   what=what, low=field.low, high=field.high) if field.low is not None else what
    return _FORMS.get(field.name, tr("text"))


def read_value(field: Field, value: object) -> tuple[Any, str | None]:
    """Read one value as the column's kind.

    Parameters
    ----------
    field : Field
    value : object
        Text as typed, or an already typed value (NumPy and pandas scalars too).

    Returns
    -------
    value : str, date, int, float, bool or None
        None where missing (False for a bool) and where the value is at fault.
    wanted : str or None
        What is wanted instead, in words; None if all is well.
    """
    if isinstance(value, str):
        value = value.strip()
        empty = not value
    else:
        empty = _missing(value)
    if empty:
        if field.required:
            return None, tr("{wanted} (this may not be empty)").format(wanted=wanted(field))
        return (False if field.kind == "bool" else None), None
    try:
        return _READERS[field.kind](field, value), None
    except _Bad as bad:
        return None, str(bad)


def read_row(table: str, row: Mapping[str, Any]) -> tuple[dict[str, Any], list[ValueFault]]:
    """Read one row of a table: all its columns in order, and every fault found.

    Columns not in `row` count as missing; columns the table does not have are faults.
    """
    spec = TABLES[table]
    faults = [
        ValueFault(name, tr("a column that is not known"), tr("one of {columns}{nearest}").format(
                                                               columns=", ".join(spec.columns),
                                                               nearest=nearest(name, spec.columns)))
        for name in row if name not in spec.columns
    ]
    values, bad = read_fields(spec.fields, row)
    return values, [*faults, *bad]


def read_fields(fields: Iterable[Field], row: Mapping[str, Any]) -> tuple[dict[str, Any], list[ValueFault]]:
    """Read some columns of a row, whatever else it has: their values by column, and every fault found."""
    out: dict[str, Any] = {}
    faults: list[ValueFault] = []
    for field in fields:
        raw = row.get(field.name)
        out[field.name], want = read_value(field, raw)
        if want is not None:
            faults.append(ValueFault(field.name, shown(raw.strip() if isinstance(raw, str) else raw)
                                     if raw != "" else tr("nothing"), want))
    return out, faults


def plain(value: Any) -> Any:
    """Return a cell of a frame as a record holds it: None where it is missing, a date without its time."""
    return None if pd.isna(value) else value.date() if isinstance(value, pd.Timestamp) else value


def as_json(value: Any) -> Any:
    """Return a cell of a frame as JSON has it: None where it is missing, a date as text, a number as Python's own."""
    found = plain(value)
    if isinstance(found, date):
        return found.isoformat()
    return found.item() if hasattr(found, "item") else found


def as_it_stands(table: str, frame: pd.DataFrame, **where: Any) -> dict[str, Any]:
    """Return the row of a table with this value in this column, by column, plain; empty where there is none."""
    ((name, value),) = where.items()
    here = frame[(frame[name].dt.date if isinstance(value, date) else frame[name]) == value]
    if not len(here):
        return {}
    row = here.iloc[0].to_dict()
    return {c: plain(row[c]) for c in TABLES[table].columns}


def part_of_a_day(minutes: float | None) -> float | None:
    """Return the minutes that a number stands for if it looks like a time kept as a part of a day, else None.

    0.03125 is 45 minutes. Up to a quarter of a day, and only where whole minutes come of it.
    """
    if minutes is None or not 0 < minutes < 0.25:
        return None
    meant = 1440 * minutes
    return round(meant) if abs(meant - round(meant)) < 1e-6 else None


def read_rows(tables: Mapping[str, Iterable[Mapping[str, Any]] | pd.DataFrame]) -> tuple[
        dict[str, list[dict[str, Any]]], list[Fault]]:
    """Read the rows of several tables, as a person who scripts hands them over, and tell every fault of every table.

    Further columns are kept as they are.
    """
    faults = [Fault(name, None, None, tr("a table that is not known"),
                    tr("one of {tables}{nearest}").format(tables=", ".join(TABLES), nearest=nearest(name, TABLES)))
              for name in tables if name not in TABLES]
    out: dict[str, list[dict[str, Any]]] = {}
    for name, given in tables.items():
        if name not in TABLES:
            continue
        known = TABLES[name].columns
        out[name] = []
        for n, row in enumerate(given.to_dict("records") if isinstance(given, pd.DataFrame) else given, start=1):
            read, bad = read_row(name, {c: v for c, v in row.items() if c in known})
            faults += [Fault(name, n, *fault) for fault in bad]
            out[name].append({**read, **{c: v for c, v in row.items() if c not in known}})
    return out, faults


def _missing(value: object) -> bool:
    if value is None or value is pd.NaT or value is pd.NA:
        return True
    return isinstance(value, numbers.Real) and bool(value != value)


def _read_text(field: Field, value: object) -> str:
    text = str(value).replace("\r\n", "\n").replace("\r", "\n").strip()
    if len(text) > field.longest and field.name != "protocol":
        raise _Bad(tr("at most {longest} characters").format(longest=field.longest))
    if _CONTROL.search(text):
        raise _Bad(tr("text without control characters"))
    if field.pattern is not None and not re.fullmatch(field.pattern, text):
        raise _Bad(wanted(field))
    return text


def _read_choice(field: Field, value: object) -> str:
    text = str(value)
    found = _by_fold(field.choices).get(text.casefold().replace("_", " "))
    if found is None:
        raise _Bad(wanted(field) + nearest(text.replace("_", " "), [c.replace("_", " ") for c in field.choices]))
    return found


@cache
def _by_fold(choices: tuple[str, ...]) -> dict[str, str]:
    return {c.casefold().replace("_", " "): c for c in choices}


def _read_date(field: Field, value: object) -> date:
    if isinstance(value, datetime):  # pandas Timestamps too
        day = value.date()
    elif isinstance(value, date):
        day = value
    elif isinstance(value, str) and _ISO.fullmatch(value):
        try:
            day = date.fromisoformat(value)
        except ValueError:
            raise _Bad(tr("a day that is in the calendar, as 2026-03-01")) from None
    elif isinstance(value, str) and re.fullmatch(r"[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}", value):
        raise _Bad(tr("a date as year-month-day, with dashes and two digits each: 2026-03-01"))
    else:
        raise _Bad(wanted(field))
    if not YEARS[0] <= day.year <= YEARS[1]:
        raise _Bad(tr("a date with a year from {years} to {years2}").format(years=YEARS[0], years2=YEARS[1]))
    return day


def _read_number(field: Field, value: object) -> float:
    if isinstance(value, str):
        text = value.replace("−", "-")
        if _COMMA.fullmatch(text):
            raise _Bad(tr("a decimal point, not a comma: {text}").format(text=text.replace(",", ".")))
        if not _NUMBER.fullmatch(text):
            raise _Bad(wanted(field))
        number = float(text)
    elif isinstance(value, numbers.Real) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
    else:
        raise _Bad(wanted(field))
    if not math.isfinite(number) or (field.kind == "int" and number != int(number)):
        raise _Bad(wanted(field))
    if (field.low is not None and number < field.low) or (field.high is not None and number > field.high):
        raise _Bad(wanted(field))
    return number + 0.0  # turns -0.0 into 0.0


def _read_int(field: Field, value: object) -> int:
    return int(_read_number(field, value))


def _read_bool(field: Field, value: object) -> bool:
    if isinstance(value, str):
        found = _BOOL.get(value.casefold())
    elif isinstance(value, bool) or type(value).__name__ in ("bool_", "bool"):
        found = bool(value)
    else:
        found = bool(value) if isinstance(value, numbers.Real) and value in (0, 1) else None
    if found is None:
        raise _Bad(wanted(field))
    return bool(found)


_READERS: Final = {
    "text": _read_text, "choice": _read_choice, "date": _read_date, "float": _read_number, "int": _read_int,
    "bool": _read_bool,
}
