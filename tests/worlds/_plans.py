"""Hand-made plans for the tests of the worlds."""

from __future__ import annotations

from datetime import date
from typing import Any

from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

MOUTH_WATER = (Habit("mouth", "wetting in the mouth"), Habit("water", "wetting in water"))
CASE_OPEN = (Habit("case", "straight into the case"), Habit("open", "drying in the open"))


def squares(days: int = 14, reeds: tuple[str, ...] = ("1-01", "1-02", "1-03", "1-04"), **more: Any) -> Protocol:
    """Two reeds a day in 2 × 2 squares, the pairs of reeds in turn."""
    units, dealt, slots = [], [], []
    for q in range(days // 2):
        d, (r, s) = 2 * q + 1, reeds[:2] if q % 2 == 0 else reeds[2:]
        units += [Unit(f"s{q}x", f"s{q}", (r, s), ((r, d), (s, d + 1))),
                  Unit(f"s{q}y", f"s{q}", (r, s), ((r, d + 1), (s, d)))]
        dealt += ["mouth", "water"] if q % 3 else ["water", "mouth"]
        slots += [Slot(t, k, x) for t in (d, d + 1) for k, x in ((1, r), (2, s))]
    return Protocol(**{
        "trial": "wetting", "question": "wetting", "ask": "Water or mouth?", "instrument": "clarinet",
        "habits": MOUTH_WATER, "design": "day_by_day", "outcome": "day_rating", "matters": 1.0,
        "start": date(2026, 1, 5), "days": days, "units": tuple(units), "dealt": tuple(dealt),
        "slots": tuple(slots), **more})


def reeds_dealt(days: int = 21, boxes: int = 1, per_box: int = 10, set_size: int = 10,
                outcome: str = "mean_rating", matters: float = 1.0, **more: Any) -> Protocol:
    """Reed by reed, without named slots: matched sets of `set_size` within each box, half to each habit."""
    reeds = [f"{b + 1}-{k + 1:02d}" for b in range(boxes) for k in range(per_box)]
    units = tuple(Unit(r, f"box {r[0]} set {(int(r[2:]) - 1) // set_size}", (r,)) for r in reeds)
    dealt = tuple("open" if int(r[2:]) % 2 else "case" for r in reeds)
    return Protocol(**{
        "trial": "drying", "question": "drying", "ask": "Open or case?", "instrument": "clarinet",
        "habits": CASE_OPEN, "design": "reed_by_reed", "outcome": outcome, "matters": matters,
        "start": date(2026, 1, 5), "days": days, "units": units, "dealt": dealt, **more})
