"""From a simulated trial to what the player would have written down: the tables of a logbook, or arrays of many."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from ..analysis.batch import BatchTrials
from ..rows.tables import Frames
from ..trial.calendar import calendar_with
from ..trial.protocol import Protocol
from .simulate import BY_CHOICE, DAMAGED, GOING, WORN_OUT, Batch

__all__ = ["batch_trials", "box_rows", "day_rows", "reed_rows", "retirement_rows", "sitting_rows", "to_frames",
           "trial_row"]

_WHY: Final = {WORN_OUT: "worn_out", DAMAGED: "damaged", BY_CHOICE: "by_choice"}

Row = dict[str, Any]


def to_frames(batch: Batch, i: int, *, paused: Sequence[date] = ()) -> Frames:
    """Return the logbook of run `i` as typed frames, ready for the analysis.

    Parameters
    ----------
    batch : Batch
        Simulated runs.
    i : int
        Which run. Its own deal goes into the frozen plan of the `trials` table; where runs were dealt
        anew, read the plan from there (`protocol_of`).
    paused : sequence of date, optional
        Days on which the trial stood still; the trial's days are counted around them.
    """
    dates = calendar_with(batch.protocol, paused).dates()
    return Frames.trusted(
        boxes=box_rows(batch.protocol), reeds=reed_rows(batch, i), sittings=sitting_rows(batch, i, dates),
        days=day_rows(batch, i, dates, paused), retirements=retirement_rows(batch, i, dates),
        trials=[trial_row(batch.protocol_of(i))])


def trial_row(protocol: Protocol) -> Row:
    """Return the row of a trial that has just been started."""
    return {"trial": protocol.trial, "started": protocol.start, "protocol_sha256": protocol.sha256,
            "protocol": protocol.to_json()}


def box_rows(protocol: Protocol) -> list[Row]:
    """Return one row for each box of the plan's reeds."""
    boxes = dict.fromkeys(r.rpartition("-")[0] for r in protocol.reeds)
    return [{"box": b, "instrument": protocol.instrument, "strength": "3",
             "opened": protocol.start - timedelta(days=7)} for b in boxes]


def reed_rows(batch: Batch, i: int) -> list[Row]:
    """Return one row for each reed, with its first play (before the start unless the reeds start new)."""
    p = batch.protocol
    first = p.start if p.from_new else p.start - timedelta(days=4)
    return [{"reed": reed, "box": box, "first_play": float(batch.reeds.first_play[k, i]),
             "first_stiffness": float(batch.reeds.first_stiffness[k, i]), "first_played": first}
            for k, (reed, box) in enumerate(zip(batch.plan.reeds, batch.plan.boxes, strict=True))]


def sitting_rows(batch: Batch, i: int, dates: Sequence[date]) -> list[Row]:
    """Return one row for each sitting that was written down; the rating goes to the plan's own column."""
    p, plan = batch.protocol, batch.plan
    keys = [h.key for h in p.habits]
    rows = []
    for s in np.flatnonzero(batch.logged[i]).tolist():
        day, reed = dates[int(plan.slot_day[s]) - 1], plan.reeds[int(plan.slot_reed[s])]
        row: Row = {"sitting": f"{day.isoformat()}-{reed}-1", "date": day, "reed": reed, "setup": p.setup,
                    "order": int(plan.slot_order[s]), "play_min": float(batch.play_min[i, s]),
                    "stiffness": float(batch.stiffness[i, s]), "where": "practice",
                    "habit": keys[int(batch.used_b[i, s])] if plan.slot_unit[s] >= 0 else None,
                    "from_memory": bool(batch.from_memory[i, s]), "unsure_reed": bool(batch.unsure_reed[i, s])}
        row[p.rating] = float(batch.rating[i, s])
        rows.append(row)
    return rows


def day_rows(batch: Batch, i: int, dates: Sequence[date], paused: Iterable[date] = ()) -> list[Row]:
    """Return one row for each day of the trial, and for each paused day before its last."""
    air = batch.days
    rows: list[Row] = [
        {"date": day, "day_off": bool(air.off[t, i]), "pause": False,
         "humidity_pct": None if air.off[t, i] else float(np.round(air.humidity_pct[t, i])),
         "temp_c": None if air.off[t, i] else float(np.round(air.temp_c[t, i], 1))}
        for t, day in enumerate(dates)]
    rows += [{"date": day, "pause": True} for day in paused if day < dates[-1]]
    return sorted(rows, key=lambda r: r["date"])


def retirement_rows(batch: Batch, i: int, dates: Sequence[date]) -> list[Row]:
    """Return one row for each reed that left service during the trial."""
    return [{"reed": reed, "date": dates[int(batch.left_day[i, k]) - 1], "reason": _WHY[int(batch.left_why[i, k])]}
            for k, reed in enumerate(batch.plan.reeds) if batch.left_day[i, k] > 0]


def batch_trials(batch: Batch) -> BatchTrials:
    """Return every run of a batch as `to_frames` would write it, all at once."""
    plan = batch.plan
    why = {GOING: "still_going", **_WHY}
    words = np.array([why[k] for k in range(len(why))], dtype="U16")
    counted = batch.logged & ~batch.unsure_reed
    return BatchTrials(
        protocol=batch.protocol, reed=plan.slot_reed, day=plan.slot_day, order=plan.slot_order,
        unit=plan.slot_unit, rating=batch.rating, play_min=batch.play_min, counted=counted, used_b=batch.used_b,
        humidity=np.where(batch.days.off, np.nan, np.round(batch.days.humidity_pct)).T,
        first_play=batch.reeds.first_play.T, dealt_b=batch.dealt_b, left_day=batch.left_day,
        left_why=words[batch.left_why])
