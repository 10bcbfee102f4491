"""The forecast plays the very plan, says how sure it is, and stays the same for the same seed."""

from __future__ import annotations

import dataclasses
import importlib
from datetime import date, timedelta

import numpy as np
import pytest
from joblib import parallel_config
from scipy import stats

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.trial import analyse
from reedlab.errors import InputError
from reedlab.plan import draw_up
from reedlab.plan.forecast import VERDICTS, forecast, usual_gaps, usual_trials, with_effect
from reedlab.plan.grids import Scenario, forecast_grid, grid_table
from reedlab.rows.tables import typed
from reedlab.summary.words.forecast import forecast_sentences
from reedlab.trial.outlook import Outlook
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate, to_frames

START = date(2026, 1, 5)


def a_plan(question: str = "wetting", outcome: str = "day_rating", boxes: int = 1, each: int = 10, seed: int = 3,
           **more: object) -> Protocol:
    reeds = typed("reeds", [{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1), "first_play": 8 - i / 2}
                            for b in range(boxes) for i in range(each)])
    return draw_up(question, reeds, start=START, seed=seed, instrument="clarinet", outcome=outcome, simulations=100,
                   **more).protocol  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def days() -> Protocol:
    return a_plan()


@pytest.fixture(scope="module")
def made(days: Protocol) -> Outlook:
    return forecast(days, trials=400, seed=2)


def test_the_chances_of_the_four_verdicts_add_up_at_every_gap(made: Outlook) -> None:
    assert [sum(getattr(o, v) for v in VERDICTS) for o in made.odds] == pytest.approx([1] * 5)
    assert [o.trials for o in made.odds] == [400] * 5


def test_a_larger_difference_is_found_more_often_and_never_the_wrong_way(made: Outlook) -> None:
    assert (np.diff([o.b_better for o in made.odds]) > 0).all()
    assert max(o.a_better for o in made.odds[2:]) == 0
    assert made.same == made.odds[0].no_real_difference
    assert made.right == made.odds[2].b_better


def test_the_first_habit_wins_as_often_when_it_is_the_better_one(days: Protocol) -> None:
    both = forecast(days, gaps=(-1.0, 1.0), trials=400, seed=4)
    assert [o.gap for o in both.odds] == [-1, 1]
    lost, won = both.odds[0].a_better, both.odds[1].b_better
    assert abs(lost - won) < 0.12  # the scale has less room above than below, so not quite alike


def test_same_seed_same_forecast_and_another_seed_another(days: Protocol, made: Outlook) -> None:
    assert forecast(days, trials=400, seed=2) == made
    assert forecast(days, trials=400, seed=3).odds != made.odds


def test_the_stated_error_is_that_of_repeated_forecasts(days: Protocol) -> None:
    again = [forecast(days, gaps=(1.0,), trials=100, seed=s).odds[0] for s in range(40)]
    seen = np.std([o.b_better for o in again], ddof=1)
    stated = np.mean([o.error(o.b_better) for o in again])
    low, high = np.sqrt(stats.chi2.ppf([0.001, 0.999], 39) / 39)
    assert low < seen / stated < high


def test_the_error_is_never_zero(made: Outlook) -> None:
    assert min(o.error(getattr(o, v)) for o in made.odds for v in VERDICTS) > 0


def test_sittings_hours_and_worn_out_reeds_are_those_of_the_simulated_players() -> None:
    plan = a_plan("drying", "life_hours", boxes=2, days=60)
    world = World(life_median_h=5, minutes_a_day=90)
    got = forecast(plan, world=world, gaps=(1.0,), trials=300, seed=5)
    batch = simulate(plan, world, 300, 77, fresh_deals=True)
    rated = (np.isfinite(batch.rating) & ~batch.unsure_reed).sum() / (300 * 20)
    assert got.sittings == pytest.approx(rated, rel=0.04)
    assert got.hours == pytest.approx(batch.hours.mean(), rel=0.04)
    assert got.worn_out == pytest.approx((batch.left_why == 1).sum() / 300, abs=0.5)
    assert 2 / 14400 * (1 - 1e-9) <= got.least_p <= 8 / 14400  # nearly all wore out: about what the plan could
    assert forecast(plan, world=world.but(life_median_h=500), gaps=(1.0,), trials=50).least_p == 1.0


def test_memory_is_bounded_by_playing_in_parts_and_the_parts_do_not_depend_on_the_gap(
        days: Protocol, monkeypatch: pytest.MonkeyPatch) -> None:
    # the smallest parts there are: fifty trials
    monkeypatch.setattr(importlib.import_module("reedlab.plan.forecast"), "_BYTES", 1)
    told: list[int] = []
    got = forecast(days, gaps=(0.0, 1.0), trials=120, seed=1, progress=told.append)
    assert told == [50, 50, 20, 50, 50, 20]
    assert [o.trials for o in got.odds] == [120, 120]


def test_usual_gaps_are_steps_of_what_matters(days: Protocol) -> None:
    assert usual_gaps(days) == (0.0, 0.5, 1.0, 1.5, 2.0)
    lives = a_plan("drying", "life_hours", boxes=2, matters=2.0, days=60)
    assert usual_gaps(lives) == pytest.approx((1, 2**0.5, 2, 2**1.5, 4))
    assert usual_trials(days) == 1000


def test_the_true_difference_is_put_where_the_outcome_feels_it() -> None:
    world = World(effect_points=3.0)
    assert with_effect(world, "day_rating", 1.0).effect_points == 1.0
    assert with_effect(world, "wear_rate", 0.2).effect_wear == 0.2
    assert with_effect(world, "good_hours", 1.5).effect_life == 1.5


def test_what_cannot_be_forecast_is_refused_in_words(days: Protocol) -> None:
    diary = dataclasses.replace(days, how_dealt="not")
    with pytest.raises(InputError, match="nothing was dealt"):
        forecast(diary)
    with pytest.raises(InputError, match=r"`trials` is 0.*`seed`"):
        forecast(days, trials=0, seed=-1)
    with pytest.raises(InputError, match="`gaps`"):
        forecast(days, gaps=())


def test_a_grid_gives_each_scenario_its_own_forecast_whatever_the_cores(days: Protocol) -> None:
    scenarios = {"usual": Scenario(days, gaps=(1.0,)), "quiet": Scenario(days, World(noise_sd=0.5), (1.0,))}
    told: list[int] = []
    one = forecast_grid(scenarios, trials=100, seed=6, jobs=1, progress=told.append)
    two = forecast_grid(scenarios, trials=100, seed=6, jobs=2)
    with parallel_config(backend="threading"):  # as a cluster's backend would be handed in
        other = forecast_grid(scenarios, trials=100, seed=6)
    assert told == [100, 100]
    assert [f.odds for f in one.values()] == [f.odds for f in other.values()]
    assert [f.odds for f in one.values()] == [f.odds for f in two.values()]
    assert one["usual"].odds == forecast(days, gaps=(1.0,), trials=100, seed=6).odds
    table = grid_table(one)
    assert table["scenario"].tolist() == ["usual", "quiet"]
    assert table["b_better"].iloc[1] > table["b_better"].iloc[0]
    with pytest.raises(InputError, match="at least one"):
        forecast_grid({})


def test_a_forecast_becomes_a_frame_with_its_errors(days: Protocol) -> None:
    made = forecast(days, gaps=(1.0, 0.0), trials=100, seed=6)
    table = made.to_frame()
    assert table["gap"].tolist() == [0.0, 1.0]
    assert np.allclose(table[list(VERDICTS)].sum(axis=1), 1)
    assert table["b_better_error"].tolist() == [o.error(o.b_better) for o in made.odds]


@pytest.mark.parametrize(("plan", "gap", "n"), [
    ({"question": "wetting", "outcome": "day_rating"}, 1.0, 30),
    ({"question": "drying", "outcome": "mean_rating"}, 3.0, 25)], ids=["day by day", "reed by reed"])
def test_the_forecast_agrees_with_trials_written_down_and_analysed_one_by_one(plan, gap, n) -> None:  # type: ignore[no-untyped-def]
    """A reduced version of tests/benchmarks/truth.py, on other seeds than the forecast's own."""
    protocol = a_plan(**plan)
    said = forecast(protocol, gaps=(gap,), trials=600, seed=8)
    batch = simulate(protocol, with_effect(World(), protocol.outcome, gap), n, 99, fresh_deals=True)
    after = START + timedelta(days=protocol.days)
    found = [analyse(batch.protocol_of(i), to_frames(batch, i), today=after, side_readings=False).main
             for i in range(n)]
    for verdict in VERDICTS:
        chance = getattr(said.at(gap), verdict)
        seen = sum(f is not None and f.verdict == verdict for f in found)
        assert stats.binomtest(seen, n, min(max(chance, 0.005), 0.995)).pvalue > 1e-3


def test_of_two_boxes_a_reed_keeps_its_box_and_the_forecast_is_what_drawn_plans_show() -> None:
    plan = a_plan("cut_or_strength", boxes=2, each=5, days=14)
    box = plan.habits[1].key.removeprefix("box-")
    batch = simulate(plan, World(adherence=1.0), 40, 3, fresh_deals=True)
    of_b = np.array([u.reeds[0].startswith(f"{box}-") for u in plan.units])
    assert (batch_trials(batch).dealt_b == of_b).all()
    told = forecast(plan, gaps=(0.0, 1.0), trials=400, seed=4)
    named, right = [], []
    for s in range(8):  # plans drawn anew, each with its own days
        other = a_plan("cut_or_strength", boxes=2, each=5, days=14, seed=60 + s)
        for gap, out in ((0.0, named), (1.0, right)):
            world = with_effect(World(), "day_rating", gap)
            out.append(judge_batch(batch_trials(simulate(other, world, 60, s)), samples=4000).verdict)
    error = 4 * (0.25 / 400 + 0.25 / 480) ** 0.5
    assert told.at(1.0).b_better == pytest.approx(np.mean(np.concatenate(right) == "b_better"), abs=error)
    truly = np.mean(np.isin(np.concatenate(named), ("a_better", "b_better")))
    assert told.at(0.0).a_better + told.at(0.0).b_better == pytest.approx(truly, abs=error)
    said = " ".join(forecast_sentences(told))
    assert "So it tells of these two boxes, not of their cuts." in said


def test_where_all_reeds_are_equal_a_box_is_seldom_named() -> None:
    plan = a_plan("cut_or_strength", boxes=2, each=5, days=14)
    told = forecast(plan, world=World(box_sd=0.0, reed_sd=0.0), gaps=(0.0,), trials=400, seed=4).at(0.0)
    assert told.a_better + told.b_better <= stats.binom.ppf(0.999, 400, 0.05) / 400
