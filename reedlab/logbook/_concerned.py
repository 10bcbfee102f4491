"""Which rows of the logbook a change has to be held against: for each rule between rows, those concerned.

So a new entry costs the same in the first week and after ten years. What is found here is enough for the rule to
say of the change what it would say of it with every row of the logbook at hand; `tests/logbook/test_concerned.py`
holds the two together.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

from ..rows.tables import TABLES
from ..trial.calendar import calendar_with
from ..trial.protocol import Protocol
from ._finding import Find, Gathered, Row, find_in, find_trials, surely_over
from .between import plan_in, plans_in

__all__ = ["Change", "Concerned"]

_TARGETS: Final = [(t.name, f.name, *f.refers.split(".")) for t in TABLES.values() for f in t.fields if f.refers]


class Change(NamedTuple):
    """One entry to come: the row that goes (None where one is added) and the row that comes (None: withdrawn)."""

    table: str
    old: dict[str, Any] | None
    new: Row | None


class Concerned(Gathered):
    """The current rows that a rule (one of `between.RULES`) needs for some changes, those about to go among them."""

    def __init__(self, changes: Sequence[Change], find: Find, rule: str) -> None:
        super().__init__(find)
        self._changes = changes
        for c in changes:
            if c.old is not None:
                self.put(c.table, [c.old])
        getattr(self, f"_{rule}")()

    # --- finding -----------------------------------------------------------------------------------------

    def _of(self, *tables: str) -> list[Change]:
        return [c for c in self._changes if c.table in tables]

    def _said(self, column: str, *tables: str) -> set[Any]:
        """Return what the rows that go and come say in a column."""
        return {row[column] for c in self._of(*tables) for row in (c.old, c.new) if row is not None} - {None}

    def _come(self, table: str) -> list[Row]:
        return [c.new for c in self._of(table) if c.new is not None]

    def _take_trials(self, reeds: Collection[str]) -> list[Protocol]:
        """Take the trials whose plan names one of these reeds; return their plans and those that come."""
        self.put("trials", find_trials(self.find, reeds))
        self.take_in("trials", "trial", self._said("trial", "deals"))
        return self._plans()

    def _plans(self) -> list[Protocol]:
        rows = [*self._rows["trials"].values(), *self._come("trials")]
        self.take_in("deals", "trial", {r["trial"] for r in rows} - {None})
        deals = [*self._rows["deals"].values(), *self._come("deals")]
        return [plan for _, plan in plans_in(rows, deals)]

    def _take_targets(self, table: str, column: str, values: Collection[Any]) -> None:
        """Take the rows that are referred to; all of the table where one is missing or goes, to name the nearest."""
        there = {r[column] for r in (*self.take_in(table, column, values), *self._come(table))}
        goes = {c.old[column] for c in self._of(table) if c.old is not None}
        if set(values) - there or goes & set(values):
            self.take(table)

    # --- the rules ---------------------------------------------------------------------------------------

    def _doubles(self) -> None:
        for table in {c.table for c in self._changes}:
            first = TABLES[table].key[0]
            self.take_in(table, first, self._said(first, table))

    def _reed_codes(self) -> None:
        for box in {code.rpartition("-")[0] for code in self._said("reed", "reeds")}:
            self.take("reeds", "reed >= ? AND reed < ?", (f"{box}-", f"{box}."))  # "." comes after "-"

    def _references(self) -> None:
        for table, column, target, key in _TARGETS:
            self._take_targets(target, key, {r[column] for r in self._come(table)} - {None})
            left = {c.old[key] for c in self._of(target) if c.old is not None and c.old[key] is not None
                    and (c.new is None or c.new[key] != c.old[key])}
            if self.take_in(table, column, left):
                self.take(target)

    def _future(self) -> None:
        """A day to come is a fault of its row alone."""

    def _retired(self) -> None:
        reeds = self._said("reed", "sittings", "retirements")
        last: dict[str, date] = {}
        for row in (*self.take_in("retirements", "reed", reeds), *self._come("retirements")):
            if row["reed"] is not None and row["date"] is not None:
                last[row["reed"]] = min(row["date"], last.get(row["reed"], row["date"]))
        for reed, day in last.items():
            self.take("sittings", "reed = ? AND date > ?", (reed, day.isoformat()))

    def _long_days(self) -> None:
        self.take_in("sittings", "date", self._said("date", "sittings"))

    def _trials(self) -> None:
        touched = {reed for c in self._of("reeds", "retirements") if _differ(c, "reed", "box", "date")
                   for reed in _both(c, "reed")}
        boxes = {box for c in self._of("boxes") if _differ(c, "box", "instrument") for box in _both(c, "box")}
        touched |= {r["reed"] for r in self.take_in("reeds", "box", boxes)}
        touched |= self._said("reed", "deals")
        reeds = {reed for plan in self._take_trials(touched) for reed in plan.reeds}
        if not reeds:
            return
        self._take_targets("reeds", "reed", reeds)
        self.take_in("retirements", "reed", reeds)
        rows = [*self._rows["reeds"].values(), *self._come("reeds")]
        self.take_in("boxes", "box", {r["box"] for r in rows if r["reed"] in reeds} - {None})

    def _overlaps(self) -> None:
        self._take_trials({reed for plan in self._changed_plans() for reed in plan.reeds}
                          | self._said("reed", "deals"))

    def _habits(self) -> None:
        spans = [*((plan.start, date.max, plan.reeds) for plan in self._changed_plans()), *self._moved(),
                 (date.min, date.max, tuple(self._said("reed", "deals")))]
        reeds = {r["reed"] for r in self._come("sittings") if r["habit"] is not None} - {None}
        reeds.update(reed for *_, some in spans for reed in some)
        plans = self._take_trials(reeds)
        if not plans:
            return
        self.take("days", "pause = 1 AND date >= ?", (min(p.start for p in plans).isoformat(),))
        for first, last, some in spans:
            self.take_in("sittings", "reed", some, "habit IS NOT NULL AND date BETWEEN ? AND ?",
                          (first.isoformat(), last.isoformat()))

    def _looks(self) -> None:
        names = self._said("trial", "looks", "trials")
        if names and self._of("looks", "trials"):
            self.take_in("trials", "trial", names)
            if self._of("trials"):
                self.take_in("looks", "trial", names)

    def _deals(self) -> None:
        names = self._said("trial", "deals", "trials")
        if names and self._of("deals", "trials"):
            self.take_in("trials", "trial", names)
            self.take_in("deals", "trial", names)

    # --- trials ------------------------------------------------------------------------------------------

    def _changed_plans(self) -> list[Protocol]:
        rows = [row for c in self._of("trials") for row in (c.old, c.new) if row is not None]
        deals = [*find_in(self.find, "deals", "trial", {r["trial"] for r in rows} - {None}), *self._come("deals")]
        return [plan for _, plan in plans_in(rows, deals)]

    def _moved(self) -> list[tuple[date, date, tuple[str, ...]]]:
        """Return the days at the end of each trial that a new or lifted pause adds or takes away, and its reeds."""
        changed = [c for c in self._of("days") if _differ(c, "date", "pause")
                   and any(row is not None and row["pause"] for row in (c.old, c.new))]
        days = {day for c in changed for day in _both(c, "date")}
        if not days:
            return []
        paused = [r["date"] for r in self.find("days", "pause = 1", ())]
        goes = {c.old["entry_id"] for c in changed if c.old is not None}
        after = [r["date"] for r in self.find("days", "pause = 1", ()) if r["entry_id"] not in goes]
        after += [c.new["date"] for c in changed if c.new is not None and c.new["pause"] and c.new["date"]]
        out: list[tuple[date, date, tuple[str, ...]]] = []
        for row in self.find("trials", "started <= ?", (max(days).isoformat(),)):
            if surely_over(row, min(days), len(paused) + len(days)):
                continue
            plan = plan_in(row, self.find("deals", "trial = ?", (row["trial"],)))
            if isinstance(plan, str):
                continue
            ends = [calendar_with(plan, off, row["ended"]).last_counted for off in (paused, after)]
            if ends[0] != ends[1]:
                out.append((min(ends) + timedelta(days=1), max(ends), plan.reeds))
        return out


def _both(change: Change, column: str) -> set[Any]:
    return {row[column] for row in (change.old, change.new) if row is not None} - {None}


def _differ(change: Change, *columns: str) -> bool:
    """Say whether a row comes, goes, or says something else in one of these columns."""
    if change.old is None or change.new is None:
        return True
    return any(change.old.get(c) != change.new.get(c) for c in columns)
