from __future__ import annotations

import dataclasses
import itertools
import math
import time
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from scipy.stats import chi2

from reedlab.errors import ProtocolError
from reedlab.plan import arrangements, draw_up, redeal
from reedlab.plan.forecast import forecast
from reedlab.questions import CATALOGUE, own_question
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.protocol import Habit, Protocol
from reedlab.worlds import World
from tests.readability import grade

from ..analysis.shuffling._many import p_values
from ._reeds import START, boxes, plan, reeds, refusal

EVERY = [(q.key, d, o) for q in CATALOGUE.values() for d in q.designs for o in q.outcomes_for(d)]
REFUSED = {("cut_or_strength", "day_by_day", 1), ("cut_or_strength", "reed_by_reed", 1),
           ("cut_or_strength", "reed_by_reed", 2)}


DEFAULTS = [(q.key, q.design, q.outcome_for(q.design)) for q in CATALOGUE.values()]


@pytest.mark.parametrize(("sizes", "key", "design", "outcome"), [
    *((sizes, *x) for sizes in [(10,), (10, 10)] for x in EVERY),
    *((sizes, *x) for sizes in [(20,), (5, 5)] for x in DEFAULTS)], ids=str)
def test_every_question_gives_a_fair_plan_or_a_documented_refusal(
        sizes: tuple[int, ...], key: str, design: str, outcome: str) -> None:
    if (key, design, len(sizes)) in REFUSED:
        assert refusal(key, reeds(*sizes), design=design, outcome=outcome).code == "box_is_arm"
        return
    draft = plan(key, reeds(*sizes), design=design, outcome=outcome)
    p = draft.protocol
    assert p.question == key
    assert (p.design, p.outcome) == (design, outcome)
    assert draft.least_p <= 0.05
    assert draft.least_p <= draft.least_p_after_loss <= 1
    assert draft.layouts["chosen"].sum() == 1
    assert 0 <= draft.chance <= 1
    assert redeal(p) == p.dealt
    assert Protocol.from_json(p.to_json()) == p
    assert {s.reed for s in p.slots} == set(p.reeds)
    assert max(s.day for s in p.slots) <= p.days
    if design == "reed_by_reed":
        assert set(p.reeds) | set(draft.spare) == set(reeds(*sizes)["reed"])
        assert min(Counter(s.reed for s in p.slots).values()) >= 3
        if OUTCOMES[outcome].scale == "ratio":
            assert min(Counter(u.block for u in p.units).values()) >= 4


@pytest.mark.parametrize("key", list(CATALOGUE))
def test_what_a_draft_says_is_plain(key: str) -> None:
    draft = plan(key, reeds(10, 10))
    assert grade(" ".join(draft.remarks)) <= 8


def test_ten_reeds_in_one_box_get_a_usable_plan() -> None:
    draft = plan()
    assert draft.least_p < 0.02
    assert Counter(draft.protocol.dealt) == {"open": 5, "straight": 5}
    assert not any(draft.layouts["layout"] == "5 sets of 2")  # it could never reach 0.05


def test_ten_reeds_in_two_boxes_of_five_are_dealt_within_their_boxes() -> None:
    p = plan(table=reeds(5, 5)).protocol
    for box in "12":
        dealt = Counter(k for u, k in zip(p.units, p.dealt, strict=True) if u.unit.startswith(box))
        assert sorted(dealt.values()) in ([2, 2], [2, 3])
    assert all(len({u.unit[0] for u in p.units if u.block == b}) == 1 for b in {u.block for u in p.units})


def test_more_reeds_prefer_a_plan_that_survives_losing_a_set() -> None:
    draft = plan(table=reeds(20))
    assert draft.least_p_after_loss <= 0.05


def test_sets_hold_reeds_alike_at_first_play() -> None:
    table = reeds(16)
    p = plan(table=table).protocol
    rating = table.set_index("reed")["first_play"]
    spans = [(rating[[u.unit for u in p.units if u.block == b]].min(), rating[[u.unit for u in p.units
              if u.block == b]].max()) for b in dict.fromkeys(u.block for u in p.units)]
    assert len(spans) > 1
    assert all(low >= high for (low, _), (_, high) in itertools.pairwise(spans))


def test_day_by_day_defaults_to_four_reeds_and_fourteen_days() -> None:
    draft = plan("wetting")
    p = draft.protocol
    assert len(p.reeds) == 4
    assert p.days == 14
    assert p.unit_kind == "diagonal"
    assert draft.least_p == pytest.approx(2 / 2**14)
    assert draft.least_p_after_loss == pytest.approx(2 / 2**13)
    best = reeds(10).sort_values("first_play", ascending=False)["first_play"].iloc[:4]
    assert sorted(reeds(10).set_index("reed").loc[list(p.reeds), "first_play"]) == sorted(best)


def test_fading_over_different_days_asks_for_a_clearer_gap() -> None:
    two = reeds(10, 10)
    assert plan("rotation", two, outcome="wear_rate").protocol.level == 0.97
    assert plan("resting_days", two, outcome="wear_rate").protocol.level == 0.97
    assert plan("rotation", two, outcome="life_hours").protocol.level == 0.95
    assert plan("drying", two, outcome="wear_rate").protocol.level == 0.95


def test_one_reed_a_day_makes_single_sittings_and_two_the_squares() -> None:
    assert plan("wetting", reeds_a_day=1).protocol.unit_kind == "sitting"
    two = plan("wetting", reeds_a_day=2)
    assert two.least_p == pytest.approx(2 / 2**7)
    assert len(plan("wetting", reeds(3)).protocol.reeds) == 3


def test_no_reed_serves_two_ways_on_one_day() -> None:
    p = plan("wetting", reeds(5), days=21).protocol
    for s in p.slots:
        assert p.habit_for(s.reed, s.day) is not None


@pytest.mark.parametrize("size", [6, 8])
def test_two_cells_of_a_square_row_always_get_both_ways(size: int) -> None:
    p = plan("position", reeds(size)).protocol
    for day in range(1, p.days + 1):
        ways = [p.habit_for(s.reed, day) for s in p.slots if s.day == day]
        assert Counter(h.key for h in ways if h) == {"level": 2, "lower": 2}


def test_the_same_seed_gives_the_same_plan_and_another_seed_another() -> None:
    assert plan("wetting").protocol == plan("wetting").protocol
    assert plan("wetting").protocol.dealt != plan("wetting", seed=12).protocol.dealt
    shuffled = reeds(10).sample(frac=1, random_state=3)
    assert plan(table=shuffled).protocol == plan().protocol


def test_the_row_order_and_the_clock_play_no_part_in_the_chance() -> None:
    assert plan().chance == plan(table=reeds(10).iloc[::-1]).chance


@pytest.mark.parametrize(("key", "sizes", "more"), [
    ("drying", (8,), {}), ("drying", (5, 5), {}), ("wetting", (4,), {"days": 12, "reeds_a_day": 2})], ids=str)
def test_deals_are_uniform_over_the_allowed_arrangements(key: str, sizes: tuple[int, ...], more: dict) -> None:
    """Chi-square of many re-deals over every arrangement, fixed seeds, 99.9 % point (SciPy chi2)."""
    p = plan(key, reeds(*sizes), **more).protocol
    ways = np.vstack(list(arrangements(p)))
    assert len(np.unique(ways, axis=0)) == len(ways)
    place = {tuple(row): i for i, row in enumerate(ways)}
    counts = np.zeros(len(ways))
    each = 30
    for seed in range(each * len(ways)):
        dealt = redeal(dataclasses.replace(p, seed=seed))
        counts[place[tuple(k == p.habits[1].key for k in dealt)]] += 1
    assert ((counts - each) ** 2 / each).sum() < chi2.ppf(0.999, len(ways) - 1)


def test_arrangements_come_from_the_plan_alone() -> None:
    p = Protocol.from_json(plan().protocol.to_json())
    ways = np.vstack(list(arrangements(p)))
    assert len(ways) == 2 / plan().least_p
    (drawn,) = arrangements(p, draws=50, seed=1)
    assert {tuple(r) for r in drawn} <= {tuple(r) for r in ways}
    assert tuple(k == p.habits[1].key for k in p.dealt) in {tuple(r) for r in ways}


def test_a_plan_not_dealt_from_a_seed_cannot_be_dealt_again() -> None:
    p = dataclasses.replace(plan().protocol, how_dealt="by hand")
    with pytest.raises(ProtocolError, match="seed"):
        redeal(p)


def test_reeds_set_aside_or_retired_are_never_dealt() -> None:
    table = reeds(12)
    table.loc[0, "set_aside"] = True
    draft = plan(table=table, left_out=["1-12"])
    assert not {"1-01", "1-12"} & ({*draft.protocol.reeds} | {*draft.spare})
    assert any("1-01" in r for r in draft.remarks)


def test_break_in_takes_only_reeds_not_played_yet() -> None:
    p = plan("break_in", reeds(12), played=["1-03"]).protocol
    assert p.from_new
    assert "1-03" not in p.reeds
    assert "1-03" in plan("drying", reeds(12), played=["1-03"]).protocol.reeds


def test_missing_first_plays_are_matched_by_chance_and_said() -> None:
    draft = plan(table=reeds(10, rated=False))
    assert len(draft.protocol.reeds) == 10
    assert any("No first play rating" in r for r in draft.remarks)
    again = plan(table=reeds(10, rated=False), seed=12)
    assert [u.unit for u in draft.protocol.units] != [u.unit for u in again.protocol.units]


def test_worked_on_reeds_are_dealt_and_named() -> None:
    table = reeds(10)
    table.loc[2, "worked_on"] = pd.Timestamp("2026-02-01")
    assert any("worked on" in r and "1-03" in r for r in plan(table=table).remarks)


@pytest.mark.parametrize(("key", "days"), [("rotation", 80), ("resting_days", 80), ("daily_limit", 80)])
def test_habits_that_set_the_hours_end_at_a_cap_equal_for_both(key: str, days: int) -> None:
    p = plan(key).protocol
    assert p.cap_hours == 8
    assert not p.same_days
    assert p.days >= days
    habit = dict(zip((u.unit for u in p.units), p.dealt, strict=True))
    minutes = {"limit": 30, "open_end": 60}
    hours = Counter()
    for s in p.slots:
        hours[s.reed] += minutes.get(habit[s.reed], 30)
    assert set(hours.values()) == {480}


def test_a_cap_that_does_not_fit_the_days_is_refused_with_one_that_does() -> None:
    no = refusal("rotation", days=30)
    assert no.code == "too_short"
    assert "at least 80 days" in no.instead
    assert "3 hours" in no.instead
    assert plan("rotation", days=30, cap_hours=3).protocol.days == 30


def test_the_daily_limit_bites_at_half_of_the_minutes() -> None:
    assert ("limit", "daily_limit_min", 30) in plan("daily_limit").protocol.overrides
    assert ("limit", "daily_limit_min", 60) in plan("daily_limit", minutes_a_day=120).protocol.overrides


def test_two_boxes_are_compared_by_fresh_draws_and_a_coin_for_the_order() -> None:
    draft = plan("cut_or_strength", reeds(10, 8), reeds_a_day=2)
    p = draft.protocol
    assert [h.key for h in p.habits] == ["box-1", "box-2"]
    assert p.unit_kind == "sitting"
    for u, key in zip(p.units, p.dealt, strict=True):
        assert u.unit.split(".")[0] == u.block
        assert u.reeds[0].startswith(key[-1] + "-")
    assert draft.least_p == pytest.approx(2 / 2**14)
    assert "these two boxes" in " ".join(draft.remarks)
    first = [k for u, k in zip(p.units, p.dealt, strict=True) if u.unit.endswith(".1")]
    assert len(set(first)) == 2


def test_two_boxes_alike_on_average_are_rarely_told_apart() -> None:
    """Reeds differ, boxes have equal means: at most 5 in 100 false alarms, within error, for this draw of days.

    2,000 trials of 14 days; 1.96 standard errors of 5 % are 1 %.
    """
    rng = np.random.default_rng(4)
    trials, n = 2000, 28
    levels = rng.normal(0, 1.12, (2, trials, 10))
    levels -= levels.mean(axis=2, keepdims=True)
    pick = np.argsort(rng.random((2, trials, 14, 10)), axis=3)[..., :2].reshape(2, trials, n)
    y = np.take_along_axis(levels, pick, axis=2) + rng.normal(0, 1, (2, trials, n))
    values = np.stack([y[0], y[1]], axis=2).reshape(trials, -1)
    is_b = np.tile([False, True], n)
    got = p_values(values, is_b, np.repeat(np.arange(n), 2), limit=2**10, samples=2000)
    assert (got <= 0.05).mean() <= 0.06


def test_many_boxes_of_two_cuts_give_a_hint_at_most() -> None:
    cuts = boxes(*[("wide", "3")] * 4, *[("narrow", "3")] * 5)
    draft = plan("cut_or_strength", reeds(*[3] * 9), design="reed_by_reed", boxes=cuts)
    p = draft.protocol
    assert p.how_dealt == "not"
    assert sorted(u.unit[0] for u in p.units) == list("123456789")
    assert all((k == "cut-2") == (int(u.unit[0]) <= 4) for u, k in zip(p.units, p.dealt, strict=True))
    assert "hint" in " ".join(draft.remarks)


def test_expectation_mask_set_up_and_rating_are_kept_in_the_plan() -> None:
    p = plan(expected="open", expected_gap=1.0, masked="helper", setup="usual", rating="response", matters=1.5,
             trial="winter").protocol
    assert (p.expected, p.expected_gap, p.masked, p.setup, p.rating, p.matters, p.trial) == (
        "open", 1.0, "helper", "usual", "response", 1.5, "winter")


def test_an_own_question_is_planned_like_any_other() -> None:
    q = own_question("Warm or cool room?", Habit("warm", "a warm room"), Habit("cool", "a cool room"), lasts=False)
    p = plan(q).protocol
    assert p.ask == "Warm or cool room?"
    assert [h.key for h in p.habits] == ["cool", "warm"]


def test_own_words_for_a_habit_keep_their_side() -> None:
    p = plan("rotation", habits=(Habit("single", "one till it dies"), Habit("rotation", "three in turn"))).protocol
    assert [h.name for h in p.habits] == ["three in turn", "one till it dies"]


def test_more_squares_and_larger_gaps_raise_the_chance() -> None:
    by_day = plan("wetting", simulations=600).layouts.set_index("layout")["chance"]
    assert by_day["2 reeds a day"] < by_day["4 reeds a day"] < by_day["6 reeds a day"]
    assert plan("wetting", matters=2.0).chance > plan("wetting", matters=0.7).chance


def test_few_reeds_worn_out_is_said_before_the_start() -> None:
    """16 reeds over 15 weeks at an hour a day: the Weibull law of lives gives 1.8 worn out, the played trials 2 to 3.

    They know what the law does not: reeds that leave early hand their minutes to the others.
    """
    draft = plan("drying", reeds(16), outcome="life_hours", days=105)
    world = World()
    hours = [105 / 16 * math.sqrt(draft.protocol.matters) ** s for s in (-1, 1)]
    law = sum(8 * (1 - math.exp(-((h / world.life_scale_h) ** world.life_shape))) for h in hours)
    assert law * (1 - world.damage_share) == pytest.approx(1.8, abs=0.05)
    assert 1.8 <= draft.forecast.worn_out <= 3.5
    assert any("too few" in r for r in draft.remarks)


@pytest.mark.parametrize("key", ["wetting", "drying", "rotation"])
def test_the_default_plan_is_drawn_up_within_two_seconds(key: str) -> None:
    start = time.perf_counter()
    draw_up(key, reeds(10, 10), start=START, seed=1, instrument="clarinet")
    assert time.perf_counter() - start < 4  # about half a second on one core; room for a busy machine


@pytest.mark.parametrize(("key", "more"), [
    ("wetting", {}), ("drying", {}), ("drying", {"outcome": "life_hours"}), ("rotation", {"outcome": "wear_rate"}),
    ("cut_or_strength", {})])
def test_a_draft_tells_the_chance_of_the_forecast(key: str, more: dict) -> None:
    """The same trials, so the same number to the last digit."""
    draft = plan(key, reeds(10, 10), simulations=150, **more)
    p = draft.shown
    found = forecast(p, gaps=(p.matters,), trials=150, samples=2000)
    assert draft.chance == found.right == draft.layouts.loc[draft.layouts["chosen"], "chance"].item()


def test_the_layouts_tell_the_chance_of_the_forecast_too() -> None:
    """Four reeds a day, beside what a plan of two or six a day would be given: within 3.5 standard errors."""
    tried = plan("wetting", simulations=600).layouts.set_index("layout")["chance"]
    for n in (2, 6):
        own = plan("wetting", reeds_a_day=n, reeds_in_trial=max(4, n), simulations=600)
        error = own.forecast.odds[0].error(own.chance)
        assert tried[f"{n} reeds a day"] == pytest.approx(own.chance, abs=3.5 * math.sqrt(3) * error)


def test_what_makes_a_weak_plan_stronger_is_said_in_words_that_stand_alone() -> None:
    said = plan("drying").remarks
    assert "More reeds of one box, or more days, make a true difference easier to find." in said
    assert not any(r.endswith("raise that.") for r in said)
