"""A trial to take along, and what its page would hand back."""

from __future__ import annotations

import json
import zlib
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from reedlab.handout.away import FORMAT, VERSION
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 9)
REEDS = ("1-01", "1-02", "1-03", "1-04")
PLAN = Protocol(
    trial="Open or not", question="drying", ask="Does drying in the open help?", instrument="clarinet",
    habits=(Habit("case", "straight into the case", "Wipe it."), Habit("open", "drying in the open", "Lay it flat.")),
    design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
    units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)), dealt=("case", "open", "open", "case"),
    slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2)


def begun(path: Path, on: date = START, plan: Protocol = PLAN) -> Path:
    """Make a logbook with the trial, its reeds broken in."""
    with Logbook.create(path, now=lambda: datetime.combine(on, datetime.min.time()).astimezone()) as logbook:
        logbook.add_many([
            Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1", first_play=6) for r in REEDS),
            *(Sitting(date=START - timedelta(days=k), reed=r, play_min=30) for r in REEDS for k in range(1, 5))])
        logbook.start_trial(plan)
    return path


def opened(path: Path, on: date) -> Logbook:
    """Open it on a day."""
    return Logbook.open(path, now=lambda: datetime.combine(on, datetime.min.time()).astimezone())


def sitting(n: int, on: date, reed: str, **more: str) -> dict[str, str]:
    """One entry as the page writes it."""
    way = dict(zip(REEDS, PLAN.dealt, strict=True))[reed]
    return {"sitting": f"away-mmawxmo{n % 10}-rns4p{n:03d}", "date": on.isoformat(), "reed": reed,
            "where": "practice", "play_min": "10", "overall": "7", "habit": way, **more}


def handed(sittings: Any = (), days: Any = (), gone: Any = (), **more: Any) -> str:
    """What the page hands back."""
    body = {"code": "", "format": FORMAT, "made": START.isoformat(), "plan": PLAN.sha256, "trial": PLAN.trial,
            "version": VERSION, "sittings": list(sittings), "days": list(days), "gone": list(gone), **more}
    plain = json.dumps(body, separators=(",", ":"), ensure_ascii=False)
    return json.dumps({**body, "check": f"{zlib.crc32(plain.encode()):08x}"}, indent=1, ensure_ascii=False)
