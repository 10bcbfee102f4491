"""Plain words for what a screen reads back and refuses."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from ..errors import EntryRefused, Fault, ReedlabError
from ..rows.tables import CHOICE_WORDS, RATING_WORDS, TABLES
from ..rows.values import ValueFault
from ..trial.pairs import said
from ..wording import tr

__all__ = ["fault_in_words", "faults_in_words", "lines_of", "number_within", "read_back", "spoken_row",
           "title"]

_SHORT: Final = {
    "date": tr("Date"),
    "reed": tr("Reed"), "play_min": tr("Minutes"), **RATING_WORDS, "preference": tr("Better go"),
    "position": tr("Place on the mouthpiece"), "habit": tr("What you did"),
    "where": tr("Where"), "waterlogged": tr("Tip dark and see-through"), "from_memory": tr("From memory"),
    "unsure_reed": tr("Not sure which reed"), "remark": tr("Remark"), "humidity_pct": tr("Humidity, %"),
    "temp_c": tr("Temperature, °C"),
    "day_off": tr("Not playing"), "pause": tr("The trial moves along"), "reason": tr("Why"),
    "box": tr("Box"), "instrument": tr("Instrument"),
    "cut": tr("Cut"), "strength": tr("Strength"), "opened": tr("Opened"), "first_play": tr("First play"),
    "first_stiffness": tr("First stiffness"), "set_aside": tr("Set aside"), "first_played": tr("First played"),
    "setup": tr("Set-up"),
    "worked_on": tr("Worked on since"),
    "price": tr("Price"), "mouthpiece": tr("Mouthpiece"), "ligature": tr("Ligature"),
    "protocol": tr("Plan"), "confirmed": tr("Confirmed by you"),
}
_YES: Final = tr("yes")
_HIDDEN: Final = ("sitting", "order", "protocol", "protocol_sha256")


def title(column: str) -> str:
    """Return a column's short name for a player."""
    return _SHORT.get(column, column.replace("_", " "))


def faults_in_words(faults: list[ValueFault], names: Mapping[str, str] | None = None) -> list[str]:
    """Return one line for each value that cannot be saved; a column is called as in `names`, else by its short name."""
    return [tr("{title}: you gave {found}; wanted {wanted}.").format(
                title=(names or {}).get(f.column) or title(f.column), found=f.found, wanted=f.wanted) for f in faults]


def number_within(text: str | None, words: str, low: float, high: float, faults: list[str], *,
                  whole: bool = False) -> float | None:
    """Return a number as typed; None where nothing was, or it is not within these: then `faults` say so."""
    if text is None:
        return None
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if low <= number <= high and (not whole or number == int(number)):
        return number
    kind = tr("a whole number") if whole else tr("a number")
    faults.append(tr("{words}: wanted {kind} from {low:g} to {high:g}.").format(words=words, kind=kind, low=low,
                                                                               high=high))
    return None


def fault_in_words(fault: Fault, names: Mapping[str, str] | None = None) -> str:
    """Return a fault without its place; its column is called as in `names`, else by its short name."""
    column = fault.column or ""
    return tr("{title}: found {found}; wanted {wanted}").format(
               title=(names or {}).get(column) or (title(column) if column else tr("Entry")), found=fault.found,
               wanted=fault.wanted)


def lines_of(err: ReedlabError) -> list[str]:
    """Return the lines of a refusal: one for each thing to put right."""
    if isinstance(err, EntryRefused):
        return [f"{fault_in_words(f)}." for f in err.faults]
    return str(err).splitlines()


def spoken_row(table: str, row: Mapping[Any, Any], habits: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return one row of a logbook in words, without what is empty."""
    out: dict[str, str] = {}
    for field in TABLES[table].fields:
        raw = row.get(field.name)
        if field.name in _HIDDEN or raw is None or raw is pd.NaT or (isinstance(raw, float) and raw != raw):
            continue
        if field.kind == "bool":
            if raw:
                out[title(field.name)] = _YES
        elif field.kind == "date":
            out[title(field.name)] = pd.Timestamp(raw).date().isoformat()
        elif field.name == "preference":
            out[title(field.name)] = said(float(raw))
        elif field.kind in ("float", "int"):
            out[title(field.name)] = f"{float(raw):g}"
        elif field.name == "reason":
            out[title(field.name)] = CHOICE_WORDS[str(raw)]
        elif field.name == "habit":
            name = (habits or {}).get(str(raw), str(raw))
            pair = "preference" in row and not pd.isna(row["preference"])
            out[title(field.name)] = tr("{name} first").format(name=name) if pair else name
        else:
            out[title(field.name)] = str(raw)
    return out


#: How a saved value is said after the reed; what is not named here is said by its title, the usual place not at all.
_READ_BACK: Final = {title("play_min"): tr("{} minutes"), title("overall"): tr("overall {}"), title("habit"): "{}",
                     title("preference"): "{}",
                     title("where"): tr("at a {}"), title("remark"): "“{}”"}
_UNSAID: Final = (title("date"), title("reed"), title("setup"))


def read_back(spoken: Mapping[str, str]) -> str:
    """Return a saved line, by title as of `spoken_row`, in one breath."""
    more = [_READ_BACK.get(k, k.lower() if v == _YES else f"{k.lower()} {{}}").replace("{}", v)
            for k, v in spoken.items() if k not in _UNSAID and (k, v) != (title("where"), "practice")]
    return ", ".join([spoken[title("reed")], *more])
