"""Two running trials and one day's minutes."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any

import pandas as pd
import pytest

from reedlab.plan import draw_up
from reedlab.rows.tables import Frames
from reedlab.schedule import Schedule, schedule, what_to_play
from reedlab.schedule.trials_share import in_order
from reedlab.trial.protocol import Protocol

from ..plan._reeds import reeds
from ._plans import OTHERS, START, sat

PRACTICE = ("slot", "play", "break_in", "free")


@cache
def two(first: str, second: str, start_second: int = 0, **more: Any) -> tuple[Protocol, Protocol]:
    """Two plans over the reeds of two boxes; options ending in _2 are the second's."""
    table = reeds(10, 10)
    out = []
    for n, key in enumerate((first, second), start=1):
        own = {k.removesuffix("_2"): v for k, v in more.items() if k.endswith("_2") == (n == 2)}
        out.append(draw_up(key, table[table["box"] == str(n)], start=START + timedelta(days=start_second * (n - 1)),
                           seed=n, instrument="clarinet", simulations=100, trial=f"{n} {key}", **own).protocol)
    return out[0], out[1]


def frames(*plans: Protocol, sittings: list[dict[str, Any]] | None = None, **more: Any) -> Frames:
    rows = [{"reed": r, "box": r[0], "first_play": 6.0} for p in plans for r in p.reeds]
    trials = [{"trial": p.trial, "started": p.start, "protocol_sha256": p.sha256, "protocol": p.to_json()}
              for p in plans]
    tables = {"trials": trials, "sittings": sittings or [], **more}
    return Frames.of(boxes=[{"box": b, "instrument": "clarinet"} for b in "129"], reeds=rows + OTHERS, **tables)


def minutes(plan: Schedule, on: date) -> float:
    day = plan.day(on)
    return 0.0 if day is None else sum(x.minutes for x in day.lines if x.kind in PRACTICE)


def slots(p: Protocol, number: int) -> set[str]:
    return {s.reed for s in p.slots if s.day == number}


PAIRS = [("wetting", "drying"), ("wetting", "rotation"), ("rotation", "daily_limit"), ("drying", "storage_case")]


@pytest.mark.parametrize("usual", [90, {0: 60, 1: 45, 2: 120, 3: 80, 5: 60}, 40])
@pytest.mark.parametrize("pair", PAIRS)
def test_together_they_never_pass_the_days_minutes_without_saying_so(pair: tuple[str, str], usual: Any) -> None:
    a, b = two(*pair)
    both = frames(a, b)
    plans = [schedule(p, both, today=START, usual_min=usual) for p in (a, b)]
    for i in range(21):
        on = START + timedelta(days=i)
        have = usual.get(on.weekday(), 0) if isinstance(usual, dict) else usual
        total = sum(minutes(p, on) for p in plans)
        for p in plans:
            said = {u.code for u in (p.day(on).unmet if p.day(on) else ())}  # type: ignore[union-attr]
            assert total <= have or "trials_too_long" in said, (on, total)
            assert minutes(p, on) <= have


@pytest.mark.parametrize("pair", [p for p in PAIRS if "daily_limit" not in p])  # it sets how many reeds a day has
def test_the_rating_slots_of_each_come_first(pair: tuple[str, str]) -> None:
    a, b = two(*pair)
    for p in (a, b):
        plan = schedule(p, frames(a, b), today=START, usual_min=90, days=5)
        alone = schedule(p, frames(p), today=START, usual_min=90, days=5)
        for day, as_alone in zip(plan.days, alone.days, strict=True):
            assert [x.reed for x in day.owed] == [x.reed for x in as_alone.owed]
            assert all(x.minutes >= 10 for x in day.owed)


def test_where_hours_matter_to_both_the_rest_is_shared() -> None:
    a, b = two("rotation", "rotation")
    plans = [schedule(p, frames(a, b), today=START, usual_min=100, days=6) for p in (a, b)]
    total = [sum(minutes(p, START + timedelta(days=i)) for i in range(6)) for p in plans]
    assert max(total) <= 1.25 * min(total)
    assert sum(total) > 0.85 * 600


def test_a_rating_trial_leaves_the_hours_to_the_one_that_needs_them() -> None:
    a, b = two("wetting", "rotation")
    both = frames(a, b)
    assert [p.question for p in in_order(b, both, START)] == ["wetting", "rotation"]
    first = what_to_play(a, both, START, usual_min=90)
    assert {x.kind for x in first.lines} == {"slot"}
    second = what_to_play(b, both, START, usual_min=90)
    assert sum(x.minutes for x in second.owed) == 90 - sum(x.minutes for x in first.owed)


def test_only_one_trial_suggests_a_reed_of_no_trial() -> None:
    a, b = two("drying", "wetting")
    played = [sat(START - timedelta(days=d), r["reed"], 30) for r in OTHERS for d in (5, 4, 3)]
    both = frames(a, b, sittings=played)
    free = [[x.reed for x in what_to_play(p, both, START, usual_min=120).lines if x.kind == "free"] for p in (a, b)]
    assert free[0]
    assert all(r.startswith("1-") for r in free[0])
    assert [r[0] for r in free[1]] == ["9"]


def test_a_concert_is_named_reeds_for_once() -> None:
    a, b = two("drying", "storage_case")
    concert = START + timedelta(days=6)
    both = frames(a, b, concerts=[{"date": concert}])
    plans = [schedule(p, both, today=START, days=8) for p in (a, b)]
    assert plans[0].concerts == plans[1].concerts
    assert len(plans[0].concerts[concert]) == 2
    lines = [[x.reed for x in p.day(concert).lines if x.kind == "concert"] for p in plans]  # type: ignore[union-attr]
    assert sorted(lines[0]) == sorted(plans[0].concerts[concert])
    assert lines[1] == []
    assert sum(u.code == "concert_short" for p in plans for u in p.unmet) == 0


def test_a_trial_that_is_over_ended_or_an_old_diary_takes_nothing() -> None:
    a, b = two("wetting", "rotation")
    on = START + timedelta(days=40)
    assert in_order(b, frames(a, b), on) == [b]
    ended = frames(a, b)
    ended.trials.loc[0, "ended"] = pd.Timestamp(START)
    assert in_order(b, ended, START) == [b]
    alone = what_to_play(b, frames(b), START)
    assert what_to_play(b, ended, START) == alone


def test_one_trial_alone_is_planned_as_before() -> None:
    a, b = two("wetting", "rotation", 3)
    later = START + timedelta(days=2)  # the second has not begun: nothing is taken from the first
    assert what_to_play(a, frames(a, b), later).owed == what_to_play(a, frames(a), later).owed
    assert slots(a, 3) == {x.reed for x in what_to_play(a, frames(a, b), later).owed}


def test_the_longer_day_is_said_in_plain_words() -> None:
    a, b = two("wetting", "drying")
    day = what_to_play(a, frames(a, b), START, usual_min=30)
    told = next(u for u in day.unmet if u.code == "trials_too_long")
    assert "2 trials" in told.text
    assert "your day has 30" in told.text
