"""A change held against the rows concerned is judged as with every row of the logbook at hand."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.errors import Fault
from reedlab.logbook import _rows, schema
from reedlab.logbook._admission import newly_wrong, spoken_key, still_held
from reedlab.logbook._concerned import Change
from reedlab.logbook._suspects import suspects
from reedlab.logbook.between import RULES, cross_check, faults_of, key_of
from reedlab.rows.tables import TABLES
from reedlab.trial.opened_boxes import opening
from reedlab.trial.protocol import Protocol, Slot, Unit

from .conftest import a_plan

TODAY = date(2026, 3, 20)
Rows = dict[str, list[dict[str, Any]]]
CODES = ("1-01", "1-02", "1-1", "2-01", "2-02", "2-03")
BOXES = ("1", "2")


def slow(before: Rows, changes: Sequence[Change], numbers: Sequence[int]) -> list[Fault]:
    """Cross-check every row before and after, and return what is new."""
    after = {t: list(rows) for t, rows in before.items()}
    places = {}
    for c, n in zip(changes, numbers, strict=True):
        rows = after[c.table]
        if c.old is None:
            places[c.table, len(rows)] = n
            rows.append(dict(c.new or {}))
            continue
        at = next(i for i, r in enumerate(rows) if r.get("entry_id") == c.old["entry_id"])
        if c.new is None:
            del rows[at]
        else:
            rows[at] = dict(c.new)
            places[c.table, at] = n

    def name(rows: Mapping[str, Sequence[Any]], f: Any) -> tuple[Any, ...]:
        return f.table, key_of(f.table, rows[f.table][f.row]), f.column, f.found, f.wanted

    had = {name(before, f) for f in cross_check(before, TODAY)}
    out = []
    for f in cross_check(after, TODAY):
        n = places.get((f.table, f.row))
        if n is not None:
            out.append(Fault(f.table, n, f.column, f.found, f.wanted))
        elif name(after, f) not in had:
            where = spoken_key(f.table, after[f.table][f.row])
            out.append(Fault(f.table, None, f.column, f"{f.found} ({where})", f.wanted))
    return out


def some_plan(rng: np.random.Generator) -> Protocol:
    reeds = tuple(sorted(rng.choice(CODES, 2, replace=False)))
    start = TODAY + timedelta(days=int(rng.integers(-12, 4)))
    days = int(rng.integers(1, 8))
    return a_plan(
        str(rng.choice(["one", "two", "three"])), start=start, days=days, design="reed_by_reed", outcome="mean_rating",
        units=tuple(Unit(r, "b", (r,)) for r in reeds), dealt=("lick", "soak"),
        slots=tuple(Slot(1, i, r) for i, r in enumerate(reeds, start=1)),
        instrument=str(rng.choice(["clarinet", "clarinet", "other"])))


def standing_plan(rng: np.random.Generator) -> Protocol:
    return a_plan(
        str(rng.choice(["one", "two", "four"])), start=TODAY - timedelta(days=20), days=3660, design="reed_by_reed",
        outcome="life_hours", matters=1.5, units=(), dealt=(), slots=(), seed=3, standing="box", how_dealt="seed")


def some_row(rng: np.random.Generator, table: str) -> dict[str, Any]:
    """Return a random row, as `read_row` would: mostly sound, with values that are also found elsewhere."""
    def day() -> date:
        return TODAY + timedelta(days=int(rng.integers(-14, 2)))

    def seldom(value: Any, share: float = 0.1) -> Any:
        return value if rng.random() < share else None

    row: dict[str, Any] = dict.fromkeys(TABLES[table].columns)
    row |= {f.name: False for f in TABLES[table].fields if f.kind == "bool"}
    reed = seldom(None) or str(rng.choice(CODES))
    if table == "boxes":
        row |= {"box": str(rng.choice(BOXES)), "instrument": str(rng.choice(["clarinet", "other"])), "opened": day()}
    elif table == "setups":
        row |= {"setup": str(rng.choice(["main", "old"]))}
    elif table == "reeds":
        row |= {"reed": reed, "box": reed[0] if rng.random() < 0.9 else str(rng.choice(BOXES)),
                "first_played": seldom(day())}
    elif table == "sittings":
        row |= {"sitting": str(rng.integers(0, 40)), "date": day(), "reed": reed, "setup": seldom("main", 0.5),
                "play_min": float(rng.choice([20, 300, 700])), "habit": seldom(str(rng.choice(["lick", "x"])), 0.5),
                "order": seldom(int(rng.integers(1, 4)), 0.5), "unsure_reed": bool(rng.random() < 0.1)}
    elif table == "days":
        row |= {"date": day() + timedelta(days=int(rng.integers(0, 3))), "pause": bool(rng.random() < 0.5),
                "humidity_pct": seldom(50.0, 0.5)}
    elif table == "retirements":
        row |= {"reed": reed, "date": day(), "reason": "worn_out"}
    elif table == "trials":
        plan = some_plan(rng) if rng.random() < 0.6 else standing_plan(rng)
        row |= {"trial": plan.trial, "started": plan.start, "ended": seldom(day(), 0.3),
                "protocol_sha256": plan.sha256, "protocol": plan.to_json()}
    elif table == "looks":
        row |= {"trial": str(rng.choice(["one", "two", "three"])), "date": day(), "why": "curious"}
    elif table == "guesses":
        row |= {"trial": str(rng.choice(["one", "two"])), "unit": str(rng.integers(3)), "date": day()}
    elif table == "deals":
        plan, other = standing_plan(rng), str(rng.choice([c for c in CODES if c != reed]))
        row |= opening(plan, [reed, other], day(), number=int(rng.integers(1, 3)))[int(rng.integers(2))]
        row["habit"] = seldom(str(rng.choice(["lick", "soak"])), 0.3) or row["habit"]
    elif table == "concerts":
        row |= {"date": day()}
    else:
        row |= {"weekday": str(rng.choice(["monday", "sunday"])), "play_min": 60.0}
    return row


OFTEN = ("sittings", "sittings", "sittings", "reeds", "reeds", "days", "retirements", "trials", "boxes",
         "deals")


@pytest.fixture
def connection() -> Iterator[sqlite3.Connection]:
    one = sqlite3.connect(":memory:", isolation_level=None)
    schema.create(one)
    yield one
    one.close()


def read(connection: sqlite3.Connection) -> Rows:
    return {t: _rows.current(connection, t) for t in TABLES}


def a_change(rng: np.random.Generator, before: Rows) -> list[Change]:
    """Return a batch of new rows, one correction or one withdrawal."""
    table = str(rng.choice(OFTEN if rng.random() < 0.8 else list(TABLES)))
    kind = rng.random()
    if kind < 0.5 or not before[table]:
        more = [str(rng.choice(OFTEN)) for _ in range(int(rng.integers(0, 3)))]
        return [Change(t, None, some_row(rng, t)) for t in (table, *more)]
    old = before[table][int(rng.integers(len(before[table])))]
    if kind < 0.7:
        return [Change(table, old, None)]
    new = {c: old[c] for c in TABLES[table].columns}
    fresh = some_row(rng, table)
    for column in TABLES[table].columns:
        if rng.random() < 0.3:
            new[column] = fresh[column]
    return [Change(table, old, new)]


@pytest.mark.parametrize("seed", range(16))
def test_rows_concerned_give_the_faults_that_all_rows_give(connection: sqlite3.Connection, seed: int) -> None:
    """Random changes of a logbook that grows by those without fault; refused ones are told in the same words."""
    rng = np.random.default_rng(seed)
    refused = 0

    def find(table: str, where: str, values: Sequence[Any]) -> list[dict[str, Any]]:
        return _rows.current(connection, table, where, values)

    for _ in range(120):
        before = read(connection)
        changes = a_change(rng, before)
        numbers = range(1, len(changes) + 1)
        told = newly_wrong(changes, numbers, find, TODAY)
        assert told == slow(before, changes, numbers), changes
        refused += bool(told)
        if not told:
            for c in changes:
                old = None if c.old is None else c.old["entry_id"]
                _rows.insert(connection, c.table, c.new or c.old or {}, entered_at="2026-03-20T20:00:00Z",
                             supersedes=old, withdrawn=c.new is None)
    assert 10 < refused < 110


@pytest.mark.parametrize("seed", range(6))
def test_rows_that_say_whether_reeds_are_held_are_enough(connection: sqlite3.Connection, seed: int) -> None:
    """A plan about to start is refused for the same trials, whether all rows or those concerned are read."""
    rng = np.random.default_rng(100 + seed)
    for table in ("trials", "trials", "trials", *OFTEN * 4):
        row = some_row(rng, table)
        if table == "trials" and "standing" not in row["protocol"] and rng.random() < 0.4:  # until its reeds are done
            plan = replace(Protocol.from_json(row["protocol"]), same_days=False, cap_hours=5.0, outcome="life_hours",
                           matters=1.5)
            row |= {"protocol": plan.to_json(), "protocol_sha256": plan.sha256}
        _rows.insert(connection, table, row, entered_at="2026-03-20T20:00:00Z")
    held, every = 0, read(connection)
    for _ in range(20):
        plan = some_plan(rng)
        all_ = still_held(plan, lambda t, w, v: [r for r in every[t] if t != "days" or r["pause"]])
        assert still_held(plan, lambda t, w, v: _rows.current(connection, t, w, v)) == all_
        held += bool(all_)
    assert held


@pytest.mark.parametrize("seed", range(8))
def test_rows_that_may_be_at_fault_are_found(connection: sqlite3.Connection, seed: int) -> None:
    """A logbook full of faults is judged by the rows that SQLite picks out as it is with every row at hand."""
    rng = np.random.default_rng(200 + seed)
    for _ in range(int(rng.integers(5, 60))):
        table = str(rng.choice(OFTEN if rng.random() < 0.8 else list(TABLES)))
        _rows.insert(connection, table, some_row(rng, table), entered_at="2026-03-20T20:00:00Z")
    every = read(connection)
    told = 0
    for rule in RULES:
        some = suspects(rule, lambda t, w, v: _rows.current(connection, t, w, v), TODAY)
        said, all_said = ([(f.table, rows[f.table][f.row]["entry_id"], *f[2:]) for f in faults_of(rule, rows, TODAY)]
                          for rows in (some, every))
        assert said == all_said, rule
        told += len(said)
    assert told
