"""Invented plans and logbooks for the handouts."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)  # a Monday
NAME = "Größe; naß, dünn"
REEDS = ("2-01", "2-02", "2-03", "2-04")


def a_plan(*, days: int = 10, reeds: tuple[str, ...] = REEDS, a_day: int = 2, **changes: Any) -> Protocol:
    """Reed by reed, pairs; `a_day` reeds a day in turn."""
    units = tuple(Unit(r, f"s{k // 2 + 1}", (r,)) for k, r in enumerate(reeds))
    slots = tuple(Slot(d + 1, k + 1, reeds[(d * a_day + k) % len(reeds)])
                  for d in range(days) for k in range(a_day))
    plan = Protocol(
        trial=NAME, question="drying", ask="Does drying in the open help?", instrument="clarinet",
        habits=(Habit("case", "straight into the case", "Wipe it and put it away."),
                Habit("open", "drying in the open", "Lay it flat side up for 15 minutes.")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=days, units=units,
        dealt=tuple("open" if k % 2 else "case" for k in range(len(reeds))), slots=slots, seed=5)
    return replace(plan, **changes)


def a_logbook(reeds: tuple[str, ...] = REEDS, **more: list[dict[str, Any]]) -> Frames:
    """Reeds broken in and played for a week before the start, and what else is handed in."""
    before = [{"sitting": f"b{r}{k}", "date": START - timedelta(days=k), "reed": r, "play_min": 30}
              for r in reeds for k in range(1, 5)]
    return Frames.trusted(  # its name is one no logbook takes
        boxes=[{"box": "2", "instrument": "clarinet"}],
        reeds=[{"reed": r, "box": r.split("-")[0], "first_play": 6.0} for r in reeds],
        sittings=before + more.pop("sittings", []), **more)
