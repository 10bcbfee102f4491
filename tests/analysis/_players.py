"""Small invented trials for the tests of the analysis: plans, and logbook frames made from plain numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 1, 5)
A, B = Habit("mouth", "wetting in the mouth"), Habit("water", "wetting in water")


def deal(blocks: Sequence[str], rng: np.random.Generator) -> tuple[str, ...]:
    """Deal half of each block to B, in a fresh order."""
    out = [""] * len(blocks)
    for b in dict.fromkeys(blocks):
        places = [i for i, x in enumerate(blocks) if x == b]
        keys = [A.key, B.key] * (len(places) // 2) + [A.key] * (len(places) % 2)
        for i, k in zip(places, rng.permutation(keys), strict=True):
            out[i] = str(k)
    return tuple(out)


def plan(design: str, outcome: str, units: Sequence[Unit], *, seed: int = 1, days: int = 14,
         **more: Any) -> Protocol:
    rng = np.random.default_rng(seed)
    base: dict[str, Any] = {
        "trial": "t", "question": "wetting", "ask": "Which?", "instrument": "clarinet", "habits": (A, B),
        "design": design, "outcome": outcome, "matters": 1.5 if outcome.endswith("hours") else 1.0, "start": START,
        "days": days, "seed": seed, "units": tuple(units), "dealt": deal([u.block for u in units], rng)}
    return Protocol(**{**base, **more})


def squares(n: int = 7, *, reeds: int = 4, **more: Any) -> Protocol:
    """Day by day, two reeds a day: square k stands on days 2k+1 and 2k+2, the pairs of reeds in turn."""
    units, slots = [], []
    for k in range(n):
        first = 2 * (k % (reeds // 2)) + 1
        r, s, d = f"1-{first:02d}", f"1-{first + 1:02d}", 2 * k + 1
        units += [Unit(f"d{d}a", f"set {k + 1}", (r, s), ((r, d), (s, d + 1))),
                  Unit(f"d{d}b", f"set {k + 1}", (r, s), ((s, d), (r, d + 1)))]
        slots += [Slot(day, o, x) for day in (d, d + 1) for o, x in enumerate((r, s), start=1)]
    return plan("day_by_day", "day_rating", units, days=2 * n, slots=tuple(slots), **more)


def one_a_day(n: int = 7, *, reeds: int = 2, **more: Any) -> Protocol:
    """Day by day, one reed a day, in sets of two days of the same reed."""
    units = []
    for k in range(n):
        r = f"1-{k % reeds + 1:02d}"
        units += [Unit(f"day {d}", f"set {k + 1}", (r,), ((r, d),)) for d in (2 * k + 1, 2 * k + 2)]
    return plan("day_by_day", "day_rating", units, days=2 * n, **more)


def by_reed(sizes: Sequence[int] = (2,) * 6, *, outcome: str = "mean_rating", days: int = 20, box: str = "1",
            slots: bool = True, **more: Any) -> Protocol:
    """Reed by reed: blocks of the given sizes; every block is rated on every second day."""
    units, planned, at = [], [], 0
    for k, size in enumerate(sizes):
        for _ in range(size):
            at += 1
            units.append(Unit(f"{box}-{at:02d}", f"set {k + 1}", (f"{box}-{at:02d}",)))
            planned += [Slot(d, 1, f"{box}-{at:02d}") for d in range(1 + k % 2, days + 1, 2)]
    return plan("reed_by_reed", outcome, units, days=days, slots=tuple(planned) if slots else (), **more)


def frames(protocol: Protocol, sittings: Sequence[Mapping[str, Any]], **more: Any) -> Frames:
    """Frames around sittings; reeds and boxes are made from the protocol where not given."""
    reeds = more.pop("reeds", [{"reed": r, "box": r.partition("-")[0], "first_play": 6.0} for r in protocol.reeds])
    boxes = [{"box": b, "instrument": "clarinet"} for b in sorted({r["box"] for r in reeds})]
    rows = [{"sitting": f"s{i}", **s} for i, s in enumerate(sittings)]
    return Frames.trusted(sittings=rows, reeds=reeds, boxes=boxes, **more)


def on(day: int) -> date:
    """Return the date of a trial day without pauses."""
    return START + timedelta(days=day - 1)


def rated(protocol: Protocol, rating: Callable[[str, int, str], float], *, minutes: float = 20.0,
          log_habit: bool = True) -> list[dict[str, Any]]:
    """Return one sitting for every planned (reed, day), rated by `rating(reed, day, habit key)`."""
    cells = [(s.reed, s.day, s.order) for s in protocol.slots] or [
        (r, d, 1) for u in protocol.units for r, d in u.cells]
    out = []
    for reed, day, order in cells:
        habit = protocol.habit_for(reed, day)
        assert habit is not None
        out.append({"date": on(day), "reed": reed, "order": order, "play_min": minutes,
                    "overall": rating(reed, day, habit.key), "habit": habit.key if log_habit else None})
    return out


def after(protocol: Protocol) -> date:
    """Return a day after the end."""
    return on(protocol.days + 1)
