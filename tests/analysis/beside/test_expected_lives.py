"""Expected lives: against a slow second way, and at the ends of what a log can hold."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from reedlab.analysis.beside.expected_lives import MOST, Courses, courses_of, expected_hours, expected_lives, held
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values
from reedlab.errors import InputError

from .._players import A, B, by_reed, frames, on


def course(reed: str, ratings: list[float], minutes: float = 60.0, **more: Any) -> list[dict[str, Any]]:
    return [{"date": on(i + 1), "reed": reed, "play_min": minutes, "overall": y, **more}
            for i, y in enumerate(ratings)]


def a_trial(ratings_by_reed: list[list[float]], *, outcome: str = "life_hours", minutes: float = 60.0,
            retired: list[tuple[int, int, str]] | None = None, **more: Any):
    n = len(ratings_by_reed)
    p = by_reed((n,), outcome=outcome, days=60, slots=False, **more)
    rows = [r for reed, ys in zip(p.reeds, ratings_by_reed, strict=True) for r in course(reed, ys, minutes)]
    gone = [{"reed": p.reeds[i], "date": on(d), "reason": why} for i, d, why in retired or []]
    return p, frames(p, rows, retirements=gone)


def expected_of(p: Any, made: Any):
    trial = blind(p, made)
    return expected_lives(trial, life_values(trial, p.outcome))


def fading(n: int, seed: int, *, days: int = 8) -> list[list[float]]:
    rng = np.random.default_rng(seed)
    return [[float(np.clip(np.round(2 * (7.5 + a - f * d + rng.normal(0, 0.6))) / 2, 0, 10)) for d in range(days)]
            for a, f in zip(rng.normal(0, 0.8, n), rng.uniform(0, 0.5, n), strict=True)]


# the slow second way: one reed after the other, from the rows themselves

def slow_held(values: dict[str, float], variance: dict[str, float]) -> tuple[dict[str, float], dict[str, float]]:
    k = len(values)
    if k == 0:
        return {}, {}

    def mean(tau2: float) -> float:
        w = {r: 1 / (variance[r] + tau2) for r in values}
        return sum(w[r] * values[r] for r in values) / sum(w.values())

    def q(tau2: float) -> float:
        return sum((values[r] - mean(tau2))**2 / (variance[r] + tau2) for r in values) - (k - 1)

    tau2 = brentq(q, 0, 1e4, xtol=1e-14, rtol=1e-14) if q(0.0) > 0 else 0.0
    out, open_ = {}, {}
    for r in values:
        share = (k - 3) / (k - 1) * variance[r] / (variance[r] + tau2) if k > 3 else 0.0
        out[r] = share * mean(tau2) + (1 - share) * values[r]
        open_[r] = variance[r] * (1 - share)
    return out, open_


def slow_lives(p: Any, made: Any) -> dict[str, float]:
    trial = blind(p, made)
    lives = life_values(trial, p.outcome)
    mark = p.good_below if p.outcome == "good_hours" else p.worn_out_below
    reached = dict(zip(lives.units, lives.hours.tolist(), strict=True))
    worn = dict(zip(lives.units, lives.worn_out.tolist(), strict=True))
    fits, rest, free = {}, 0.0, 0
    for reed in lives.units:
        rows = made.sittings[made.sittings["reed"] == reed].sort_values("date")
        before = (rows["play_min"].cumsum() - rows["play_min"]) / 60
        ok = rows["overall"].notna() & (before < reached[reed] - 1e-9)
        x, y = before[ok].to_numpy(dtype=float), rows["overall"][ok].to_numpy(dtype=float)
        if len(x) < 3 or x[-1] - x[0] < 0.5:
            continue
        slope, start = np.polyfit(x, y, 1)
        rest += float(((y - start - slope * x)**2).sum())
        free += len(x) - 2
        fits[reed] = (len(x), x.mean(), y.mean(), ((x - x.mean())**2).sum(), slope)
    noise = max(rest / max(free, 1), 1e-9)
    slopes, open_ = slow_held({r: f[4] for r, f in fits.items()}, {r: noise / f[3] for r, f in fits.items()})
    starts, _ = slow_held({r: f[2] - slopes[r] * f[1] for r, f in fits.items()},
                          {r: noise / f[0] + open_[r] * f[1]**2 for r, f in fits.items()})
    counted = [r for r in lives.units if reached[r] > 0 and (worn[r] or r in fits)]
    top = 5.0 * max((reached[r] for r in counted), default=0.0)
    out = {}
    for r in lives.units:
        h = reached[r]
        if r not in counted:
            out[r] = np.nan
        elif worn[r] or starts[r] + slopes[r] * h <= mark:
            out[r] = h
        else:
            out[r] = min(top, (mark - starts[r]) / slopes[r]) if slopes[r] < 0 else top
    return out


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("outcome", ["life_hours", "good_hours"])
def test_expected_lives_are_those_of_a_second_way_reed_by_reed(seed: int, outcome: str) -> None:
    ratings = fading(8, seed, days=5 + seed)
    ratings[0] = ratings[0][:2]  # too few
    p, made = a_trial(ratings, outcome=outcome, retired=[(1, 5, "damaged"), (2, 5, "lost")])
    assert list(expected_of(p, made).hours) == pytest.approx(list(slow_lives(p, made).values()), rel=1e-6, nan_ok=True)


def test_estimates_on_one_line_each_stay_where_they_are() -> None:
    ratings = [[9 - f * d for d in range(6)] for f in (0.1, 0.2, 0.25, 0.4, 0.5)]
    p, made = a_trial(ratings)
    assert list(expected_of(p, made).hours) == pytest.approx([5 * 6.0, 25.0, 20.0, 12.5, 10.0], rel=1e-4)


def test_a_reed_of_which_little_is_known_is_held_closer_to_the_others() -> None:
    there = np.ones(5, dtype=bool)
    values = np.array([-0.3, -0.1, -0.2, -0.15, 1.0])
    sure, _ = held(values, np.full(5, 0.01), there)
    shaky, _ = held(values, np.array([0.01, 0.01, 0.01, 0.01, 1.0]), there)
    assert sure[4] > 0.7
    assert shaky[4] < 0.45  # half the way for five estimates, at most
    assert held(values[:3], np.full(3, 1.0), there[:3])[0] == pytest.approx(values[:3])  # three hold nothing


def test_estimates_that_differ_less_than_their_errors_are_mostly_pooled() -> None:
    values = np.array([0.1, -0.1, 0.05, -0.05, 0.0, 0.02])
    found, left = held(values, np.full(6, 1.0), np.ones(6, dtype=bool))
    assert np.abs(found).max() < 0.05
    assert left == pytest.approx(np.full(6, 0.4))  # 1 - 3/5


def test_a_worn_out_reed_keeps_its_hours() -> None:
    p, made = a_trial([[8, 7, 6, 3, 3], *fading(5, 1)])
    found = expected_of(p, made)
    assert found.hours[0] == 5.0
    assert not found.predicted[0]
    assert found.predicted[1:].all()


def test_ratings_after_the_end_and_past_the_cap_do_not_count() -> None:
    p, made = a_trial([[8, 7, 6, 5, 3, 3, 9, 9, 9], *fading(5, 2, days=9)], cap_hours=7.0)
    trial = blind(p, made)
    found = courses_of(trial, life_values(trial, "life_hours"))
    assert found.count.tolist() == [6, 7, 7, 7, 7, 7]


def test_a_reed_with_one_rating_or_none_or_too_little_playing_leaves() -> None:
    nan = float("nan")
    p, made = a_trial([[8.0], [nan, nan, nan], [8, 7, nan, nan], [8, 7, 7], *fading(5, 3)])
    found = expected_of(p, made)
    assert np.isnan(found.hours[:3]).all()
    assert np.isfinite(found.hours[3:]).all()
    short, rows = a_trial(fading(6, 3, days=4), minutes=9.0)  # 27 minutes between first and last
    assert np.isnan(expected_of(short, rows).hours).all()
    none, rows = a_trial([[nan, nan, nan]] * 4)
    assert np.isnan(expected_of(none, rows).hours).all()


def test_ratings_that_rise_give_the_longest_life_that_is_told() -> None:
    p, made = a_trial([[5 + d / 4 for d in range(8)] for _ in range(5)])
    assert expected_of(p, made).hours == pytest.approx(np.full(5, MOST * 8.0))


def test_no_reed_is_expected_to_last_less_than_it_did_or_more_than_the_limit() -> None:
    rng = np.random.default_rng(7)
    for seed in range(20):
        p, made = a_trial(fading(8, 100 + seed, days=int(rng.integers(3, 12))))
        found = expected_of(p, made)
        there = np.isfinite(found.hours)
        assert (found.hours >= found.lives.hours - 1e-9)[there].all()
        assert (found.hours <= MOST * found.lives.hours[there].max() + 1e-9)[there].all()


def test_a_reed_that_already_plays_below_the_mark_is_expected_to_end_now() -> None:
    # never twice running below 4, so not worn out
    p, made = a_trial([[4, 3.5, 4, 3, 4, 3.5], *([[8, 8, 7.5, 7.5, 7, 7]] * 4)])
    found = expected_of(p, made)
    assert found.predicted[0]
    assert found.hours[0] < 1.2 * 6


def test_the_same_in_minutes_gives_sixty_times_the_numbers() -> None:
    p, made = a_trial(fading(8, 5))
    e = expected_of(p, made)
    minutes = e.courses.over(np.full(8, 1 / 60))
    again = expected_hours(minutes, 60 * e.lives.hours, e.lives.worn_out, e.mark)
    assert again == pytest.approx(60 * e.hours)


def test_hours_divided_by_a_ratio_give_the_courses_of_the_shorter_sittings() -> None:
    ratings = fading(6, 6)
    one, two = (expected_of(*a_trial(ratings, minutes=m)).courses for m in (120.0, 60.0))
    halved = one.over(np.full(6, 2.0))
    for f in dataclasses.fields(Courses):
        assert getattr(halved, f.name) == pytest.approx(getattr(two, f.name)), f.name


def test_many_trials_at_once_are_each_read_as_if_alone() -> None:
    found = [expected_of(*a_trial(fading(8, seed, days=6 + seed))) for seed in range(4)]
    stacked = Courses(**{f.name: np.stack([getattr(e.courses, f.name) for e in found])
                         for f in dataclasses.fields(Courses)})
    together = expected_hours(stacked, np.stack([e.lives.hours for e in found]),
                              np.stack([e.lives.worn_out for e in found]), 4.0)
    for row, e in zip(together, found, strict=True):
        assert row == pytest.approx(e.hours)


def test_the_player_s_own_rule_still_uses_the_plan_s_mark() -> None:
    ratings = fading(6, 8)
    p, made = a_trial(ratings, worn_out_rule="player", retired=[(0, 9, "worn_out")])
    found = expected_of(p, made)
    assert found.mark == p.worn_out_below
    assert found.predicted.tolist() == [False, True, True, True, True, True]


def test_the_habits_cannot_be_seen() -> None:
    p, made = a_trial(fading(8, 9))
    turned = dataclasses.replace(p, dealt=tuple(A.key if k == B.key else B.key for k in p.dealt))
    assert expected_of(turned, made).hours == pytest.approx(expected_of(p, made).hours)
    trial = blind(p, made)
    with pytest.raises(InputError, match="which habit was used"):
        dataclasses.replace(trial, sittings=trial.sittings.assign(habit="water"))
