"""Two doors to one engine: a trial kept in a logbook gets the answer of the simulated trial that it is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate

from ...benchmarks.looking import judge_with_looks
from ._single import a_plan, differences, differences_in, early_verdicts

PLAIN = World(effect_points=0.6)
#: Sittings forgotten and unrated, unsure reeds, days off, and three in ten done with the other habit.
HOLES = World(effect_points=0.9, adherence=0.7, forgotten=0.15, unrated=0.1, unsure_reed=0.05, day_off=0.2)
#: Good reeds, a ceiling, whole points.
CEILING = World(level=9.3, step=1.0, effect_points=0.3)
#: Reeds that soon wear out or break.
SHORT = World(life_median_h=8, minutes_a_day=120, effect_life=2.0)
FRAIL = World(life_median_h=8, minutes_a_day=120, damage_share=0.3, adherence=0.7, forgotten=0.2)
ALIKE = World(life_median_h=6, life_shape=8, damage_share=0.05, minutes_a_day=150, adherence=0.9)

SWEPT = ("day", "age_hours", "humidity", "order")


def squares() -> Protocol:
    return a_plan("wetting", "day_rating")


def squares_evened() -> Protocol:
    return a_plan("wetting", "day_rating", adjust=SWEPT)


def one_a_day() -> Protocol:
    return a_plan("wetting", "day_rating", reeds_a_day=1, adjust=("humidity", "order"), matters=2.0)


def boxes_of_six() -> Protocol:
    return a_plan("wetting", "mean_rating", each=6, adjust=("first_play", *SWEPT), matters=1.5)


def one_box() -> Protocol:
    return a_plan("drying", "mean_rating", boxes=1, matters=2.0)


def wear() -> Protocol:
    return a_plan("drying", "wear_rate", adjust=("first_play", "humidity", "order"), matters=0.8)


def wear_by_hours() -> Protocol:
    return a_plan("rotation", "wear_rate", matters=0.3)


def lives() -> Protocol:
    return a_plan("drying", "life_hours", days=60, matters=3.0)


def good() -> Protocol:
    return a_plan("drying", "good_hours", days=60, matters=3.0)


def lives_by_hours() -> Protocol:
    return a_plan("rotation", "life_hours", cap_hours=6.0, minutes_a_day=120, matters=2.0)


def lives_by_word() -> Protocol:
    return a_plan("drying", "life_hours", days=60, matters=3.0, worn_out_rule="player")


def lives_beside() -> Protocol:
    past = tuple((2.0 + 0.7 * k, k % 5 != 0) for k in range(14))
    return dataclasses.replace(lives_by_word(), past_lives=past)


def lives_by_hours_beside() -> Protocol:
    return dataclasses.replace(lives_by_hours(), past_lives=tuple((3.0 + k, k % 3 != 0) for k in range(12)))


CASES = [
    (squares, CEILING), (squares_evened, HOLES), (one_a_day, HOLES), (boxes_of_six, HOLES), (one_box, PLAIN),
    (wear, SHORT), (wear_by_hours, PLAIN), (lives, FRAIL), (good, ALIKE), (lives_by_hours, SHORT),
    (lives_by_word, SHORT), (lives_beside, SHORT), (lives_by_hours_beside, SHORT)]


@pytest.mark.parametrize(("plan", "world"), CASES, ids=[plan.__name__ for plan, _ in CASES])
def test_a_trial_kept_in_a_logbook_is_read_as_the_simulated_one(plan, world) -> None:  # type: ignore[no-untyped-def]
    """One engine behind two doors: what may differ is what each hands in."""
    faults, _ = differences(plan(), world, 2, 7)
    assert not faults


def test_early_looks_are_judged_and_paid_for_as_in_the_single_path() -> None:
    protocol = a_plan("wetting", "day_rating")
    batch = simulate(protocol, World(effect_points=2.0), 6, 3, fresh_deals=True)
    days = [7, 11]
    claimed = judge_with_looks(batch_trials(batch), days)
    assert claimed.tolist() == early_verdicts(batch, days)


def test_an_early_look_needs_more_and_never_says_no_difference() -> None:
    trials = batch_trials(simulate(a_plan("wetting", "day_rating"), World(noise_sd=0.5), 200, 4, fresh_deals=True))
    early, final = judge_batch(trials, looks=1, early=True, day=10), judge_batch(trials)
    assert "no_real_difference" in set(final.verdict)
    assert "no_real_difference" not in set(early.verdict)
    assert not np.isin(early.verdict, ["a_better", "b_better"])[early.p_value > 0.001].any()


def test_the_range_covers_what_p_at_does_not_reject() -> None:
    """p at the true constant gap, taken from B's ratings, stays above alpha as often as it should."""
    quiet = World(level=5.0, effect_points=1.0, adherence=1.0, noise_sd=0.6, mood_sd=0.3, taste_sd=0.2, step=0.01)
    trials = batch_trials(simulate(a_plan("wetting", "day_rating"), quiet, 1500, 5, fresh_deals=True))
    p = judge_batch(trials, at=(1.0,)).p_at[:, 0]
    assert (p > 0.05).mean() == pytest.approx(0.95, abs=0.02)


def test_lives_at_the_observed_ratio_are_tested_like_any_other() -> None:
    trials = batch_trials(simulate(lives(), SHORT, 50, 6, fresh_deals=True))
    found = judge_batch(trials, full=True, at=(1.0,))
    assert np.allclose(found.p_at[:, 0], found.p_value)


@pytest.mark.parametrize(("days", "each"), [([5, 8, 10], 4), ([13, 18, 22], 1)])
def test_a_trial_that_may_be_read_early_gets_the_same_answers(days: list[int], each: int) -> None:
    long = 12 if each > 1 else 24
    plan = dataclasses.replace(a_plan("wetting", "day_rating", days=long, reeds_a_day=each), read_early=True)
    world = World(effect_points=2.0 if each > 1 else 3.0, forgotten=0.1, day_off=0.1, adherence=0.9)
    batch = simulate(plan, world, 24, 8, fresh_deals=True)
    claimed = judge_with_looks(batch_trials(batch), days)
    assert claimed.tolist() == early_verdicts(batch, days)
    assert 2 < np.sum(claimed == "b_better") < 24
    faults, _ = differences_in(batch)
    assert not faults
