"""Whether the reeds of a plan about to start are free: pauses shift the end of a trial, and some have no last day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..errors import Fault
from ..trial.calendar import runs_until_done
from ..trial.overlaps import overlap_words, overlaps
from ..trial.protocol import Protocol
from .between import plan_in

__all__ = ["still_held"]

Rows = Mapping[str, Sequence[Mapping[str, Any]]]


def still_held(plan: Protocol, rows: Rows) -> list[Fault]:
    """Return a fault for each trial of the logbook that still holds reeds of a plan when it starts."""
    paused = [r["date"] for r in rows["days"] if r["pause"]]
    faults = []
    for row in rows["trials"]:
        other = plan_in(row, rows["deals"])
        if isinstance(other, str) or other.trial == plan.trial:
            continue  # told by `Logbook.check`, or the trial itself, which opens a box
        held = {reed for x in overlaps([(other, row["ended"]), (plan, None)], paused) for reed in x.reeds}
        if runs_until_done(other) and row["ended"] is None and other.start <= max(plan.since, default=plan.start):
            held |= set(other.reeds) & set(plan.reeds) - _done(other, rows)
        if held:
            faults.append(Fault("trials", 1, "protocol", *overlap_words(other.trial, sorted(held))))
    return faults


def _done(plan: Protocol, rows: Rows) -> set[str]:
    """Return the reeds a trial without a last day needs no more: retired, or at its cap of hours."""
    minutes, since = dict.fromkeys(plan.reeds, 0.0), plan.served_since
    for row in rows["sittings"]:
        if row["reed"] in minutes and not row["unsure_reed"] and (
                plan.from_new or row["date"] >= since[row["reed"]]):
            minutes[row["reed"]] += row["play_min"]
    capped = {r for r, m in minutes.items() if plan.cap_hours is not None and m >= 60 * plan.cap_hours - 1e-6}
    return capped | {r["reed"] for r in rows["retirements"]}
