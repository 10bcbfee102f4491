"""Invented plans and diaries for the tests of the schedule."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any

from reedlab.plan import draw_up
from reedlab.rows.tables import Frames
from reedlab.schedule import Schedule, schedule
from reedlab.trial.protocol import Protocol

from ..plan._reeds import reeds

START = date(2026, 3, 2)  # a Monday
OTHERS = [{"reed": f"9-0{i}", "box": "9", "first_play": 7.0} for i in (1, 2, 3)]


def on(number: int) -> date:
    """Trial day -> date, without pauses."""
    return START + timedelta(days=number - 1)


@cache
def plan(question: str = "drying", size: int = 10, **more: Any) -> Protocol:
    table = reeds(5, 5) if question == "cut_or_strength" else reeds(size)
    return draw_up(question, table, start=START, seed=5, instrument="clarinet", simulations=100, **more).protocol


def book(p: Protocol, sittings: list[dict[str, Any]] | None = None, *, others: bool = False,
         **more: Any) -> Frames:
    rows = [{"reed": r, "box": r.split("-")[0], "first_play": 6.0} for r in p.reeds] + (OTHERS if others else [])
    return Frames.of(boxes=[{"box": b, "instrument": "clarinet"} for b in ("1", "2", "9")], reeds=rows,
                     sittings=sittings or [], **more)


def sat(when: date, reed: str, minutes: float = 10.0, overall: float | None = 7.0, **more: Any) -> dict[str, Any]:
    return {"sitting": f"{when}-{reed}-{more.get('where', 'p')}", "date": when, "reed": reed, "play_min": minutes,
            "overall": overall, "where": "practice", **more}


def follow(s: Schedule, until: date) -> list[dict[str, Any]]:
    """The entries of a player who does what a schedule says before a date."""
    return [sat(d.on, x.reed, x.minutes, 7.0 if x.rate else None, habit=x.habit,
                where="concert" if x.kind == "concert" else "practice")
            for d in s.days if d.on < until for x in d.lines if x.minutes > 0]


def made(p: Protocol, today: date = START, sittings: list[dict[str, Any]] | None = None, *, others: bool = False,
         tables: dict[str, Any] | None = None, **wishes: Any) -> Schedule:
    return schedule(p, book(p, sittings, others=others, **(tables or {})), today=today,
                    **{"usual_min": 60, **wishes})


def owed(s: Schedule) -> dict[int, list[str]]:
    return {d.number: [x.reed for x in d.owed] for d in s.days if d.number is not None}


def slots(p: Protocol) -> dict[int, list[str]]:
    out: dict[int, list[str]] = {d: [] for d in range(1, p.days + 1)}
    for s in sorted(p.slots, key=lambda s: (s.day, s.order)):
        out[s.day].append(s.reed)
    return out
