"""The tidy folder: which files it has, which columns, and how a value is written as text."""

from __future__ import annotations

import re
from datetime import date
from typing import Any, Final

from ..rows.tables import TABLES, Field
from ..wording import tr

__all__ = ["DEALT_FILE", "HEADS", "HISTORY", "META_FIELDS", "PACKAGE", "PROTOCOLS", "as_text", "bare", "columns",
           "fields_of", "file_of", "guarded", "named"]

PACKAGE: Final = "datapackage.json"
HISTORY: Final = "history"
PROTOCOLS: Final = "protocols"
DEALT_FILE: Final = "dealt.csv"
PROTOCOL_FILE: Final = Field("protocol_file", "text", tr("File of the frozen plan, in `{protocols}`").format(
                                                          protocols=PROTOCOLS), required=True)
_FORMULA: Final = re.compile(r"'*[=+\-@\t\r]")
#: What every entry carries. Left out by hand, they are made on reading in.
META_FIELDS: Final = (
    Field("entry_id", "int", tr("Number of the entry in its table"), low=1, high=2**53),
    Field("entered_at", "text", tr("When it was entered (UTC)"),
          pattern=r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z"),
    Field("supersedes", "int", tr("Number of the entry whose place it takes"), low=1, high=2**53),
)
WITHDRAWN: Final = Field("withdrawn", "bool", tr("True for an entry that only takes an earlier one back"))


#: The first row of a spreadsheet to fill in, in the player's words; a column not named here goes by its own name.
HEADS: Final = {
    "date": tr("Date"), "order": tr("Order"), "reed": tr("Reed"), "habit": tr("What you did"),
    "plan_min": tr("Minutes planned"), "play_min": tr("Minutes played"), "overall": tr("Overall, 0 to 10"),
    "response": tr("Response, 0 to 10"), "tone": tr("Tone, 0 to 10"), "stiffness": tr("Stiffness, -3 to 3"),
    "preference": tr("Better go, below 0 the second"),
    "where": tr("Where"), "setup": tr("Set-up"), "waterlogged": tr("Tip dark and see-through"),
    "from_memory": tr("From memory"), "unsure_reed": tr("Not sure which reed"), "remark": tr("Remark"),
    "sitting": tr("Name, leave it empty"), "humidity_pct": tr("Humidity, %"), "temp_c": tr("Temperature, °C"),
    "day_off": tr("Day off"), "pause": tr("Trial paused"), "reason": tr("Why it left"),
}
_NAMES: Final = {words.casefold(): name for name, words in HEADS.items()}


def named(head: str) -> str:
    """Return the name of the column that stands under some words in a spreadsheet; other words as they are."""
    return _NAMES.get(head.strip().casefold(), head)


def fields_of(table: str, *, history: bool = False) -> tuple[Field, ...]:
    """Return the columns of a table's file: its own, then those every entry carries.

    In the file of trials the plan's text stands apart, in a file of its own.
    """
    own = tuple(PROTOCOL_FILE if (table, f.name) == ("trials", "protocol") else f for f in TABLES[table].fields)
    return (*own, *META_FIELDS, *((WITHDRAWN,) if history else ()))


def file_of(table: str, *, history: bool) -> str:
    """Return the name of a table's file, or of the one with its entries that hold no more."""
    return f"{HISTORY}/{table}.csv" if history else f"{table}.csv"


def columns(table: str, *, history: bool = False) -> list[str]:
    """Return the column names of a table's file, in order."""
    return [f.name for f in fields_of(table, history=history)]


def guarded(text: str) -> str:
    """Return a text as a CSV cell that no spreadsheet program takes for a formula: with an apostrophe before it.

    Texts that begin so already get one more, so that `bare` restores every text exactly.
    """
    return "'" + text if _FORMULA.match(text) else text


def bare(cell: str) -> str:
    """Return the text of a CSV cell that `guarded` made."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def as_text(value: Any) -> str:
    """Return a value as a cell: empty where missing, dates ISO, shortest exact numbers, true or false."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)
    return str(value)
