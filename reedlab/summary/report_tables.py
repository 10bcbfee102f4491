"""The tables of the report: what was planned and what came of it, and the order of the ways with every value."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from ..wording import tr
from . import numbers
from .case import Case
from .words.report_found import ENDED

__all__ = ["accounted", "sequence"]

_COUNTED: Final = {
    "planned": tr("{units} planned"), "whole": tr("{units} whole"), "half": tr("{units} half"),
    "counted": tr("{units} counted"), "left out": tr("{units} left out"),
}
#: The marks of the ways, as on the sheet: a ring and a square.
MARK: Final = {"A": "○", "B": "■"}
Table = tuple[Sequence[str], Sequence[Sequence[str]]]


def accounted(case: Case) -> Table | None:
    """Return how many units were planned, whole, half and left out, by way, adding up; None while sealed."""
    units, points = case.result.units, case.result.points
    if case.main is None or case.is_diary or units is None:
        return None
    used = set(units.loc[units["used"].astype(bool), "unit"].astype(str))
    rated = {} if points is None else points.groupby(points["unit"].astype(str)).size().to_dict()
    counts = {name: [0, 0] for name in ("planned", "whole", "half", "left out")}
    for unit, arm in zip(case.plan.units, case.plan.arms, strict=True):
        side = "AB".index(arm)
        whole = not unit.cells or rated.get(unit.unit, 0) >= len(unit.cells)
        counts["planned"][side] += 1
        counts["left out" if unit.unit not in used else "whole" if whole else "half"][side] += 1
    if case.plan.unit_kind == "reed":  # a reed is counted or not, with as many ratings as it got
        counts["counted"] = counts.pop("whole")
        counts = {name: counts[name] for name in ("planned", "counted", "left out")}
    each = case.counted_units(2).removeprefix("2 ").capitalize()
    rows = [(_COUNTED[name].format(units=each), str(a), str(b), str(a + b)) for name, (a, b) in counts.items()]
    p = case.result.progress
    if p.sittings_planned:
        rows += [(name, "", "", f"{n:,}") for name, n in (
            (tr("Ratings due"), p.sittings_planned), (tr("Ratings given"), p.sittings_rated),
            (tr("Ratings missing"), p.sittings_planned - p.sittings_rated))]
    return ("", case.plain_name("A"), case.plain_name("B"), tr("Both")), rows


def sequence(case: Case) -> Table | None:
    """Return every rating in the order of the days with its way, or every reed with its way; None while sealed."""
    units, points = case.result.units, case.result.points
    if case.main is None or units is None:
        return None
    if not any(u.cells for u in case.plan.units):
        return _reeds(case)
    given = {} if points is None else {(str(r), int(d)): float(v) for r, d, v in
                                       zip(points["reed"], points["day"], points["rating"], strict=True)}
    days: dict[int, list[str]] = {}
    for day, reed, arm in sorted((day, reed, arm) for unit, arm in zip(case.plan.units, case.plan.arms, strict=True)
                                 for reed, day in unit.cells):
        days.setdefault(day, []).append(f"{reed} {MARK[arm]} {_value(given.get((reed, day)))}")
    return (tr("Day"), tr("Date"), f"{MARK['A']} {case.plain_name('A')}, {MARK['B']} {case.plain_name('B')}"), [
        (str(day), (case.plan.start + timedelta(days=day - 1)).isoformat(), " · ".join(told))
        for day, told in days.items()]


def _reeds(case: Case) -> Table:
    units = case.result.units
    assert units is not None
    ends = case.is_ratio and "ended" in units
    way = tr("First way") if case.plan.crossover else tr("Way")
    head = (tr("Reed"), way, case.set_noun.capitalize(), tr("Hours"), tr("Ended") if ends else tr("Value"))
    rows = []
    for row in units.sort_values(["block", "arm"], kind="stable").to_dict("records"):
        value = _value(row["value"] if row["used"] else None)
        last = ENDED.get(str(row["ended"]), str(row["ended"])) if ends else value
        rows.append((str(row["unit"]), case.plain_name(row["arm"]), str(row["block"]), _value(row.get("hours")), last))
    return head, rows


def _value(x: float | None) -> str:
    return tr("missing") if x is None or x != x else numbers.rounded(float(x), 0.01)
