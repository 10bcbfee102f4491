"""Which rows of a whole logbook a rule between rows may find fault with: SQLite looks for them, reading as it goes.

Each rule then judges these rows and what they are held against, as it would judge them among all. So a logbook of
any length is checked in bounded memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

from ..rows.tables import TABLES
from ..trial.calendar import calendar_with
from ._finding import Find, find_in, in_order
from .between import MINUTES_A_DAY, NOT_AFTER_TODAY, plans_in

__all__ = ["suspects"]

Rows = dict[str, list[dict[str, Any]]]


def suspects(rule: str, find: Find, today: date) -> Rows:
    """Return by table the rows to judge by one of `cross_checks.RULES`, in order."""
    return _LOOK[rule](find, today)


def _all(find: Find, *tables: str) -> Rows:
    return {table: find(table, "1", ()) for table in tables}


def _doubles(find: Find, today: date) -> Rows:
    out = {}
    for name, spec in TABLES.items():
        keys = ", ".join(f'"{c}"' for c in spec.key)
        twice = f'SELECT "{spec.key[0]}" FROM "current_{name}" GROUP BY {keys} HAVING count(*) > 1'
        out[name] = find(name, f'"{spec.key[0]}" IN ({twice})', ())
    return out


def _references(find: Find, today: date) -> Rows:
    out: Rows = {name: [] for name in TABLES}
    for name, spec in TABLES.items():
        lost = []
        for f in spec.fields:
            if f.refers is not None:
                table, column = f.refers.split(".")
                known = f'SELECT "{column}" FROM "current_{table}" WHERE "{column}" IS NOT NULL'
                lost.append(f'("{f.name}" IS NOT NULL AND "{f.name}" NOT IN ({known}))')
        if lost:
            out[name] = find(name, " OR ".join(lost), ())
    return {**out, **_all(find, "boxes", "setups", "reeds", "trials")} if any(out.values()) else out


def _future(find: Find, today: date) -> Rows:
    return {name: find(name, " OR ".join(f'"{c}" > ?' for c in columns), (today.isoformat(),) * len(columns))
            for name, columns in NOT_AFTER_TODAY.items()}


def _retired(find: Find, today: date) -> Rows:
    late = find("sittings", "EXISTS (SELECT 1 FROM current_retirements AS gone WHERE gone.reed = one.reed "
                "AND gone.date < one.date)", ())
    return {"sittings": late, "retirements": find_in(find, "retirements", "reed", {r["reed"] for r in late})}


def _long_days(find: Find, today: date) -> Rows:
    long = f"SELECT date FROM current_sittings GROUP BY date HAVING sum(play_min) > {MINUTES_A_DAY}"
    return {"sittings": find("sittings", f"date IN ({long})", ())}


def _trials(find: Find, today: date) -> Rows:
    trials, deals = find("trials", "1", ()), find("deals", "1", ())
    reeds = {reed for _, plan in plans_in(trials, deals) for reed in plan.reeds}
    some = find_in(find, "reeds", "reed", reeds)
    if reeds - {r["reed"] for r in some}:  # the nearest is named
        some = find("reeds", "1", ())
    return {"trials": trials, "deals": deals, "reeds": some, "boxes": find("boxes", "1", ()),
            "retirements": find_in(find, "retirements", "reed", reeds)}


def _habits(find: Find, today: date) -> Rows:
    trials, deals, days = find("trials", "1", ()), find("deals", "1", ()), find("days", "pause = 1", ())
    found: dict[int, dict[str, Any]] = {}
    for row, plan in plans_in(trials, deals):
        last = calendar_with(plan, [d["date"] for d in days], row["ended"]).last_counted
        ways = [h.key for h in plan.habits]
        some = find_in(find, "sittings", "reed", plan.reeds,
                       "habit IS NOT NULL AND habit NOT IN (?, ?) AND date BETWEEN ? AND ?",
                       (*ways, plan.start.isoformat(), last.isoformat()))
        found.update((r["entry_id"], r) for r in some)
    return {"trials": trials, "deals": deals, "days": days, "sittings": in_order(found.values())}


_LOOK: Final[Mapping[str, Callable[[Find, date], Rows]]] = {
    "doubles": _doubles, "reed_codes": lambda find, _: _all(find, "reeds"), "references": _references,
    "future": _future, "retired": _retired, "long_days": _long_days, "trials": _trials,
    "overlaps": lambda find, _: _all(find, "trials", "deals"), "habits": _habits,
    "looks": lambda find, _: _all(find, "looks", "trials"), "deals": lambda find, _: _all(find, "deals", "trials"),
}
