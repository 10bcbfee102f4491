"""A known constant gap, every allowed adjustment on: is the estimate right on average, does the range cover?

Run by hand from the project's folder::

    python tests/benchmarks/constant_gap.py --trials 1000

All data are invented. Ratings are neither rounded nor cut off at the ends of the scale: the gap is constant.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from statsmodels.stats.proportion import proportion_confint

from reedlab.analysis.trial import analyse
from reedlab.analysis.units.adjust import allowed_adjustments
from reedlab.rows.tables import Frames
from reedlab.trial.dealing import deal
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 1, 5)
HABITS = (Habit("mouth", "wetting in the mouth"), Habit("water", "wetting in water"))


@dataclass(frozen=True)
class Outcome:
    """Of many trials: mean estimate less the true gap with its error, cover with its 95 % range, open ranges."""

    trials: int
    bias: float
    error: float
    cover: float
    cover_low: float
    cover_high: float
    open_ends: float
    found: float


def squares(rng: np.random.Generator) -> Protocol:
    """Day by day: four reeds, two a day, 14 days, seven squares."""
    units, slots = [], []
    for k in range(7):
        r, s, d = f"1-{2 * (k % 2) + 1:02d}", f"1-{2 * (k % 2) + 2:02d}", 2 * k + 1
        units += [Unit(f"d{d}a", f"s{k}", (r, s), ((r, d), (s, d + 1))),
                  Unit(f"d{d}b", f"s{k}", (r, s), ((s, d), (r, d + 1)))]
        for day in (d, d + 1):
            slots += [Slot(day, o, str(x)) for o, x in enumerate(rng.permutation([r, s]), start=1)]
    return _plan("day_by_day", "day_rating", "diagonal", units, slots, 14, rng)


def one_a_day(rng: np.random.Generator) -> Protocol:
    """Day by day: two reeds in turn, one a day, 16 days, eight sets of two days."""
    units, slots = [], []
    for k in range(8):
        r = f"1-{k % 2 + 1:02d}"
        for d in (2 * k + 1, 2 * k + 2):
            units.append(Unit(f"day {d}", f"s{k}", (r,), ((r, d),)))
            slots.append(Slot(d, 1, r))
    return _plan("day_by_day", "day_rating", "sitting", units, slots, 16, rng)


def reeds(rng: np.random.Generator) -> Protocol:
    """Reed by reed: twelve reeds in sets of four and eight, each rated every third day for 21 days."""
    units, slots = [], []
    for i in range(12):
        reed = f"1-{i + 1:02d}"
        units.append(Unit(reed, "s0" if i < 4 else "s1", (reed,)))
    for d in range(1, 22):
        today = [u.unit for i, u in enumerate(units) if i // 4 == d % 3]
        slots += [Slot(d, o, str(x)) for o, x in enumerate(rng.permutation(today), start=1)]
    return _plan("reed_by_reed", "mean_rating", "reed", units, slots, 21, rng)


def _plan(design: str, outcome: str, kind: str, units: list[Unit], slots: list[Slot], days: int,
          rng: np.random.Generator) -> Protocol:
    blocks = [u.block for u in units]
    is_b = deal(blocks, seed=int(rng.integers(2**31)))
    return Protocol(
        trial="gap", question="wetting", ask="Which?", instrument="clarinet", habits=HABITS, design=design,
        outcome=outcome, matters=1.0, start=START, days=days, units=tuple(units), seed=1, slots=tuple(slots),
        dealt=tuple(HABITS[int(b)].key for b in is_b), adjust=allowed_adjustments(design, outcome, unit_kind=kind))


def play(protocol: Protocol, gap: float, rng: np.random.Generator, *, lost: float = 0.1) -> Frames:
    """Play a trial: reeds that differ and fade, drifting air and taste, moods, noise, forgotten ratings."""
    air = 45 + np.cumsum(rng.normal(0, 3, protocol.days)) + np.linspace(0, rng.normal(0, 8), protocol.days)
    mood, taste = rng.normal(0, 0.4, protocol.days), rng.normal(0, 0.05)
    quality = {r: rng.normal(0, 0.8) for r in protocol.reeds}
    fade = {r: rng.normal(0.1, 0.05) for r in protocol.reeds}
    hours = dict.fromkeys(protocol.reeds, 0.0)
    rows = []
    for i, s in enumerate(protocol.slots):
        d = s.day - 1
        habit = protocol.habit_for(s.reed, s.day)
        assert habit is not None
        y = (6 + quality[s.reed] - fade[s.reed] * hours[s.reed] + mood[d] + taste * d + 0.02 * (air[d] - 45)
             - 0.1 * s.order + rng.normal(0, 0.7) + gap * (habit.key == HABITS[1].key))
        minutes = float(rng.integers(10, 41))
        rows.append({"sitting": f"s{i}", "date": START + timedelta(days=d), "reed": s.reed, "order": s.order,
                     "play_min": minutes, "overall": None if rng.random() < lost else y, "habit": habit.key})
        hours[s.reed] += minutes / 60
    first = [{"reed": r, "box": "1", "first_play": 6 + q + rng.normal(0, 0.8)} for r, q in quality.items()]
    days = [{"date": START + timedelta(days=d), "humidity_pct": float(np.clip(a, 0, 100))}
            for d, a in enumerate(air) if rng.random() > 0.1]
    return Frames.trusted(sittings=rows, reeds=first, days=days)


def run(design: Callable[[np.random.Generator], Protocol], trials: int, *, gap: float = 1.0,
        seed: int = 20260301) -> Outcome:
    """Deal, play and analyse so many trials of a design."""
    rng = np.random.default_rng(seed)
    estimate, covered, open_end, found = [], 0, 0, 0
    for _ in range(trials):
        protocol = design(rng)
        main = analyse(protocol, play(protocol, gap, rng), today=START + timedelta(days=protocol.days + 1),
                       side_readings=False).main
        assert main is not None
        estimate.append(main.estimate)
        covered += main.low <= gap + 1e-9 and main.high >= gap - 1e-9
        open_end += not np.isfinite(main.low + main.high)
        found += main.verdict == "b_better"
    e = np.array(estimate)
    low, high = proportion_confint(covered, trials, method="beta")
    return Outcome(trials, float(e.mean() - gap), float(e.std(ddof=1) / np.sqrt(trials)), covered / trials,
                   float(low), float(high), open_end / trials, found / trials)


DESIGNS = {"day by day, squares": squares, "day by day, one reed a day": one_a_day, "reed by reed": reeds}

if __name__ == "__main__":
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--trials", type=int, default=1000)
    options.add_argument("--seed", type=int, default=20260301)
    chosen = options.parse_args()
    for name, make in DESIGNS.items():
        o = run(make, chosen.trials, seed=chosen.seed)
        print(f"{name}: {o.trials} trials, bias {o.bias:+.3f} (error {o.error:.3f}), range covers "
              f"{o.cover:.1%} ({o.cover_low:.1%} to {o.cover_high:.1%}), open-ended {o.open_ends:.1%}, "
              f"found {o.found:.1%}")
