"""Rows of sittings that the plan fills in beforehand, and a sitting's place in its day. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Final

import pandas as pd

from ..wording import tr
from .tables import TABLES, Field

__all__ = ["PLANNED", "PREFILLED", "free_place", "left_empty", "placed"]

#: How long the plan says to play: a further column beside those of the table, read by nobody but the player.
PLANNED: Final = Field("plan_min", "float", tr("Minutes planned"), low=0, high=720)
#: What the plan fills in for a sitting.
PREFILLED: Final = frozenset({"date", "order", "reed", "habit", "setup", "where", PLANNED.name})


def left_empty(table: str, cells: Mapping[str, Any], *, spreadsheet: bool = True) -> bool:
    """Say whether the player filled in nothing: a planned sitting not played, a date alone in a spreadsheet.

    A sitting counts as planned by its `plan_min`; a row written by hand with too little stays a fault.
    """
    if table not in ("sittings", "days"):
        return False
    ticks = {f.name for f in TABLES[table].fields if f.kind == "bool"}
    said = set()
    for name, value in cells.items():
        text = "" if value is None else str(value).strip().casefold()
        if text and not (name in ticks and text in ("no", "false")):
            said.add(name)
    if table == "sittings":
        return PLANNED.name in said and said <= PREFILLED
    return table == "days" and spreadsheet and said == {"date"}


def free_place(sittings: pd.DataFrame, on: date, *, wanted: int | None = None,
               besides: Iterable[int | None] = ()) -> int | None:
    """Return the place in the day's order for one more sitting; None on a day with more than there are places for.

    Parameters
    ----------
    sittings : DataFrame
        The logbook's. Those of the day without a place count as played before.
    on : date
    wanted : int, optional
        The place the plan gives; it is kept if it is free.
    besides : iterable of int or None
        Places given on this day already, not in the logbook yet.
    """
    today = sittings.loc[sittings["date"].dt.date == on, "order"]
    more = list(besides)
    taken = {int(n) for n in today.dropna()} | {n for n in more if n is not None}
    if wanted is not None and wanted not in taken:
        return wanted
    place = max([*taken, len(today) + len(more)], default=0) + 1
    most = TABLES["sittings"].field("order").high
    return None if most is not None and place > most else place


def placed(rows: Sequence[Mapping[str, Any]], sittings: pd.DataFrame, *,
           changed: int | None = None) -> list[dict[str, Any]]:
    """Return rows of sittings to be saved with their places in their days.

    Parameters
    ----------
    rows : sequence of mapping
        In the order they were played. A place that one has already, from the plan, is kept where it is free.
    sittings : DataFrame
        The logbook's.
    changed : int, optional
        The entry that the one row takes the place of: it keeps its place, unless its day changes.
    """
    if changed is not None:
        mine = sittings["entry_id"] == changed
        if (sittings.loc[mine, "date"].dt.date == rows[0]["date"]).all():
            return [dict(rows[0])]
        sittings, rows = sittings[~mine], [{**rows[0], "order": None}]
    places: dict[int, int | None] = {}
    for n in sorted(range(len(rows)), key=lambda n: rows[n]["order"] is None):
        given = [places[m] for m in places if rows[m]["date"] == rows[n]["date"]]
        places[n] = free_place(sittings, rows[n]["date"], wanted=rows[n]["order"], besides=given)
    return [{**row, "order": places[n]} for n, row in enumerate(rows)]
