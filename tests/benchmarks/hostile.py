"""Plans and worlds that try to make the test lie: shared by the calibration benchmark and its reduced test.

All data are invented; the numbers of the worlds are our assumptions.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, Final

import numpy as np

from reedlab.analysis.batch import BatchTrials
from reedlab.analysis.units.blind import playing_hours
from reedlab.plan import draw_up
from reedlab.plan.forecast import with_effect
from reedlab.rows.tables import typed
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.protocol import Protocol, Slot, Unit
from reedlab.worlds import World

START: Final = date(2026, 1, 5)

#: Changes to the world. `LOPSIDED` changes the plan instead.
LOPSIDED: Final = "one reed with ten times the sittings"
_HARD: Final = {"mood_sd": 1.2, "adherence": 0.7, "bad_days_decide": True}
WORLDS: Final[Mapping[str, Mapping[str, Any]]] = {
    "as assumed": {},
    "strong drift: reeds sink fast and unequally, moods last": {
        "wear_per_hour": 0.3, "wear_sd": 0.2, "mood_sd": 1.5, "mood_rho": 0.95},
    "storms of weather: -4 points on 15 % of days, in spells": {
        "storm_share": 0.15, "storm_points": 4.0, "humidity_sd": 15.0, "air_points_sd": 0.8},
    "half the days missing": {"day_off": 0.5},
    "bad days (3 in 10) not logged": {"bad_days_lost": 0.3, "mood_sd": 1.2},
    "heavy ceiling": {"level": 10.0},
    "whole points, four values used": {"step": 1.0, "ends": (6.0, 9.0)},
    "very unequal reeds (spread 3 points)": {"reed_sd": 3.0},
    "two boxes that differ (spread 3 points)": {"box_sd": 3.0},
    "half the reeds broken": {"damage_share": 0.95},
    LOPSIDED: {},
    "taste drift (spread 2 points)": {"taste_sd": 2.0},
    "adherence 70 %, slips by chance": {"adherence": 0.7},
    "adherence 70 %, bad days decide": _HARD,
    "bad days decide, and are not logged": {**_HARD, "bad_days_lost": 0.3},
    "place in the day counts (-0.8 points each)": {"order_points": -0.8},
    "much of it at once": {
        **_HARD, "wear_per_hour": 0.2, "wear_sd": 0.15, "day_off": 0.3, "bad_days_lost": 0.15, "step": 1.0,
        "damage_share": 0.5, "reed_sd": 2.0, "taste_sd": 1.0, "storm_share": 0.1},
}

#: Ratings that are never rounded or cut off, and reeds that never wear out: a constant shift stays constant.
CLEAN: Final = {"ends": (-100.0, 100.0), "step": 0.01, "level": 5.0, "life_median_h": 900.0, "damage_share": 0.0,
                "adherence": 1.0, "forgotten": 0.0, "unsure_reed": 0.0, "unrated": 0.1}
#: A reed stays in its box, so only where all reeds are equal is there no difference between two boxes.
_EQUAL_REEDS: Final = {"reed_sd": 0.0, "box_sd": 0.0, "wear_sd": 0.0, "life_median_h": 900.0, "damage_share": 0.0}
#: Worlds at the margin.
AT_MARGIN: Final[Mapping[str, Mapping[str, Any]]] = {
    "constant shift, nothing cut off": CLEAN,
    "as assumed: 5 % slips, ends of the scale": {},
    "heavy ceiling": {"level": 10.0},
    "very heavy ceiling, whole points": {"level": 10.0, "reed_sd": 0.5, "noise_sd": 0.5, "step": 1.0},
    "whole points": {"step": 1.0},
    "four values used: never below 6 or above 9": {"step": 1.0, "ends": (6.0, 9.0)},
    "adherence 70 %, slips by chance": {"adherence": 0.7},
    "adherence 70 %, bad days decide": _HARD,
    "adherence 70 % under a ceiling": {"adherence": 0.7, "level": 9.5},
}


@dataclass(frozen=True)
class Case:
    """A plan with the world it is usually played in; several deals of it where the deal sets who plays when."""

    name: str
    plans: tuple[Protocol, ...]
    world: World

    def __post_init__(self) -> None:
        if not self.plans:
            raise ValueError("a case needs a plan")

    @property
    def plan(self) -> Protocol:
        return self.plans[0]

    @property
    def lives(self) -> bool:
        return OUTCOMES[self.plan.outcome].scale == "ratio"

    def in_world(self, name: str,
                 worlds: Mapping[str, Mapping[str, Any]] = WORLDS) -> tuple[World, tuple[Protocol, ...]]:
        """Return the world of that name for this case, and its plans."""
        changes = dict(worlds[name])
        if self.lives and changes.get("ends") == (6.0, 9.0):
            changes["ends"] = (3.0, 6.0)  # else no reed could ever be rated below the mark
        if self.plan.of_boxes:
            changes |= _EQUAL_REEDS
        if self.lives and worlds[name] is CLEAN:
            changes = {"adherence": 1.0, "unsure_reed": 0.0}  # lives end by ratings: the reeds stay mortal
        return self.world.but(**changes), (
            tuple(map(lopsided, self.plans)) if name == LOPSIDED and not self.plan.of_boxes else self.plans)

    def at_margin(self, name: str, side: int) -> tuple[World, tuple[Protocol, ...]]:
        """Return the world in which the second habit is ahead (1) or behind (-1) by what matters, and the plans.

        Lives are left alike here; `Case.stretched` sets their ratio, in hours as the player counts them.
        """
        world = self.in_world(name, AT_MARGIN)[0]
        if self.lives:
            # played on well past the cap, so that the cap cuts both habits' reeds at the same hours
            return world, tuple(p if p.cap_hours is None else
                                dataclasses.replace(p, cap_hours=p.cap_hours * p.matters) for p in self.plans)
        plans = self.plans
        if is_constant(name):
            plans = tuple(dataclasses.replace(p, worn_out_below=-100.0) for p in plans)
        return with_effect(world, self.plan.outcome, side * self.plan.matters), plans

    def stretched(self, trials: BatchTrials, side: int) -> BatchTrials:
        """Return trials of lives in which every sitting with the habit ahead took `matters` times as long.

        The ratio of playing hours is then exactly what matters, which a simulated effect on wear is not: the two
        low ratings in a row that end a life take their time whatever the habit. A cap cuts at the same hours for
        both habits. Without one all reeds are watched alike, as on shared days: one still going to the hours it had
        before it was stretched, any other to those of a reed of its trial drawn from the ones still going.
        """
        ahead = trials.used_b if side > 0 else ~trials.used_b
        minutes = trials.play_min * np.where(ahead & (trials.unit >= 0), self.plan.matters, 1.0)
        if self.plan.cap_hours is not None:
            return dataclasses.replace(trials, play_min=minutes)
        _, played = playing_hours(trials.reed, trials.minutes)
        reeds = np.arange(trials.left_why.shape[1])
        had = np.stack([np.where(trials.reed == r, played, 0.0).max(axis=1) for r in reeds], axis=1)
        going = trials.left_why == "still_going"
        drawn = (np.random.default_rng(7).random((*going.shape, len(reeds))) * going[:, None, :]).argmax(axis=2)
        end = np.where(going, had, np.take_along_axis(had, drawn, axis=1))
        end = np.where(going.any(axis=1, keepdims=True), end, np.inf)[:, trials.reed]
        before, after = playing_hours(trials.reed, np.where(trials.counted, minutes, 0.0))
        cut = after > end + 1e-9
        over = np.stack([(cut & (trials.reed == r)).any(axis=1) for r in reeds], axis=1)
        return dataclasses.replace(
            trials, play_min=np.where(cut, 60 * np.maximum(end - before, 0.0), minutes),
            rating=np.where(cut, np.nan, trials.rating), counted=trials.counted & (before < end),
            left_day=np.where(over, 0, trials.left_day), left_why=np.where(over, "still_going", trials.left_why))


def is_constant(name: str) -> bool:
    """Say whether a world at the margin is the one in which the difference is constant."""
    return AT_MARGIN[name] is CLEAN


def drawn(question: str, outcome: str, boxes: int, each: int, *, seed: int = 3, **more: Any) -> Protocol:
    """Draw up a plan on invented reeds."""
    reeds = typed("reeds", [{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1), "first_play": 8 - i / 2}
                            for b in range(boxes) for i in range(each)])
    return draw_up(question, reeds, start=START, seed=seed, instrument="clarinet", outcome=outcome,
                   simulations=100, **more).protocol


def lopsided(plan: Protocol) -> Protocol:
    """Return the plan with one reed that sits ten times as often as each of the others."""
    if plan.design == "day_by_day":
        return _lopsided_days(plan)
    heavy, *rest = plan.reeds
    each = max(3, round(len(plan.slots) / len(plan.reeds)))
    days, others = 10 * each, each * len(rest)
    slots, places = [Slot(d, 1, heavy) for d in range(1, days + 1)], dict.fromkeys(range(1, days + 1), 1)
    for i in range(others):
        day = 1 + i * days // others
        places[day] += 1
        slots.append(Slot(day, places[day], rest[i % len(rest)]))
    return dataclasses.replace(plan, slots=tuple(sorted(slots, key=lambda s: (s.day, s.order))), days=days)


def _lopsided_days(plan: Protocol) -> Protocol:
    """One reed a day in sets of two of its sittings: ten sets of the first reed, one of the second."""
    one, two = plan.reeds[:2]
    units, slots = [], []
    for k, reed in enumerate([one] * 5 + [two] + [one] * 5):
        for day in (2 * k + 1, 2 * k + 2):
            units.append(Unit(f"day {day}", f"s{k}", (reed,), ((reed, day),)))
            slots.append(Slot(day, 1, reed))
    keys = [h.key for h in plan.habits]
    return dataclasses.replace(plan, units=tuple(units), dealt=tuple(keys[i % 2] for i in range(len(units))),
                               slots=tuple(slots), days=2 * 11)


@cache
def cases() -> dict[str, Case]:
    """Return the plans that are calibrated, by name; where the habit sets the hours, ten deals of the plan."""
    short = World(life_median_h=6, minutes_a_day=120)
    found = [
        Case("day_rating", (drawn("wetting", "day_rating", 2, 2, days=12),), World()),
        Case("day_rating, one reed a day",
             (drawn("position", "day_rating", 2, 2, reeds_a_day=1, days=24),), World()),
        Case("two boxes of equal reeds", (drawn("cut_or_strength", "day_rating", 2, 10, days=14),), World()),
        Case("mean_rating", (drawn("drying", "mean_rating", 2, 10, matters=1.5, days=40),), World()),
        Case("wear_rate", (drawn("storage_case", "wear_rate", 2, 10, matters=0.8),), World()),
        Case("life_hours", (drawn("drying", "life_hours", 2, 10, days=60, matters=2.0),), short),
        Case("rotation v single: wear_rate", tuple(
            drawn("rotation", "wear_rate", 2, 10, seed=s, cap_hours=5.0, matters=0.6) for s in range(10)), World()),
        Case("rotation v single: life_hours", tuple(
            drawn("rotation", "life_hours", 2, 10, seed=s, matters=2.0, cap_hours=12.0) for s in range(10)), short),
    ]
    return {c.name: c for c in found}
