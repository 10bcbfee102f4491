from __future__ import annotations

import dataclasses
import time

import numpy as np
import pytest

from reedlab.errors import InputError
from reedlab.worlds import DAMAGED, GOING, WORN_OUT, World, simulate

from ._plans import reeds_dealt, squares

#: Nothing happens but ratings: no gaps in the diary, no slips, no drift.
QUIET = World(day_off=0, forgotten=0, unrated=0, from_memory=0, unsure_reed=0, adherence=1, mood_sd=0, taste_sd=0,
              air_points_sd=0, order_points=0, wear_per_hour=0, wear_sd=0, life_median_h=1000, damage_share=0,
              step=0.01, level=5.5, youth=(0.0,))


def test_the_same_seed_gives_the_same_runs_and_another_seed_others() -> None:
    a, b, c = (simulate(squares(), World(), 50, seed) for seed in (7, 7, 8))
    np.testing.assert_array_equal(a.rating, b.rating)
    np.testing.assert_array_equal(a.play_min, b.play_min)
    assert not np.array_equal(a.rating, c.rating, equal_nan=True)


@pytest.mark.parametrize("icc", [0.3, 0.6, 0.8])
def test_simulated_ratings_have_the_wished_repeatability(icc: float) -> None:
    """ICC(1,1) from the one-way mean squares of repeated ratings, pooled over players (Shrout & Fleiss 1979)."""
    w = QUIET.but(box_sd=0.0, reed_sd=0.6, level=5.0)
    w = w.but(noise_sd=w.between_sd * np.sqrt((1 - icc) / icc))
    b = simulate(reeds_dealt(days=20, per_box=4, set_size=4, worn_out_below=0.0), w, 2000, 11)
    x = b.rating.reshape(2000, 20, 4)  # one rating of each reed a day
    between = 20 * x.mean(axis=1).var(axis=1, ddof=1).mean()
    within = x.var(axis=1, ddof=1).mean()
    assert (between - within) / (between + 19 * within) == pytest.approx(icc, abs=0.02)


def test_the_true_effect_on_ratings_is_there_as_set_and_only_in_the_second_habit() -> None:
    w = QUIET.but(noise_sd=0.3, effect_points=0.7, reed_sd=0.0, box_sd=0.0)
    b = simulate(squares(), w, 500, 3, fresh_deals=True)
    gap = b.rating[b.used_b].mean() - b.rating[~b.used_b].mean()
    assert gap == pytest.approx(0.7, abs=4 * 0.3 * 2 / np.sqrt(b.rating.size))
    assert b.rating[~b.used_b].mean() == pytest.approx(5.5, abs=0.02)


def test_the_true_effect_on_wear_is_in_points_an_hour() -> None:
    w = QUIET.but(noise_sd=0.01, effect_wear=-0.2, reed_sd=0.0, box_sd=0.0)
    b = simulate(reeds_dealt(days=30), w, 200, 4)
    second = b.used_b & (b.hours_before > 1)
    fall = (b.rating[second] - 5.5) / b.hours_before[second]
    assert fall.mean() == pytest.approx(-0.2, abs=0.005)
    assert b.rating[~b.used_b].mean() == pytest.approx(5.5, abs=0.01)


def test_the_true_effect_on_life_multiplies_the_hours_until_worn_out() -> None:
    """Hardly any noise and a sudden end: every reed's life, less its break-in, is stretched by the factor."""
    w = World(noise_sd=0.01, mood_sd=0, taste_sd=0, air_points_sd=0, damage_share=0, forgotten=0, unrated=0,
              adherence=1, effect_life=2.0, failing_bend=50, wear_per_hour=0, wear_sd=0, life_median_h=6,
              box_sd=0, reed_sd=0.3, daily_limit_min=15, from_memory=0)
    b = simulate(reeds_dealt(days=300, per_box=6, set_size=6), w, 200, 5)
    broken_in = sum(w.ramp_min) / 60
    long_enough = (b.reeds.life_h.T > 3) & (b.left_why == WORN_OUT)
    assert long_enough.mean() > 0.6
    left = b.reeds.life_h.T - broken_in
    late = b.hours - left * np.where(b.dealt_b, 2.0, 1.0)
    for habit in (b.dealt_b, ~b.dealt_b):  # two low ratings, a quarter of an hour apart, come on top
        assert (np.quantile(late[habit & long_enough], [0.1, 0.9]) > 0).all()
        assert (np.quantile(late[habit & long_enough], [0.1, 0.9]) < 0.75).all()


def test_the_retirement_rule_fires_near_the_life_of_the_reed() -> None:
    """With all defaults but accidents: the median within a tenth, and as many early ends, within 5 in 100."""
    w = World(damage_share=0.0)
    b = simulate(reeds_dealt(days=900), w, 200, 6)
    assert (b.left_why == WORN_OUT).mean() > 0.99
    from_new = b.hours + sum(w.ramp_min) / 60
    assert np.median(from_new) == pytest.approx(w.life_median_h, rel=0.1)
    for hours in (5, 7.5, 10, 20):
        assert (from_new < hours).mean() == pytest.approx((b.reeds.life_h < hours).mean(), abs=0.05)
    assert np.corrcoef(np.log(from_new).ravel(), np.log(b.reeds.life_h.T).ravel())[0, 1] > 0.7


def test_accidents_take_ten_to_twenty_in_a_hundred_reeds_before_they_wear_out() -> None:
    b = simulate(reeds_dealt(days=900), World(), 200, 7)
    assert 0.10 <= (b.left_why == DAMAGED).mean() <= 0.20


def test_a_worn_out_reed_had_its_last_ratings_below_the_mark_and_is_played_no_more() -> None:
    p = reeds_dealt(days=120)
    b = simulate(p, World(minutes_a_day=120), 60, 8)
    seen = 0
    for i, k in zip(*np.nonzero(b.left_why == WORN_OUT), strict=True):
        mine = b.plan.slot_reed == k
        rated = b.rating[i, mine][np.isfinite(b.rating[i, mine])]
        assert (rated[-2:] < p.worn_out_below).all()
        before = rated[:-1] < p.worn_out_below
        assert not (before[1:] & before[:-1]).any()
        assert (b.play_min[i, mine & (b.plan.slot_day > b.left_day[i, k])] == 0).all()
        seen += 1
    assert seen > 50


def test_hours_are_the_minutes_played_before() -> None:
    b = simulate(reeds_dealt(days=30), World(), 20, 9)
    for k in range(len(b.plan.reeds)):
        mine = b.plan.slot_reed == k
        played = np.cumsum(b.play_min[:, mine], axis=1) / 60
        np.testing.assert_allclose(b.hours_before[:, mine][:, 1:] * (b.play_min[:, mine][:, 1:] > 0),
                                   played[:, :-1] * (b.play_min[:, mine][:, 1:] > 0))
        np.testing.assert_allclose(b.hours[:, k], played[:, -1])


def test_a_day_s_playing_is_shared_by_its_reeds_within_the_daily_limit() -> None:
    w = World(minutes_a_day=100, minutes_cv=0.0, daily_limit_min=40, day_off=0.0)
    b = simulate(squares(), w, 50, 10)
    assert set(np.unique(b.play_min)) <= {0.0, 40.0}
    b = simulate(squares(), w.but(daily_limit_min=60), 50, 10)
    both = (b.play_min[:, ::2] > 0) & (b.play_min[:, 1::2] > 0)
    assert (b.play_min[:, ::2][both] == 50).all()


def test_new_reeds_follow_the_break_in_ramp_unless_their_habit_replaces_it() -> None:
    w = World(minutes_a_day=300, minutes_cv=0.0, day_off=0.0, adherence=1.0, damage_share=0.0)
    ramp = tuple(("open", f"ramp_day{k}_min", 60.0) for k in (1, 2, 3))
    p = reeds_dealt(days=6, per_box=4, set_size=4, from_new=True, overrides=ramp)
    b = simulate(p, w, 20, 11)
    minutes = b.play_min.reshape(20, 6, 4)
    second = b.dealt_b[0]
    still = (b.left_day == 0).all(axis=0)
    assert (minutes[:, :3][:, :, ~second & still] == np.array([10, 25, 45])[None, :, None]).all()
    assert (minutes[:, 0][:, second] == 60).all()


def test_a_habit_that_limits_the_day_overrides_the_usual_limit() -> None:
    w = World(minutes_a_day=300, minutes_cv=0.0, adherence=1.0)
    p = reeds_dealt(days=5, per_box=4, set_size=4, overrides=(("open", "daily_limit_min", 30.0),))
    b = simulate(p, w, 20, 12)
    assert b.play_min[b.used_b].max() == 30
    assert b.play_min[~b.used_b].max() == 60


def test_nobody_plays_past_the_cap_of_hours_by_more_than_a_sitting() -> None:
    b = simulate(reeds_dealt(days=200, cap_hours=4.0, outcome="life_hours", matters=1.5), World(), 30, 13)
    assert b.hours.max() <= 5.0
    assert (b.hours[b.left_why == GOING] >= 4.0).all()


@pytest.mark.parametrize("bad_days", [False, True])
def test_the_share_of_sittings_done_as_dealt_is_the_wished_one(bad_days: bool) -> None:
    w = World(adherence=0.8, bad_days_decide=bad_days)
    b = simulate(squares(), w, 3000, 14, fresh_deals=True)
    dealt = b.dealt_b[:, b.plan.slot_unit]
    assert (b.used_b == dealt).mean() == pytest.approx(0.8, abs=0.01)


def test_where_bad_days_decide_the_slips_fall_on_bad_days_and_to_the_first_habit() -> None:
    b = simulate(squares(), World(adherence=0.8, bad_days_decide=True), 500, 15, fresh_deals=True)
    dealt = b.dealt_b[:, b.plan.slot_unit]
    mood = b.days.mood[b.plan.slot_day - 1].T
    slipped = b.used_b != dealt
    assert not b.used_b[slipped].any()
    assert mood[slipped].max() <= mood[(~slipped) & dealt].min()


def test_entries_go_missing_as_often_as_the_world_says() -> None:
    w = World(forgotten=0.1, unrated=0.2, from_memory=0.3)
    b = simulate(squares(), w, 3000, 16)
    played = b.play_min > 0
    assert b.logged[played].mean() == pytest.approx(0.9, abs=0.006)
    assert np.isfinite(b.rating[played]).mean() == pytest.approx(0.9 * 0.8, abs=0.008)
    assert b.from_memory.mean() == pytest.approx(0.3, abs=0.01)
    assert not np.isfinite(b.rating[~played]).any()


def test_fresh_deals_keep_each_set_balanced_and_use_every_arrangement() -> None:
    p = squares(days=6)
    b = simulate(p, World(), 4000, 17, fresh_deals=True)
    np.testing.assert_array_equal(b.dealt_b[:, ::2], ~b.dealt_b[:, 1::2])
    _, counts = np.unique(b.dealt_b, axis=0, return_counts=True)
    assert len(counts) == 8
    assert counts == pytest.approx(np.full(8, 500), abs=100)


def test_without_fresh_deals_every_run_keeps_the_plan_s_own_deal() -> None:
    p = squares()
    b = simulate(p, World(), 5, 18)
    assert all(b.protocol_of(i) is p for i in range(5))


def test_worlds_without_an_effect_favour_neither_habit() -> None:
    """The mean gap over runs is zero within four standard errors, though reeds wear and diaries have gaps."""
    b = simulate(reeds_dealt(days=21), World(minutes_a_day=120), 3000, 19, fresh_deals=True)
    mine = b.dealt_b[:, b.plan.slot_unit]
    a = np.nanmean(np.where(mine, np.nan, b.rating), axis=1)
    z = np.nanmean(np.where(mine, b.rating, np.nan), axis=1)
    gap = z - a
    assert abs(gap.mean()) < 4 * gap.std() / np.sqrt(len(gap))
    hours = (b.hours * np.where(b.dealt_b, 1, -1)).mean(axis=1)
    assert abs(hours.mean()) < 4 * hours.std() / np.sqrt(len(hours))


def test_a_rating_world_with_a_low_ceiling_piles_ratings_up_at_ten() -> None:
    b = simulate(squares(), World(level=9.5), 200, 20)
    assert np.nanmax(b.rating) == 10
    assert np.mean(b.rating[np.isfinite(b.rating)] == 10) > 0.25


def test_ten_thousand_day_by_day_trials_take_about_a_second() -> None:
    p, best = squares(), np.inf
    for seed in range(3):
        start = time.perf_counter()
        simulate(p, World(), 10_000, seed)
        best = min(best, time.perf_counter() - start)
    assert best < 2.0  # about 0.1 s on a quiet machine


def test_a_thousand_life_trials_of_twenty_reeds_take_well_under_a_second() -> None:
    p = reeds_dealt(days=140, boxes=2, outcome="life_hours", matters=1.5)
    best = np.inf
    for seed in range(2):
        start = time.perf_counter()
        simulate(p, World(), 500, seed)
        best = min(best, time.perf_counter() - start)
    assert best < 1.0  # about 0.1 s on a quiet machine


def test_reeds_that_are_handed_in_are_the_reeds_that_are_played() -> None:
    p = reeds_dealt(days=40, worn_out_below=0.0)
    reeds = simulate(p, World(), 1, 1).reeds
    good = dataclasses.replace(reeds, level=np.linspace(3, 8, 10)[:, None], wear=0 * reeds.wear,
                               life_h=0 * reeds.life_h + 900, damage_h=0 * reeds.damage_h + 900)
    b = simulate(p, QUIET.but(noise_sd=0.01), 1, 2, reeds=good)
    seen = [np.nanmean(b.rating[0, b.plan.slot_reed == k]) for k in range(10)]
    assert seen == pytest.approx(np.linspace(3, 8, 10), abs=0.05)
    assert good.take([3, 1]).level.ravel() == pytest.approx(good.level.ravel()[[3, 1]])
    with pytest.raises(InputError, match="reeds by runs"):
        simulate(p, World(), 2, 2, reeds=good)


def test_no_runs_and_no_reeds_are_refused() -> None:
    with pytest.raises(InputError, match="at least 1"):
        simulate(squares(), World(), 0, 1)
    with pytest.raises(InputError, match="names no reeds"):
        simulate(reeds_dealt(per_box=0), World(), 1, 1)
