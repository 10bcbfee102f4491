"""The player's own numbers: recovered from simulated logbooks, held toward the defaults, blind to the habits."""

from __future__ import annotations

import dataclasses
import math
from datetime import date, timedelta

import pandas as pd
import pytest

from reedlab.analysis.player.spreads import own_numbers
from reedlab.rows.tables import Frames
from reedlab.worlds import World

from ...benchmarks.own_numbers import CLEAN, SPREADS, bias, chance_error, forecast_error, measure, players

START = date(2026, 3, 1)


@pytest.fixture(scope="module")
def people():  # type: ignore[no-untyped-def]
    return players(40, CLEAN, 20260301)


@pytest.fixture(scope="module")
def table(people):  # type: ignore[no-untyped-def]
    return measure(people, CLEAN)


def retired(reeds: dict[str, tuple[float, str | None]]) -> Frames:
    """Reeds with their hours, an hour a day, and why they left."""
    rows = [{"date": START + timedelta(days=d), "reed": reed, "play_min": 60, "overall": 7,
             "sitting": f"{reed}-{d}"} for reed, (hours, _) in reeds.items() for d in range(int(hours))]
    return Frames.of(reeds=[{"reed": r, "box": "1"} for r in reeds], sittings=rows, retirements=[
        {"reed": r, "date": START + timedelta(days=int(h)), "reason": why}
        for r, (h, why) in reeds.items() if why])


def test_an_empty_logbook_gives_the_defaults_and_says_so() -> None:
    own = own_numbers(Frames.of(), World())
    assert (own.reeds, own.ratings) == (0, 0)
    for e in own.estimates.values():
        assert e.value == pytest.approx(e.default)
        assert (e.weight, e.rests_on) == (0, 0)
        assert math.isnan(e.raw)


def test_raw_spreads_are_unbiased_without_ceiling(table: pd.DataFrame) -> None:
    # 200 and 1,000 logbooks: tests/benchmarks/own_numbers.py
    z = bias(table).loc[list(SPREADS), "z"]
    assert (z.abs() < 4).all(), z.to_string()


def test_claimed_standard_errors_are_about_right(table: pd.DataFrame) -> None:
    ratio = bias(table).loc[["reed_sd", "mood_sd", "noise_sd", "level", "wear_per_hour"], "claimed/seen sd"]
    assert ratio.between(0.6, 1.5).all(), ratio.to_string()


def test_held_spreads_forecast_better_than_the_defaults_and_than_the_raw_ones(table: pd.DataFrame) -> None:
    error = forecast_error(table)
    assert (error.loc[["reed_sd", "noise_sd", "minutes_a_day"], "z v default"] > 1).all()
    assert (error.loc[list(SPREADS), "shrunk"] < error.loc[list(SPREADS), "raw"]).all()
    total = error.loc[list(SPREADS), ["default", "raw", "shrunk"]].sum()
    assert total["shrunk"] < min(total["default"], total["raw"])


def test_held_spreads_forecast_the_chance_of_a_trial_better(people, table: pd.DataFrame) -> None:  # type: ignore[no-untyped-def]
    error = chance_error(table, people)
    assert (error["shrunk"] < error["default"]).all()
    assert error.loc["reed by reed", "shrunk"] < error.loc["reed by reed", "raw"]


def test_the_numbers_say_what_they_rest_on(people) -> None:  # type: ignore[no-untyped-def]
    person = max(people, key=lambda p: p.days)
    own = own_numbers(person.frames, CLEAN)
    assert own.reeds == person.reeds == own["reed_sd"].rests_on
    assert own["noise_sd"].rests_on == own.ratings
    assert 0 < own["reed_sd"].weight < own["noise_sd"].weight < 1


def test_the_habits_are_never_looked_at(people) -> None:  # type: ignore[no-untyped-def]
    f = people[0].frames
    changed = dataclasses.replace(f, sittings=f.sittings.assign(habit=None), trials=f.trials.iloc[:0])
    assert repr(own_numbers(f, CLEAN)) == repr(own_numbers(changed, CLEAN))


def test_adding_a_constant_changes_the_level_alone(people) -> None:  # type: ignore[no-untyped-def]
    f = people[1].frames
    up = dataclasses.replace(f, sittings=f.sittings.assign(overall=f.sittings["overall"] + 0.5))
    a, b = own_numbers(f, CLEAN), own_numbers(up, CLEAN)
    assert b["level"].raw - a["level"].raw == pytest.approx(0.5)
    for name in SPREADS:
        assert b[name].value == pytest.approx(a[name].value, rel=1e-6)


def test_one_reed_a_day_cannot_tell_day_from_noise(people) -> None:  # type: ignore[no-untyped-def]
    f = people[0].frames
    one = dataclasses.replace(f, sittings=f.sittings.drop_duplicates("date").reset_index(drop=True))
    own = own_numbers(one, CLEAN)
    assert math.isnan(own["mood_sd"].raw)
    assert math.isnan(own["noise_sd"].raw)
    assert own["noise_sd"].value / own["mood_sd"].value == pytest.approx(CLEAN.noise_sd / CLEAN.mood_sd)
    assert own["noise_sd"].weight > 0


def test_one_reed_and_a_handful_of_ratings_leave_the_default() -> None:
    rows = [{"date": START + timedelta(days=d), "reed": "1-01", "play_min": 20, "overall": 5 + d % 3,
             "sitting": str(d)} for d in range(20)]
    reeds = [{"reed": "1-01", "box": "1"}]
    own = own_numbers(Frames.of(reeds=reeds, sittings=rows), World())
    assert own["taste_sd"].weight > 0
    assert own["reed_sd"].value == own["reed_sd"].default
    few = own_numbers(Frames.of(reeds=reeds, sittings=rows[:5]), World())
    assert few["noise_sd"].weight == 0


def test_lives_follow_the_censored_weibull_formula() -> None:
    f = retired({"1-01": (10, "worn_out"), "1-02": (20, None), "1-03": (12, "worn_out"), "1-04": (6, "damaged")})
    own = own_numbers(f, World())["life_median_h"]
    total, to_median = 100 + 400 + 144 + 36, math.sqrt(math.log(2))
    assert own.raw == pytest.approx(math.sqrt(total / 2) * to_median)
    assert own.value == pytest.approx(math.sqrt((2 * (15 / to_median) ** 2 + total) / (2 + 2)) * to_median)
    assert own.rests_on == 2
    assert own.se == pytest.approx(1 / (2 * math.sqrt(2)))


def test_hours_without_a_worn_out_reed_lengthen_the_life_but_give_no_raw_one() -> None:
    own = own_numbers(retired({"1-01": (30, None), "1-02": (30, None)}), World())["life_median_h"]
    assert math.isnan(own.raw)
    assert own.value > 15
    assert 0 < own.weight < 0.8


def test_days_off_are_the_marked_ones_or_else_the_gaps() -> None:
    played = [0, 1, 3, 4, 5, 9]
    rows = [{"date": START + timedelta(days=d), "reed": "1-01", "play_min": 20, "sitting": str(d)} for d in played]
    pause = [{"date": START + timedelta(days=6), "pause": True}]
    gaps = own_numbers(Frames.of(sittings=rows, days=pause), World())
    assert gaps["day_off"].raw == pytest.approx(3 / 7)  # days 1-8 between, one paused: 2, 7 and 8 are off
    days = [{"date": START + timedelta(days=d), "day_off": d == 2} for d in range(10)]
    assert own_numbers(Frames.of(sittings=rows, days=days), World())["day_off"].raw == pytest.approx(1 / 10)


def test_minutes_a_day_are_the_usual_days() -> None:
    rows = [{"date": START + timedelta(days=d), "reed": f"1-0{k}", "play_min": 30, "sitting": f"{d}-{k}"}
            for d in range(60) for k in (1, 2, 3)]
    own = own_numbers(Frames.of(sittings=rows), World())
    assert own["minutes_a_day"].raw == pytest.approx(90)
    assert own["minutes_a_day"].value == pytest.approx(90, rel=0.01)
    assert own["minutes_cv"].value < World().minutes_cv
