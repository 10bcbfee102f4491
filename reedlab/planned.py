"""Rows of sittings that the plan fills in beforehand, for the spreadsheet and for typing a sheet back in. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from .tables import TABLES, Field

__all__ = ["PLANNED", "PREFILLED", "left_empty"]

#: How long the plan says to play: a further column beside those of the table, read by nobody but the player.
PLANNED: Final = Field("plan_min", "float", "Minutes planned", low=0, high=720)
#: What the plan fills in for a sitting.
PREFILLED: Final = frozenset({"date", "order", "reed", "habit", "setup", "where", PLANNED.name})


def left_empty(table: str, cells: Mapping[str, Any], *, spreadsheet: bool = True) -> bool:
    """Say whether the player filled in nothing: a planned sitting not played, a date alone in a spreadsheet.

    A sitting counts as planned by its `plan_min`; a row written by hand with too little stays a fault.
    """
    ticks = {f.name for f in TABLES[table].fields if f.kind == "bool"}
    said = set()
    for name, value in cells.items():
        text = "" if value is None else str(value).strip().casefold()
        if text and not (name in ticks and text in ("no", "false")):
            said.add(name)
    if table == "sittings":
        return PLANNED.name in said and said <= PREFILLED
    return table == "days" and spreadsheet and said == {"date"}
