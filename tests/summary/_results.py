"""Hand-made results for every verdict, design, outcome and remark; all data invented."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from reedlab.analysis.remarks.catalogue import REMARKS, remark
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit
from reedlab.trial.result import Finding, OnTheWay, Progress, Remark, Settle, TrialResult

START = date(2026, 3, 1)
VERDICTS = ("a_better", "b_better", "no_real_difference", "cannot_tell", "hint_only")
HABITS = {
    "plain": ("a short soak", "a long soak"),
    "long": ("three minutes in a glass of warm water before every sitting", "one minute in the mouth"),
    "trade": ("rotation of four reeds", "one reed played every day"),
}

FACTS: dict[str, dict[str, Any]] = {
    "not_randomised": {},
    "ratings_not_reeds": {"reeds": 2, "ratings": 28, "reeds_a": 1, "reeds_b": 1},
    "too_few_blocks": {"blocks": 5, "units": 10, "least_p": 0.0625, "arrangements": 32},
    "box_is_arm": {"box_a": "1, 3", "box_b": "2"},
    "days_apart": {"level": 0.97},
    "one_box": {"box": "1", "reeds": 10},
    "knew_which": {"masked": "none", "expected": "k2"},
    "uneven": {"kind": "missing", "count_a": 1, "of_a": 28, "count_b": 9, "of_b": 28, "p": 0.016, "held": 0.0},
    "missing_days": {"planned": 28, "rated": 20, "missing": 8, "share": 0.286},
    "reeds_left_out": {"units": 2, "names": "1-03, 1-07", "fewest": 3},
    "block_lost": {"lost": 1, "names": "m3", "left": 5, "least_p": 0.0625},
    "window_short": {"block": "m2", "window_hours": 2.5, "longest_hours": 9.0},
    "half_squares": {"squares": 2},
    "unplanned_ratings": {"sittings": 3, "confirmed": 0},
    "unsure_reed": {"sittings": 1},
    "from_memory": {"sittings": 4, "share": 0.14},
    "plan_not_followed": {"sittings": 5, "logged": 28, "share": 0.18, "confirmed": 5},
    "habit_not_logged": {"sittings": 6, "share": 0.21},
    "overplayed": {"reed_days": 3, "reeds": 2, "limit_min": 60, "confirmed": 1},
    "weather_drifted": {"kind": "humidity", "early": 35.2, "late": 58.9},
    "weather_uneven": {"kind": "temperature", "mean_a": 19.4, "mean_b": 23.1},
    "hours_uneven": {"hours_a": 8.2, "hours_b": 11.4},
    "setup_changed": {"setups": "old, new", "sittings": 4},
    "worked_on": {"reeds": 1, "names": "1-04"},
    "mouldy": {"reeds": 1, "names": "1-05"},
    "adjust_left_out": {"name": "humidity", "why": "missing"},
    "ceiling": {"share": 0.4, "end": "top", "own": False, "value": 10},
    "all_alike": {"values": 2, "ratings": 28},
    "few_worn_out": {"worn_out": 3, "reeds": 16, "hours": 88.0},
    "worn_out_by_choice": {"reeds": 2, "names": "1-02, 1-09"},
    "worn_out_unmarked": {"reeds": 1, "names": "1-08"},
    "damage_uneven": {"damaged_a": 4, "damaged_b": 1},
    "early_look": {"looks": 1, "p_needed": 0.001, "least_p": 0.0001, "can_claim": 1},
    "odds_on_the_way": {"looks": 1, "odds": 21.4, "most": 33.9, "bar": 25.0},
    "looks_paid": {"looks": 2, "p_final": 0.048},
    "repeated": {"number": 2, "p_needed": 0.00125},
    "ended_early": {"day": 9, "days": 14, "why": "A cold."},
    "stopped_before_cap": {"reeds": 4, "cap_hours": 25.0},
    "could_never_tell": {"why": "too_few_blocks", "least_p": 0.0625},
    "wide_range": {"low": -1.4, "high": 2.1, "matters": 1.0},
    "same_held_back": {"why": "ceiling"},
    "carry_over": {"estimate": 0.4, "low": -1.1, "high": 1.9, "p": 0.54},
    "as_done_differs": {"planned": 0.8, "done": -0.2},
}


def all_remarks() -> tuple[Remark, ...]:
    """One remark of every code."""
    return tuple(remark(code, **FACTS[code]) for code in REMARKS)


def plan(outcome: str, *, kind: str = "", habits: str | tuple[str, str] = "plain", sets: int = 7,
         **more: Any) -> Protocol:
    """A plan for an outcome; `kind` is reed, sitting, diagonal or pair."""
    design, pairs = OUTCOMES[outcome].designs[0], OUTCOMES[outcome].pairs
    kind = kind or ("pair" if pairs else "reed" if design == "reed_by_reed" else "diagonal")
    names = HABITS[habits] if isinstance(habits, str) else habits
    units: list[Unit] = []
    for b in range(1, sets + 1):
        if kind == "reed":
            units += [Unit(f"1-{2 * b - 1 + i:02d}", f"m{b}", (f"1-{2 * b - 1 + i:02d}",)) for i in range(2)]
        elif kind == "diagonal":
            one, two, d = "1-01", "1-02", 2 * b - 1
            units += [Unit(f"s{b}-1", f"s{b}", (one, two), ((one, d), (two, d + 1))),
                      Unit(f"s{b}-2", f"s{b}", (one, two), ((one, d + 1), (two, d)))]
        else:
            units += [Unit(f"d{2 * b - 1 + i}", f"p{b}", ("1-01",), (("1-01", 2 * b - 1 + i),)) for i in range(2)]
    ratio = OUTCOMES[outcome].scale == "ratio"
    slots = tuple(Slot(d, 1, "1-01") for d in range(1, 3)) if design == "day_by_day" else ()
    values: dict[str, Any] = {
        "trial": "Spring trial", "question": "wetting", "ask": "Does a long soak help my reeds?",
        "instrument": "clarinet", "habits": (Habit("k1", names[0]), Habit("k2", names[1])), "design": design,
        "outcome": outcome, "matters": 1.5 if ratio else 0.1 if outcome == "wear_rate" else 1.0, "start": START,
        "days": 2 * sets, "units": tuple(units), "dealt": ("k1", "k2") * sets, "slots": slots, "seed": 7,
        "worn_out_rule": "ratings", "rating": "preference" if pairs else "overall",
        "effect_days": 3 if OUTCOMES[outcome].crossover else 0,
    }
    return Protocol(**{**values, **more})


def numbers_for(verdict: str, ratio: bool, unit: float = 1.0) -> tuple[float, float, float, float, float, float]:
    """Estimate, low, high, low90, high90, p that go with a verdict."""
    points = {
        "b_better": (1.24, 0.31, 2.12, 0.5, 1.98, 0.016),
        "a_better": (-1.62, -2.2, -1.04, -2.1, -1.1, 0.0008),
        "no_real_difference": (0.04, -0.38, 0.47, -0.3, 0.41, 0.83),
        "cannot_tell": (0.42, -0.71, 1.55, -0.5, 1.4, 0.41),
        "hint_only": (0.9, 0.2, 1.6, 0.3, 1.5, 0.02),
    }
    ratios = {
        "b_better": (1.83, 1.12, 3.4, 1.2, 3.0, 0.018),
        "a_better": (0.52, 0.3, 0.66, 0.32, 0.64, 0.004),
        "no_real_difference": (1.04, 0.72, 1.46, 0.76, 1.4, 0.83),
        "cannot_tell": (1.3, 0.8, math.inf, 0.9, math.inf, 0.41),
        "hint_only": (1.5, 1.1, 2.1, 1.2, 2.0, 0.02),
    }
    if ratio:
        return ratios[verdict]
    e, lo, hi, lo90, hi90, p = points[verdict]
    return e * unit, lo * unit, hi * unit, lo90 * unit, hi90 * unit, p


def finding(p: Protocol, verdict: str | None, like: str = "", reading: str = "as_planned", **more: Any) -> Finding:
    """A finding with plausible numbers; `like` chooses the numbers where `verdict` is None."""
    ratio = OUTCOMES[p.outcome].scale == "ratio"
    e, lo, hi, lo90, hi90, pv = numbers_for(like or verdict or "cannot_tell", ratio,
                                            0.1 if p.outcome == "wear_rate" else 1.0)
    n = len(p.units) // 2
    values: dict[str, Any] = {
        "outcome": p.outcome, "reading": reading, "scale": OUTCOMES[p.outcome].scale, "estimate": e, "low": lo,
        "high": hi, "low90": lo90, "high90": hi90, "level": 0.95, "p_value": pv, "least_p": 2 / 2**n,
        "exact": True,
        "arrangements": 2**n, "units": (n, n), "blocks": n, "events": (5, 3) if ratio else None,
        "means": (12.5, math.nan) if ratio else None if p.pairs else (6.4, 7.6), "verdict": verdict,
        "exceeds": {"b_better": "perhaps", "a_better": "surely"}.get(verdict or ""),
    }
    return Finding(**{**values, **more})


def unit_frame(p: Protocol, gap: float = 1.0) -> pd.DataFrame:
    """One row for each unit of the plan."""
    rng = np.random.default_rng(11)
    ratio = OUTCOMES[p.outcome].scale == "ratio"
    ends = ["worn_out", "damaged", "still_going", "worn_out", "lost", "worn_out", "by_choice"]
    rows = []
    for i, (u, key, arm) in enumerate(zip(p.units, p.dealt, p.arms, strict=True)):
        ended = ends[i % len(ends)] if ratio else "still_going"
        value = 6.5 + rng.normal(0, 0.8) + (gap if arm == "B" else 0)
        if p.pairs or p.crossover:  # half of the first over the second
            value -= 6.5 + gap / 2
        rows.append({
            "unit": u.unit, "block": u.block, "arm": arm, "habit": key,
            "value": -0.1 + value / 100 if p.outcome == "wear_rate" else value,
            "hours": float(rng.uniform(6, 20)), "ended": ended, "worn_out": ended == "worn_out", "used": True,
            "reed": u.reeds[0] if len(u.reeds) == 1 else None, "share_b": float(arm == "B"),
        })
    return pd.DataFrame(rows)


def point_frame(p: Protocol, gap: float = 1.0) -> pd.DataFrame:
    """One row for each used sitting."""
    rng = np.random.default_rng(12)
    rows = []
    for u, arm in zip(p.units, p.arms, strict=True):
        for reed, day in u.cells or tuple((u.reeds[0], d) for d in range(1, p.days + 1, 2)):
            rating = float(np.clip(np.round(2 * (6.5 + gap * (arm == "B") - day / 12 + rng.normal(0, 0.8))) / 2, 0, 10))
            if p.pairs:
                rating = float(np.round(2 * (gap * (1 if arm == "B" else -1) + rng.normal(0, 0.8))) / 2)
            rows.append({"date": pd.Timestamp(START + timedelta(days=day - 1)), "day": day, "reed": reed,
                         "unit": u.unit, "block": u.block, "arm": arm, "rating": rating, "hours": day * 0.7})
    return pd.DataFrame(rows)


def progress(p: Protocol, day: int | None = None) -> Progress:
    """How far the trial is; by default at its end."""
    return Progress(day=p.days if day is None else day, days=p.days,
                    last_day=(START + timedelta(days=p.days - 1)).isoformat(), sittings_planned=28,
                    sittings_rated=26 if day is None else 9, sittings_logged=30 if day is None else 11,
                    play_hours=21.4, reeds=len(p.reeds), reeds_retired=0, as_planned_share=0.96)


def result(outcome: str, verdict: str | None, *, state: str = "finished", remarks: tuple[Remark, ...] = (),
           habits: str | tuple[str, str] = "plain", settle: Settle | None = None, kind: str = "",
           frames: bool = True, plan_more: dict[str, Any] | None = None, **more: Any) -> TrialResult:
    """A whole result; verdict None is a sealed, running trial. `more` changes the main finding."""
    p = plan(outcome, habits=habits, kind=kind, **(plan_more or {}))
    if verdict is None:
        return TrialResult(p, p.sha256, "running", progress(p, 5), remarks=remarks)
    if settle is None and verdict == "cannot_tell":
        settle = Settle(kind="reeds" if p.unit_kind == "reed" else "days", have=14, same=0.31, need=40, most=40,
                        chance=0.84, gap=p.matters, weeks=9.0, trials=300)
    ratio = OUTCOMES[outcome].scale == "ratio"
    gap = 1.0 if ratio else numbers_for(verdict, ratio)[0]
    opinion = (("Wilcoxon test", "p", 0.023), ("paired t-test", "p", 0.031), ("effect size", "d", 0.74))
    if state in ("opened_early", "ended_early") and verdict in ("a_better", "b_better"):
        more = {"p_value": 0.0006, **more}
    return TrialResult(
        p, p.sha256, state, progress(p, 9 if state in ("opened_early", "ended_early") else None),
        main=finding(p, verdict, **more),
        as_done=finding(p, None, like=verdict, reading="as_done"),
        damage_counts=finding(p, None, like="cannot_tell", reading="damage_counts") if ratio else None,
        remarks=remarks, settle=settle, looks=int(state == "opened_early"),
        units=unit_frame(p, gap) if frames else None, points=point_frame(p, gap) if frames else None,
        second_opinion=opinion)


def _by_odds() -> Iterator[tuple[str, TrialResult]]:
    """A trial that may be read early, by its odds: opened, ended by hand, and named on the way to its end."""
    marks = (remark("odds_on_the_way", **FACTS["odds_on_the_way"]),)
    for state, verdict in (("opened_early", "cannot_tell"), ("opened_early", "b_better"), ("ended_early", "b_better"),
                           ("finished", "a_better")):
        most = 6.2 if verdict == "cannot_tell" else 33.9
        odds = OnTheWay(e_value=4.1, most=most, bar=25.0, course=((2, 1.2), (4, most), (6, 4.1)),
                        left=math.nan if state == "opened_early" else 0.038, decides=True)
        made = result("day_rating", verdict, state=state, remarks=marks, plan_more={"read_early": True}, level=0.96)
        yield f"by-odds-{state}-{verdict}", replace(made, on_the_way=odds)
    yield "by-odds-running", result("day_rating", None, plan_more={"read_early": True})


def grid() -> Iterator[tuple[str, TrialResult]]:
    """Every verdict × outcome × main remark and state, with a name for each."""
    main = {
        "a_better": ("one_box", "plan_not_followed"), "b_better": ("knew_which", "missing_days"),
        "no_real_difference": ("one_box", "as_done_differs"),
        "cannot_tell": ("wide_range", "too_few_blocks", "few_worn_out", "ceiling"),
        "hint_only": ("not_randomised",),
    }
    for outcome in OUTCOMES:
        for verdict in VERDICTS:
            for code in main[verdict]:
                kinds = ("sitting", "diagonal") if outcome == "day_rating" else (
                    "pair" if OUTCOMES[outcome].pairs else "reed",)
                for kind in kinds:
                    state = "diary" if verdict == "hint_only" else "finished"
                    marks = (remark(code, **FACTS[code]),)
                    yield (f"{outcome}-{verdict}-{code}-{kind}",
                           result(outcome, verdict, remarks=marks, state=state, kind=kind))
        for state in ("opened_early", "ended_early"):
            code = "early_look" if state == "opened_early" else "ended_early"
            marks = (remark(code, **FACTS[code]),)
            for verdict in ("cannot_tell", "b_better"):
                yield f"{outcome}-{verdict}-{state}", result(outcome, verdict, state=state, remarks=marks)
        if outcome == "day_rating":
            yield from _by_odds()
        p = plan(outcome)
        facts = {"why": "no_worn_out", "least_p": 0.0001} if "hours" in outcome else FACTS["could_never_tell"]
        never = remark("could_never_tell", **facts)
        found = result(outcome, "cannot_tell", remarks=(never,), least_p=0.0625)
        yield f"{outcome}-never", replace(found, settle=None)
        beyond = Settle(kind="days", have=14, same=0.06, need=None, most=56, chance=0.22, gap=p.matters, weeks=8.0,
                        trials=300)
        yield f"{outcome}-beyond-reach", result(outcome, "cannot_tell", settle=beyond)
        yield f"{outcome}-no-gap", result(outcome, "cannot_tell", estimate=math.nan, low=-math.inf, high=math.inf,
                                          p_value=1.0)
        yield f"{outcome}-running", result(outcome, None)
    for rating in ("response", "tone", "stiffness"):
        for verdict in VERDICTS:
            yield (f"{rating}-{verdict}", result("mean_rating", verdict, plan_more={"rating": rating},
                                                 state="diary" if verdict == "hint_only" else "finished"))


#: Words that a player should not meet, and slips of the pen.
BANNED = (
    r"p-values?", "significan", r"\bnull\b", r"\bsubjects?\b", r"\btreatments?\b", r"\bhazards?\b", r"\bprove",
    r"pupils? should", r"reeds (a|per) year", r"\b\d+ ?% sure", r"\barms?\b", r"\bblocks?\b", r"\bintervals?\b",
    r"\bprotocol\b", r"\bscores?\b", r"\bnotes\b", r"\bflat\b", r"\bresting\b", r"\bnan\b", r"\binf\b",
    r"\b(habit|way|option|group) [AB]\b", r"\bNone\b", r"\{|\}", r"  ", r"\.\.", r" \.", r" ,",
)
