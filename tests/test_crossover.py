"""First one way, then the other, from the plan to the answer: the order dealt, the halves, what is read and told.

Grizzle 1965 (Biometrics 21, 467-480) and Hills and Armitage 1979 (Br. J. Clin. Pharmacol. 8, 7-20) for the analysis by
half-differences; Senn 2002 (Cross-over Trials in Clinical Research) and Freeman 1989 (Stat. Med. 8, 1421-1432) on why a
test for carry-over must not choose it.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from reedlab import compare
from reedlab.analysis.batch import judge_batch
from reedlab.analysis.together.parts import read_part
from reedlab.analysis.trial import analyse
from reedlab.classes.class_plan import class_plan
from reedlab.errors import InputError, PlanRefused, ProtocolError
from reedlab.plan import draw_up
from reedlab.plan.means import Means
from reedlab.plan.ranking import rank
from reedlab.questions import CATALOGUE, own_question
from reedlab.rows.tables import Frames
from reedlab.screens.questions import question_lines
from reedlab.summary import answer
from reedlab.trial.crossover import Halves
from reedlab.trial.protocol import Habit, Protocol
from reedlab.worlds import World, batch_trials, simulate, to_frames
from tests.plan._reeds import reeds

START = date(2026, 3, 2)
AFTER = date(2026, 6, 1)


def drawn(question: Any = "storage_case", n: int = 10, **more: Any) -> Protocol:
    how: dict[str, Any] = {"start": START, "seed": 5, "instrument": "clarinet", "outcome": "crossover", "days": 28,
                           "effect_days": 3, "simulations": 100}
    return draw_up(question, reeds(n), **{**how, **more}).protocol


def by_hand(plan: Protocol, rows: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Each reed's mean rating in either half by plain loops over the plan's days; nan where there is none."""
    first, second = [], []
    for unit in plan.units:
        halves: dict[int, list[float]] = {0: [], 1: []}
        for row in rows[rows["reed"] == unit.reeds[0]].itertuples():
            day = (row.date.date() - START).days + 1
            if plan.effect_days < day <= plan.days // 2:
                halves[0].append(row.overall)
            elif day > plan.days // 2 + plan.effect_days:
                halves[1].append(row.overall)
        kept = {h: [x for x in v if not np.isnan(x)] for h, v in halves.items()}
        first.append(np.mean(kept[0]) if kept[0] else np.nan)
        second.append(np.mean(kept[1]) if kept[1] else np.nan)
    return np.array(first), np.array(second)


# --- the plan ------------------------------------------------------------------------------------


def test_half_of_the_reeds_begin_with_either_way_and_all_change_on_one_day() -> None:
    plan = drawn()
    assert (plan.unit_kind, plan.design_name, plan.effect_days) == ("reed", "crossover", 3)
    assert Counter(plan.dealt) == {"case_1": 5, "case_2": 5}
    for unit, key in zip(plan.units, plan.dealt, strict=True):
        ways = [plan.habit_for(unit.unit, day).key for day in range(1, 29)]  # type: ignore[union-attr]
        other = plan.other_than(plan.habit(key)).key
        assert ways == [key] * 14 + [other] * 14
    assert Protocol.from_json(plan.to_json()) == plan


def test_nothing_is_rated_while_the_way_before_wears_off_and_both_halves_alike() -> None:
    plan = drawn()
    assert plan.halves is not None
    half = plan.halves.of([s.day for s in plan.slots])
    assert set(half) == {0, 1}
    counts = {h: Counter(s.reed for s, x in zip(plan.slots, half, strict=True) if x == h) for h in (0, 1)}
    assert counts[0] == counts[1]
    assert len(set(counts[0].values())) == 1


@pytest.mark.parametrize(("days", "effect"), [(28, 3), (29, 3), (12, 5), (61, 10)])
def test_the_halves_of_a_trial(days: int, effect: int) -> None:
    halves = Halves(days, effect)
    told = halves.of(np.arange(1, days + 1)).tolist()
    assert told == ([-1] * effect + [0] * (days // 2 - effect) + [-1] * effect
                    + [1] * (days - days // 2 - effect))
    assert halves.counted == told.count(0)


def test_the_player_says_how_long_a_way_goes_on() -> None:
    plan = drawn(effect_days=6, days=40)
    assert plan.effect_days == 6
    assert not [s for s in plan.slots if s.day <= 6 or 20 < s.day <= 26]
    for wrong in (0, 31, True, 2.5):
        with pytest.raises(InputError, match="goes on after you stop"):
            drawn(effect_days=wrong)


def test_a_question_whose_effect_stays_is_refused_with_the_reason() -> None:
    for key in ("drying", "rinse", "rotation", "break_in", "daily_limit"):
        with pytest.raises(PlanRefused, match="what the first way did stays") as no:
            drawn(key)
        assert CATALOGUE[key].why in no.value.reason
        assert no.value.code == "no_crossover"
    for key in ("wetting", "position", "cut_or_strength"):
        with pytest.raises(PlanRefused, match="gone by the next day"):
            drawn(key)


def test_a_trial_too_short_for_the_wear_off_is_refused_with_the_days_that_would_do() -> None:
    with pytest.raises(PlanRefused, match="each half begins with 10 days") as no:
        drawn(effect_days=10, days=24)
    assert "at least 32 days" in no.value.instead
    assert len(drawn(effect_days=10, days=32).slots) == 40
    assert drawn(effect_days=20, days=None).days == 52


def test_a_question_of_ones_own_may_wear_off() -> None:
    one, two = Habit("a", "the one cloth"), Habit("b", "the other cloth")
    mine = own_question("Which cloth?", one, two, lasts=True, wears_off=5)
    assert drawn(mine, effect_days=None).effect_days == 5
    with pytest.raises(PlanRefused, match="what the first way did stays"):
        drawn(own_question("Which cloth?", one, two, lasts=True))
    for wrong in ({"lasts": False}, {"lasts": True, "sets_hours": True}, {"lasts": True, "from_new": True}):
        with pytest.raises(PlanRefused):
            own_question("Which cloth?", one, two, wears_off=5, **wrong)


@pytest.mark.parametrize("wrong", [{"effect_days": 0}, {"effect_days": 14}, {"same_days": False}, {"cap_hours": 5.0},
                                   {"outcome": "mean_rating"}])
def test_a_plan_that_contradicts_itself_is_told(wrong: dict[str, Any]) -> None:
    with pytest.raises(ProtocolError):
        replace(drawn(), **wrong)


# --- the test ------------------------------------------------------------------------------------


def test_p_is_that_of_dealing_the_order_in_every_way_the_plan_allowed() -> None:
    """By plain enumeration, with loops over rows and days; no evening out."""
    plan = drawn(n=8, adjust=())
    batch = simulate(plan, World(effect_points=1.0, forgotten=0.0, unrated=0.0, adherence=1.0, day_off=0.0,
                                 unsure_reed=0.0, from_memory=0.0), 1, 4)
    frames = to_frames(batch, 0)
    main = analyse(plan, frames, today=AFTER).main
    first, second = by_hand(plan, frames.sittings)
    value = (first - second) / 2
    is_b = np.array(plan.arms) == "B"
    blocks = np.array([u.block for u in plan.units])
    ways = [[np.isin(np.flatnonzero(blocks == b), w) for w in
             itertools.combinations(np.flatnonzero(blocks == b), int(is_b[blocks == b].sum()))]
            for b in dict.fromkeys(blocks)]
    sums = []
    for combination in itertools.product(*ways):
        deal = np.zeros(len(is_b), dtype=bool)
        for b, flags in zip(dict.fromkeys(blocks), combination, strict=True):
            deal[blocks == b] = flags
        sums.append(value[deal].sum())
    seen = value[is_b].sum()
    high, low = np.mean(np.array(sums) >= seen - 1e-9), np.mean(np.array(sums) <= seen + 1e-9)
    assert main is not None
    assert main.p_value == pytest.approx(min(1.0, 2 * min(high, low)))
    assert main.arrangements == len(sums)


def test_the_estimate_is_that_of_the_usual_analysis_by_half_differences() -> None:
    """One matched set: the gap is the difference of the two orders' half-differences, as a two-sample t has it."""
    plan = drawn(adjust=())
    plan = replace(plan, units=tuple(replace(u, block="all") for u in plan.units))
    frames = to_frames(simulate(plan, World(effect_points=0.7, adherence=1.0), 1, 8), 0)
    result = analyse(plan, frames, today=AFTER)
    sure = frames.sittings[~frames.sittings["unsure_reed"]]
    first, second = by_hand(plan, sure)
    value, is_b = (first - second) / 2, np.array(plan.arms) == "B"
    here = ~np.isnan(value)
    assert result.main is not None
    assert result.main.estimate == pytest.approx(value[is_b & here].mean() - value[~is_b & here].mean())
    told = {(method, what): x for method, what, x in result.second_opinion}
    usual = stats.ttest_ind(value[is_b & here], value[~is_b & here], equal_var=False)
    assert told["Welch t", "t"] == pytest.approx(usual.statistic)


@pytest.mark.parametrize("common", [-2.0, 1.5])
def test_what_the_second_half_adds_to_all_changes_nothing(common: float) -> None:
    plan = drawn()
    frames = to_frames(simulate(plan, World(effect_points=1.0, ends=(-50.0, 50.0)), 1, 3), 0)
    number = np.array([(d.date() - START).days + 1 for d in frames.sittings["date"]])
    moved = frames.sittings.assign(overall=frames.sittings["overall"] + np.where(number > 14, common, 0.0))
    plain = analyse(plan, frames, today=AFTER).main
    other = analyse(plan, type(frames).trusted(**{**vars(frames), "sittings": moved}), today=AFTER).main
    assert plain is not None
    assert other is not None
    assert (other.estimate, other.p_value, other.low) == pytest.approx((plain.estimate, plain.p_value, plain.low))


def test_a_constant_gap_is_found_as_it_is() -> None:
    """Every rating with the second way moved by 1.25: the estimate and the range move by just that, evening out too."""
    plan = drawn()
    batch = simulate(plan, World(adherence=1.0, ends=(-50.0, 50.0)), 1, 6)
    frames = to_frames(batch, 0)
    with_b = (frames.sittings["habit"] == "case_2").to_numpy()
    moved = frames.sittings.assign(overall=frames.sittings["overall"] + 1.25 * with_b)
    plain, other = (analyse(plan, f, today=AFTER).main for f in (
        frames, type(frames).trusted(**{**vars(frames), "sittings": moved})))
    assert plain is not None
    assert other is not None
    assert (other.estimate, other.low, other.high) == pytest.approx(
        (plain.estimate + 1.25, plain.low + 1.25, plain.high + 1.25))


@pytest.mark.parametrize("world", [
    World(effect_points=1.0, effect_half_life=1.0), World(forgotten=0.3, unrated=0.2), World(adherence=0.7),
    World(effect_points=0.6, noise_sd=0.1, mood_sd=0.0, taste_sd=0.0)])
def test_one_trial_and_thousands_are_judged_alike(world: World) -> None:
    plan = drawn(days=40)
    batch = simulate(plan, world, 12, 9, fresh_deals=True)
    many = judge_batch(batch_trials(batch), full=True, at=[0.5])
    for i in range(12):
        one = analyse(batch.protocol_of(i), to_frames(batch, i), today=AFTER, side_readings=False)
        assert one.main is not None
        assert one.main.verdict == many.verdict[i]
        assert (one.main.p_value, one.main.estimate) == pytest.approx((many.p_value[i], many.estimate[i]))


# --- sameness, and what stays --------------------------------------------------------------------


def told(plan: Protocol, first: np.ndarray, second: np.ndarray) -> Frames:
    """A logbook in which every planned rating of a reed is its own number in that half."""
    assert plan.halves is not None
    place = {u.unit: i for i, u in enumerate(plan.units)}
    rows = [{"sitting": f"{s.day:03d}-{s.reed}", "date": START + timedelta(days=s.day - 1), "reed": s.reed,
             "order": s.order, "play_min": 10.0, "where": "practice",
             "habit": plan.habit_for(s.reed, s.day).key,  # type: ignore[union-attr]
             "overall": float((second if plan.halves.second(s.day) else first)[place[s.reed]])} for s in plan.slots]
    return Frames.trusted(boxes=[{"box": "1", "instrument": "clarinet"}],
                          reeds=[{"reed": r, "box": "1", "first_play": 7.0} for r in plan.reeds], sittings=rows)


def spread(n: int, width: float) -> np.ndarray:
    """`n` numbers about 0, in no order that has to do with the deal."""
    return width * np.random.default_rng(2).permutation(np.linspace(-1, 1, n))


@pytest.mark.parametrize(("width", "verdict"), [(0.25, "no_real_difference"), (1.2, "cannot_tell")])
def test_sameness_is_named_only_where_it_would_hold_though_a_way_stayed(width: float, verdict: str) -> None:
    """A range within what matters but beyond half of it is told as what wears off, and not as sameness."""
    plan = drawn(adjust=())
    level = 6 + spread(10, 2.0)
    result = analyse(plan, told(plan, level + spread(10, width) / 2, level - spread(10, width) / 2), today=AFTER)
    assert result.main is not None
    assert -1 < result.main.low90 < result.main.high90 < 1
    assert (max(abs(result.main.low90), result.main.high90) < 0.5) == (verdict == "no_real_difference")
    assert result.main.verdict == verdict
    held = {r.code: r for r in result.remarks}.get("same_held_back")
    assert (held is not None and held.fact("why") == "stays") == (verdict == "cannot_tell")
    if held is not None:
        assert "What a way does that is gone after 3 days makes no difference that matters here." in " ".join(
            answer(result).to_text(full=True).split())


def test_what_stays_for_good_makes_half_a_gap_and_shows_in_both_halves_together() -> None:
    plan = drawn(adjust=())
    is_b = np.array(plan.arms) == "B"
    level = 6 + spread(10, 1.0)
    result = analyse(plan, told(plan, level + 2.0 * is_b, level + 2.0), today=AFTER)
    assert result.main is not None
    assert result.main.estimate == pytest.approx(1.0)  # half of 2
    left = {r.code: r for r in result.remarks}["carry_over"]
    plain = compare(2 * level + 2.0 + 2.0 * is_b, plan.arms, [u.block for u in plan.units])
    assert [left.fact(x) for x in ("estimate", "low", "high", "p")] == pytest.approx(
        [plain.estimate, plain.low, plain.high, plain.p_value])


@pytest.mark.parametrize("stayed", [0.0, 3.0])
def test_carry_over_is_told_and_changes_neither_p_nor_verdict(stayed: float) -> None:
    """What stays of the first way for all reeds alike of an order moves the contrast, and no other test is taken."""
    plan = drawn(adjust=())
    is_b, level = np.array(plan.arms) == "B", 6 + spread(10, 0.3)
    first, second = level + 1.5 * is_b, level + 1.5 * ~is_b
    result = analyse(plan, told(plan, first + stayed * is_b, second + stayed * is_b), today=AFTER)
    plain = compare((first - second) / 2, plan.arms, [u.block for u in plan.units])
    assert result.main is not None
    assert (result.main.p_value, result.main.verdict) == (pytest.approx(plain.p_value), "b_better")
    whole = " ".join(answer(result).to_text(full=True).split())
    assert ("It looks as if something of the second case had stayed" in whole) == (stayed > 0)
    assert "it decides nothing" in whole


def test_ratings_that_go_unwritten_with_one_way_are_seen_though_both_orders_miss_as_many() -> None:
    plan = drawn(days=56)
    batch = simulate(plan, World(forgotten=0.0, unrated=0.0, day_off=0.0, unsure_reed=0.0), 1, 3)
    frames = to_frames(batch, 0)
    assert plan.habits[1].key == "case_2"
    with_b = (frames.sittings["habit"] == "case_2").to_numpy()
    drop = with_b & (np.arange(len(with_b)) % 3 == 0)
    fewer = type(frames).trusted(**{**vars(frames), "sittings": frames.sittings[~drop]})
    seen = next(u for u in analyse(plan, fewer, today=AFTER).uneven if u.kind == "missing")
    assert seen.count[0] < 0.2 * seen.count[1]
    assert seen.p_value < 0.05


# --- beside it ---------------------------------------------------------------------------------


def test_other_columns_are_read_by_the_same_halves() -> None:
    plan = drawn()
    frames = to_frames(simulate(plan, World(effect_points=1.0), 1, 3), 0)
    result = analyse(plan, frames, today=AFTER)
    assert [f.outcome for f in result.also_seen] == ["crossover"]
    assert result.also_seen[0].rating == "stiffness"


def test_trials_of_it_are_not_put_together_nor_asked_of_a_class() -> None:
    plan = drawn()
    frames = to_frames(simulate(plan, World(), 1, 3), 0)
    with pytest.raises(InputError, match="read by itself"):
        read_part("mine", "me", plan, frames, today=AFTER)
    with pytest.raises(InputError, match="a class is not asked so"):
        class_plan("storage_case", outcome="crossover")


def test_it_is_told_beside_a_question_and_never_first() -> None:
    """That a way wears off is the player's to say, so no plan that hangs on it is the one suggested."""
    found = rank(Means(reeds=reeds(10), minutes_a_day=60, weeks=8, world=World()), questions=["storage_case"])
    assert found.rows[0].outcome == "crossover"
    assert found.best()[0].outcome == "mean_rating"
    line = question_lines(found)[0]
    assert not line.settles
    assert "If what a way does is gone again after 4 days, each reed can have first one way" in line.changing
