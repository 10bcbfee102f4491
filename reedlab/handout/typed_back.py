"""Typing a filled sheet back in: rows from the plan, and the sittings they become."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

import pandas as pd

from ..analysis.units.first_plays import first_plays
from ..errors import EntryRefused, Fault
from ..rows.prefilled import PLANNED, left_empty
from ..rows.tables import Frames
from ..rows.values import nearest, read_row, shown
from ..schedule import PlayDay
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..wording import tr
from .week import to_play

__all__ = ["planned_rows", "typed_back", "without_repeats"]


def planned_rows(protocol: Protocol, days: Iterable[PlayDay], frames: Frames) -> list[dict[str, Any]]:
    """Return a row of `sittings` for each planned line, with `plan_min`, to be filled in.

    Reeds that have an entry on their day already, other than their first play, are left out. With a helper the
    habit is left out.
    """
    log = frames.sittings[~first_plays(frames)]
    there = set(zip(log["date"].dt.date, log["reed"], strict=True))
    hidden = protocol.masked == "helper"
    return [{"date": day.on, "order": line.order, "reed": line.reed, "habit": None if hidden else line.habit,
             "setup": protocol.setup, PLANNED.name: line.minutes}
            for day in days for line in to_play(day) if (day.on, line.reed) not in there]


def without_repeats(protocol: Protocol, rows: Sequence[dict[str, Any]], days: Iterable[PlayDay], frames: Frames,
                    today: date) -> list[dict[str, Any]]:
    """Leave out the rows of days gone by whose rating or minutes are planned anew from `today` on.

    Parameters
    ----------
    protocol, frames
    rows : sequence of dict
        `planned_rows` of `days`.
    days : iterable of PlayDay
        Days gone by, as they were planned, and days to come.
    today : date
    """
    if protocol.design == "day_by_day" or protocol.standing:
        return list(rows)  # a rating is of its day, or none is planned: nothing is made up on another
    coming = [d for d in days if d.on >= today]
    left = Counter({reed: -n for reed, n in _made_up(protocol, coming).items()})
    gone = {n for n, on in enumerate(calendar_of(protocol, frames).dates(), start=1) if on < today}
    left.update(s.reed for s in protocol.slots if s.day in gone)
    s = frames.sittings
    done = s["overall"].notna() & ~s["unsure_reed"] & (s["where"].isna() | (s["where"] == "practice"))
    in_time = (s["date"].dt.date >= protocol.start) & (s["date"].dt.date < today)
    left.subtract(s.loc[done & in_time, "reed"])
    kept = []
    for row in reversed(rows):  # the newest are remembered best
        if row["date"] < today:
            if not protocol.same_days or left[row["reed"]] <= 0:
                continue
            left[row["reed"]] -= 1
        kept.append(row)
    return kept[::-1]


def _made_up(protocol: Protocol, coming: Sequence[PlayDay]) -> Counter[str]:
    """Return how many ratings of each reed the coming days hold beyond those that the plan put there."""
    numbers = {d.number for d in coming}
    held = Counter(x.reed for d in coming for x in to_play(d) if x.rate)
    return held - Counter(s.reed for s in protocol.slots if s.day in numbers)


def typed_back(rows: Sequence[Mapping[str, Any]], frames: Frames) -> dict[int, dict[str, Any]]:
    """Return the rows of a filled sheet that were filled in, as read, by their place on it from 1.

    Parameters
    ----------
    rows : sequence of mapping
        Columns of the table of sittings, as text or typed, and `plan_min` for rows from the plan. A planned row
        with nothing filled in is left out.
    frames : Frames
        The logbook so far.

    Raises
    ------
    EntryRefused
        With every fault of every row at once: values, reeds that are not known, and rows that are in the logbook
        already (a sheet typed in twice).
    """
    known = set(frames.reeds["reed"])
    log = frames.sittings
    there = {_told(r) for r in log[["date", "reed", "play_min", "overall"]].itertuples(index=False)}
    out: dict[int, dict[str, Any]] = {}
    faults: list[Fault] = []
    for n, row in enumerate(rows, start=1):
        if left_empty("sittings", row):
            continue
        values, bad = read_row("sittings", {k: v for k, v in row.items() if k != PLANNED.name})
        faults += [Fault("sittings", n, *f) for f in bad]
        reed = values["reed"]
        if reed is not None and reed not in known:
            want = tr("a reed of this logbook{nearest}").format(nearest=nearest(reed, known))
            faults.append(Fault("sittings", n, "reed", shown(reed), want))
        if not bad and _told((values["date"], reed, values["play_min"], values["overall"])) in there:
            faults.append(Fault("sittings", n, "reed", tr("{reed} on {date}, as in the logbook").format(
                                                           reed=reed, date=values["date"]),
                                tr("a row that is not in the logbook yet; empty this one")))
        out[n] = values
    if faults:
        raise EntryRefused(faults)
    return out


def _told(row: Sequence[Any]) -> tuple[Any, ...]:
    day, reed, minutes, overall = row
    return (pd.Timestamp(day), reed, float(minutes), None if pd.isna(overall) else float(overall))
