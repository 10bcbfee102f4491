"""Plans played through beforehand: those of a player nobody knows yet, with one box or two, at a usual hour a day.

`known.csv` holds what `look_ahead` says of each, to the last trial. `python tests/benchmarks/known_plans.py` makes it
anew; a test plays some of them through again.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final, NamedTuple

__all__ = ["COLUMNS", "Known", "KnownKey", "KnownOdds", "Weighed", "known"]

COLUMNS: Final = ("kind", "design", "outcome", "asked_days", "sizes", "minutes", "plan", "days", "offered", "reeds",
                  "changes", "cap", "alike", "matters", "least_p", "sittings", "hours", "worn_out")


class KnownKey(NamedTuple):
    """How a plan is found: the kind of question, how it is asked, for how long, with which boxes, minutes a day."""

    kind: str
    design: str
    outcome: str
    days: int
    sizes: tuple[int, ...]
    minutes: float


@dataclass(frozen=True)
class Weighed:
    """What is known of a plan.

    Its days; the reeds it was offered, the best ones, and those it takes; changes of reed on a day of play; the cap of
    hours; and its chances (`Outlook.right`, `same`).
    """

    days: int
    offered: int
    reeds: int
    changes_a_day: float
    cap_hours: float | None
    right: float
    same: float


@dataclass(frozen=True)
class KnownOdds:
    """Trials with each verdict, in the order of `forecast.VERDICTS`, if the ways are alike and if they differ by what
    matters; and what the forecast says besides."""

    alike: tuple[int, ...]
    matters: tuple[int, ...]
    least_p: float
    sittings: float
    hours: float
    worn_out: float


class Known(NamedTuple):
    """What is known beforehand: of plans before they are drawn up, and of odds by fingerprint and minutes a day."""

    plans: Mapping[KnownKey, Weighed]
    odds: Mapping[tuple[str, float], KnownOdds]


@cache
def known() -> Known:
    """Return what is known beforehand."""
    plans: dict[KnownKey, Weighed] = {}
    odds: dict[tuple[str, float], KnownOdds] = {}
    text = files(__package__).joinpath("known.csv").read_text(encoding="utf8")
    for row in csv.DictReader(text.splitlines()):
        found = KnownOdds(_ints(row["alike"]), _ints(row["matters"]), float(row["least_p"]), float(row["sittings"]),
                          float(row["hours"]), float(row["worn_out"]))
        odds[row["plan"], float(row["minutes"])] = found
        key = KnownKey(row["kind"], row["design"], row["outcome"], int(row["asked_days"]), _ints(row["sizes"]),
                       float(row["minutes"]))
        trials = sum(found.alike)
        plans[key] = Weighed(int(row["days"]), int(row["offered"]), int(row["reeds"]), float(row["changes"]),
                             float(row["cap"]) if row["cap"] else None, found.matters[0] / trials,
                             found.alike[2] / trials)
    return Known(MappingProxyType(plans), MappingProxyType(odds))


def _ints(text: str) -> tuple[int, ...]:
    return tuple(int(n) for n in text.split())
