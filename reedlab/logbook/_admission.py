"""Whether rows may go into the logbook: the faults between rows that a change would bring, and reeds still held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from ..errors import Fault
from ..trial.calendar import runs_until_done
from ..trial.overlaps import overlap_words, overlaps
from ..trial.protocol import Protocol
from ._concerned import Change, Concerned
from ._finding import Find, Row, find_in, find_trials
from .between import RULES, CrossFault, faults_of, key_of, plans_in

__all__ = ["newly_wrong", "spoken_key", "still_held"]

Rows = Mapping[str, Sequence[Row]]


def newly_wrong(changes: Sequence[Change], places: Sequence[int], find: Find, today: date) -> list[Fault]:
    """Return the faults that hold after some changes and did not before; reads the rows concerned only.

    Parameters
    ----------
    changes : sequence of Change
    places : sequence of int
        The number of each change's row among those handed in.
    find : callable
        Finds current rows (`_rows.current` of an open logbook).
    today : date
    """
    faults: list[Fault] = []
    for rule in RULES:
        before = Concerned(changes, find, rule).rows()
        after, numbers = _changed(before, changes, places)
        found = faults_of(rule, after, today)
        had = {_name(before, f) for f in faults_of(rule, before, today)} if found else set()
        faults += _told(found, after, numbers, had)
    return faults


def _changed(before: Rows, changes: Sequence[Change], numbers: Sequence[int]) -> tuple[
        dict[str, list[Row]], dict[tuple[str, int], int]]:
    """Return the rows after the changes, and by table and place the number of each row that came."""
    after = {table: list(rows) for table, rows in before.items()}
    for change in changes:
        rows = after[change.table]
        if change.old is None:
            assert change.new is not None
            rows.append(change.new)
            continue
        at = next(i for i, r in enumerate(rows) if r.get("entry_id") == change.old["entry_id"])
        rows[at:at + 1] = [] if change.new is None else [change.new]
    number = {id(c.new): n for c, n in zip(changes, numbers, strict=True) if c.new is not None}
    return after, {(table, i): number[id(r)] for table, rows in after.items() for i, r in enumerate(rows)
                   if id(r) in number}


def _told(found: Sequence[CrossFault], after: Rows, places: Mapping[tuple[str, int], int],
          had: set[tuple[Any, ...]]) -> Iterator[Fault]:
    for f in found:
        n = places.get((f.table, f.row))
        if n is not None:
            yield Fault(f.table, n, f.column, f.found, f.wanted)
        elif _name(after, f) not in had:
            where = spoken_key(f.table, after[f.table][f.row])
            yield Fault(f.table, None, f.column, f"{f.found} ({where})", f.wanted)


def spoken_key(table: str, row: Row) -> str:
    """Return a row's table and key in plain text, as ``reeds 2-07``."""
    return " ".join([table, *(str(k) for k in key_of(table, row) or ())])


def _name(rows: Rows, f: CrossFault) -> tuple[Any, ...]:
    return f.table, key_of(f.table, rows[f.table][f.row]), f.column, f.found, f.wanted


def still_held(plan: Protocol, find: Find) -> list[Fault]:
    """Return a fault for each trial of the logbook that still holds reeds of a plan when it starts.

    Pauses shift the end of a trial, and some have no last day.
    """
    paused = [r["date"] for r in find("days", "pause = 1", ())]
    trials = find_trials(find, plan.reeds)
    deals = find_in(find, "deals", "trial", {r["trial"] for r in trials})
    faults = []
    for row, other in plans_in(trials, deals):
        if other.trial == plan.trial:
            continue  # it opens a box
        held = {reed for x in overlaps([(other, row["ended"]), (plan, None)], paused) for reed in x.reeds}
        if runs_until_done(other) and row["ended"] is None and other.start <= max(plan.since, default=plan.start):
            held |= set(other.reeds) & set(plan.reeds) - _done(other, plan.reeds, find)
        if held:
            faults.append(Fault("trials", 1, "protocol", *overlap_words(other.trial, sorted(held))))
    return faults


def _done(plan: Protocol, reeds: Sequence[str], find: Find) -> set[str]:
    """Return which of some reeds a trial without a last day needs no more: retired, or at its cap of hours."""
    minutes, since = dict.fromkeys(plan.reeds, 0.0), plan.served_since
    for row in find_in(find, "sittings", "reed", reeds):
        if row["reed"] in minutes and not row["unsure_reed"] and (
                plan.from_new or row["date"] >= since[row["reed"]]):
            minutes[row["reed"]] += row["play_min"]
    capped = {r for r, m in minutes.items() if plan.cap_hours is not None and m >= 60 * plan.cap_hours - 1e-6}
    return capped | {r["reed"] for r in find_in(find, "retirements", "reed", reeds)}
