"""The two frames of a result: one row per unit, one row per rating that counted."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ...trial.arrays import BoolArray, FloatArray
from ...trial.crossover import planned_b
from ...trial.protocol import Protocol
from .blind import BlindTrial
from .life_values import Lives
from .unit_values import UnitValues

__all__ = ["points_frame", "units_frame"]



def units_frame(protocol: Protocol, trial: BlindTrial, values: UnitValues | None, lives: Lives | None,
                used: BoolArray, share: FloatArray) -> pd.DataFrame:
    """Return one row per unit: what was dealt, its value, hours, how it ended and whether it counted.

    `value` is the plain value of a rating outcome (nan where missing) or the hours of a life. `hours` are the
    playing hours of a reed (up to the rule or the cap for lives), or of the reeds on a unit's own days.
    """
    n = len(protocol.units)
    if lives is not None:
        hours, ended, worn = lives.hours, list(lives.ended), lives.worn_out
    elif protocol.design == "reed_by_reed":
        hours = trial.hours[[trial.place[u.reeds[0]] for u in protocol.units]]
        ended = [trial.retired.get(u.reeds[0], (None, "still_going"))[1] for u in protocol.units]
        worn = np.array([e == "worn_out" for e in ended], dtype=bool)
    else:
        played = trial.sittings.groupby(["reed", "day"])["play_min"].sum().to_dict()
        hours = np.array([sum(float(played.get(c, 0.0)) for c in u.cells) / 60 for u in protocol.units])
        ended, worn = ["still_going"] * n, np.zeros(n, dtype=bool)
    return pd.DataFrame({
        "unit": [u.unit for u in protocol.units], "block": list(protocol.blocks), "arm": list(protocol.arms),
        "habit": list(protocol.dealt), "value": hours if values is None else values.plain, "hours": hours,
        "ended": ended, "worn_out": worn, "used": used,
        "reed": pd.Series([u.reeds[0] if len(u.reeds) == 1 else None for u in protocol.units], dtype=object),
        "share_b": share})


def points_frame(protocol: Protocol, trial: BlindTrial, values: UnitValues | None,
                 used: BoolArray) -> pd.DataFrame:
    """Return one row per rating of a unit that counted: date, day, reed, unit, block, arm, rating, hours.

    Of a crossover `arm` is the way that was in force on the day, not the one dealt.
    For lives these are all overall ratings of the reeds, wherever they were given.
    """
    units = protocol.units
    if values is not None:
        c = values.cells
        keep = used[values.unit_of_cell]
        unit, reed, day, hours = values.unit_of_cell[keep], c.reed[keep], c.day[keep], c.hours[keep]
        rating = c.rating[keep]
        when = [trial.calendar[d - 1] for d in day]
    else:
        rows = trial.sittings[trial.sittings["overall"].notna().to_numpy()]
        owner = trial.unit_of_reed[rows["place"].to_numpy()]
        keep = used[owner]
        unit, rows = owner[keep], rows[keep]
        reed, day = rows["place"].to_numpy(), rows["day"].to_numpy()
        hours, rating = rows["hours_before"].to_numpy(), rows["overall"].to_numpy(dtype=float)
        when = list(rows["date"].dt.date)
    with_b = planned_b(protocol.halves, protocol.dealt_b[unit], day)
    return pd.DataFrame({
        "date": pd.to_datetime(pd.Series(when, dtype=object)).astype("datetime64[ns]"), "day": day,
        "reed": pd.Series([trial.reeds[i] for i in reed], dtype=object),
        "unit": pd.Series([units[i].unit for i in unit], dtype=object),
        "block": pd.Series([units[i].block for i in unit], dtype=object),
        "arm": pd.Series(np.where(with_b > 0, "B", "A"), dtype=object), "rating": rating, "hours": hours})
