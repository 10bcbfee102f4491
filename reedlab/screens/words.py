"""Plain words for what a screen reads back and refuses."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

import pandas as pd

from ..errors import EntryRefused, ReedlabError
from ..rows.tables import TABLES
from ..rows.values import ValueFault

__all__ = ["REASONS", "faults_in_words", "lines_of", "read_back", "spoken_date", "spoken_row", "title"]

REASONS: Final = {
    "worn_out": "Worn out", "damaged": "Chipped or cracked", "mouldy": "Mouldy", "lost": "Lost",
    "given_away": "Given away", "by_choice": "Still fine; my choice",
}
_SHORT: Final = {
    "date": "Date", "reed": "Reed", "play_min": "Minutes", "overall": "Overall", "response": "Response",
    "tone": "Tone", "stiffness": "Stiffness", "position": "Place on the mouthpiece", "habit": "What you did",
    "where": "Where", "waterlogged": "Tip dark and see-through", "from_memory": "From memory",
    "unsure_reed": "Not sure which reed", "remark": "Remark", "humidity_pct": "Humidity, %",
    "temp_c": "Temperature, °C",
    "day_off": "Not playing", "pause": "The trial moves along", "reason": "Why",
    "box": "Box", "instrument": "Instrument",
    "cut": "Cut", "strength": "Strength", "opened": "Opened", "first_play": "First play",
    "first_stiffness": "First stiffness", "set_aside": "Set aside", "first_played": "First played",
    "setup": "Set-up",
    "worked_on": "Worked on since", "price": "Price", "mouthpiece": "Mouthpiece", "ligature": "Ligature",
    "protocol": "Plan", "confirmed": "Confirmed by you",
}
_HIDDEN: Final = ("sitting", "order", "protocol", "protocol_sha256")


def title(column: str) -> str:
    """Return a column's short name for a player."""
    return _SHORT.get(column, column.replace("_", " "))


def faults_in_words(faults: list[ValueFault]) -> list[str]:
    """Return one line for each value that cannot be saved."""
    return [f"{title(f.column)}: you gave {f.found}; wanted {f.wanted}." for f in faults]


def lines_of(err: ReedlabError) -> list[str]:
    """Return the lines of a refusal: one for each thing to put right."""
    if isinstance(err, EntryRefused):
        return [f"{title(f.column) if f.column else 'Entry'}: found {f.found}; wanted {f.wanted}."
                for f in err.faults]
    return str(err).splitlines()


def spoken_date(day: date) -> str:
    """Return a date as a player reads it: Sunday 1 March 2026."""
    return f"{day:%A} {day.day} {day:%B} {day.year}"


def spoken_row(table: str, row: Mapping[Any, Any], habits: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return one row of a logbook in words, without what is empty."""
    out: dict[str, str] = {}
    for field in TABLES[table].fields:
        raw = row.get(field.name)
        if field.name in _HIDDEN or raw is None or raw is pd.NaT or (isinstance(raw, float) and raw != raw):
            continue
        if field.kind == "bool":
            if raw:
                out[title(field.name)] = "yes"
        elif field.kind == "date":
            out[title(field.name)] = pd.Timestamp(raw).date().isoformat()
        elif field.kind in ("float", "int"):
            out[title(field.name)] = f"{float(raw):g}"
        elif field.name == "reason":
            out[title(field.name)] = REASONS[str(raw)]
        elif field.name == "habit":
            out[title(field.name)] = (habits or {}).get(str(raw), str(raw))
        else:
            out[title(field.name)] = str(raw)
    return out


#: How a saved value is said after the reed; what is not named here is said by its title, the usual place not at all.
_READ_BACK: Final = {"Minutes": "{} minutes", "Overall": "overall {}", "What you did": "{}", "Where": "at a {}",
                     "Remark": "“{}”"}
_UNSAID: Final = ("Date", "Reed", "Set-up")


def read_back(spoken: Mapping[str, str]) -> str:
    """Return a saved line, by title as of `spoken_row`, in one breath."""
    more = [_READ_BACK.get(k, k.lower() if v == "yes" else f"{k.lower()} {{}}").replace("{}", v)
            for k, v in spoken.items() if k not in _UNSAID and (k, v) != ("Where", "practice")]
    return ", ".join([spoken["Reed"], *more])
