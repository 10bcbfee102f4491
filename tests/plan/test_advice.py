from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.player.sample_size import lives_chance
from reedlab.errors import InputError, PlanRefused
from reedlab.plan import draw_up
from reedlab.plan.advice import advise
from reedlab.plan.forecast import forecast
from reedlab.plan.imagined import with_more_reeds
from reedlab.plan.life_needs import life_needs
from reedlab.plan.look_ahead import outlook
from reedlab.plan.sizes import how_many, what_difference
from reedlab.questions import CATALOGUE
from reedlab.trial.outlook import ENOUGH, Advice
from reedlab.worlds import World

from ._reeds import START, reeds

COMMON: dict[str, Any] = {"start": START, "seed": 3, "instrument": "clarinet"}


@cache
def advice(question: str = "wetting", n: int = 10, **more: Any) -> Advice:
    return advise(question, reeds(n), trials=400, **COMMON, **more)


def test_a_habit_of_the_day_is_advised_day_by_day_and_can_be_answered() -> None:
    a = advice()
    assert a.best is a.asked
    assert a.best is not None
    assert a.best.outlook.protocol.design == "day_by_day"
    assert a.can_answer
    assert a.nearby is None


def test_asked_of_life_in_two_weeks_the_advice_turns_to_the_rating_of_the_day() -> None:
    a = advice(outcome="life_hours")
    assert a.asked is not None
    assert a.asked.outlook.protocol.outcome == "life_hours"
    assert a.asked.useful < 0.1
    assert a.best is not None
    assert a.best.outlook.protocol.outcome == "day_rating"


def test_a_lasting_habit_with_one_box_cannot_be_answered_and_a_nearby_question_can() -> None:
    a = advice("drying")
    assert not a.can_answer
    assert a.nearby is not None
    assert a.nearby.outlook.protocol.question in CATALOGUE
    assert a.nearby.outlook.protocol.question != "drying"
    assert a.nearby.useful >= ENOUGH
    assert a.nearby.days <= a.days_limit
    assert a.nearby.more_reeds == 0


@pytest.mark.parametrize("question", ["wetting", "drying", "rotation"])
def test_plans_within_the_means_keep_to_them_and_the_others_say_their_cost(question: str) -> None:
    a = advice(question)
    for option in (a.asked, a.best):
        assert option is not None
        assert option.days <= a.days_limit
        assert option.reeds <= a.reeds_at_hand
        assert option.more_reeds == 0
    assert len(a.others) <= 2
    for option in a.others:
        if option.kind == "more_weeks":
            assert option.days > a.days_limit
        if option.kind == "more_reeds":
            assert option.more_reeds > 0
        if option.kind.startswith("other"):
            assert option.days <= a.days_limit
    assert [o.useful for o in a.options] == sorted((o.useful for o in a.options), reverse=True)


def test_the_best_plan_is_no_worse_than_any_other_within_the_means() -> None:
    a = advice()
    assert a.best is not None
    assert all(a.best.useful >= o.useful - 0.05 for o in a.others if o.kind.startswith("other"))


def test_the_same_wishes_get_the_same_advice() -> None:
    assert advise("position", reeds(6), trials=60, **COMMON) == advise("position", reeds(6), trials=60, **COMMON)


def test_a_refused_question_says_why_and_what_more_reeds_would_bring() -> None:
    a = advice("break_in", n=3, life=False)
    assert a.asked is None
    assert a.best is None
    assert a.refused is not None
    assert [o.kind for o in a.others] == ["more_reeds"]
    assert advise("cut_or_strength", reeds(10), trials=60, **COMMON).refused


def test_a_way_that_can_make_ill_is_refused_before_any_advice() -> None:
    from reedlab.trial.protocol import Habit

    with pytest.raises(PlanRefused, match="ill"):
        advise("own", reeds(10), habits=[Habit("a", "wiping"), Habit("b", "not cleaning")], **COMMON)


def test_limits_out_of_range_are_all_named_at_once() -> None:
    with pytest.raises(InputError, match=r"minutes of play a day.*days at most.*trials"):
        advise("wetting", reeds(10), minutes_a_day=1, days_limit=0, trials=1, **COMMON)


def test_an_outcome_that_does_not_fit_is_refused() -> None:
    with pytest.raises(PlanRefused):
        advise("position", reeds(10), outcome="life_hours", **COMMON)


def test_minutes_a_day_of_the_player_stand_for_those_of_the_world() -> None:
    short, long = (advise("position", reeds(4), minutes_a_day=m, trials=60, **COMMON) for m in (40, 120))
    assert short.asked is not None
    assert long.asked is not None
    assert short.asked.outlook.hours < 0.6 * long.asked.outlook.hours


def test_a_forecast_made_before_is_the_one_the_advice_speaks_of() -> None:
    draft = draw_up("position", reeds(6), outcome="preference", simulations=100, **COMMON)
    seen = outlook(draft.protocol, gaps=(), trials=80, seed=9)
    a = advise("position", reeds(6), outcome="preference", asked=seen, trials=60, **COMMON)
    assert a.asked is not None
    assert a.asked.outlook is seen
    assert a.best is a.asked


def test_the_outlook_says_what_the_forecast_says() -> None:
    protocol = draw_up("wetting", reeds(10), simulations=100, **COMMON).protocol
    seen = outlook(protocol, gaps=(2.0,), trials=120, seed=5)
    found = forecast(protocol, gaps=(0.0, 1.0, 2.0), trials=120, seed=5)
    assert [o.gap for o in seen.odds] == [0, 1, 2]
    assert seen == found
    assert (seen.right, seen.same) == (seen.at(1.0).b_better, seen.at(0.0).no_real_difference)
    assert seen.useful == (seen.right + seen.same) / 2
    with pytest.raises(KeyError):
        seen.at(0.3)


def test_more_reeds_come_in_boxes_of_ten_with_new_codes() -> None:
    table = with_more_reeds(reeds(5), 13, World(), 2)
    assert len(table) == 18
    assert table["reed"].is_unique
    assert sorted(table["box"].value_counts()) == [3, 5, 10]
    assert table["first_play"].notna().all()


def test_lives_need_fewer_reeds_for_a_bigger_difference_and_less_time_with_more_playing() -> None:
    hour = life_needs(World(), ratio=2.0, minutes_a_day=60, trials=150)
    big = life_needs(World(), ratio=3.0, minutes_a_day=60, trials=150)
    two_hours = life_needs(World(), ratio=2.0, minutes_a_day=120, trials=150)
    assert hour.reeds is not None
    assert big.reeds is not None
    assert hour.days is not None
    assert two_hours.days is not None
    assert big.reeds <= hour.reeds
    assert 0.4 * hour.days < two_hours.days < 0.65 * hour.days
    assert hour.days > 365  # a year of an hour a day does not wear out that many reeds


def test_lives_need_at_least_what_the_closed_form_asks_for() -> None:
    need = life_needs(World(), ratio=2.0, minutes_a_day=60, trials=150)
    assert need.reeds is not None
    # Schoenfeld 1981 knows neither lost reeds nor the rule for worn out: it is the more hopeful one
    assert lives_chance(need.worn_out, 2.0, World().life_shape) > need.chance
    assert need.reeds < 100


def test_a_difference_hardly_there_is_out_of_reach_for_lives() -> None:
    need = life_needs(World(), ratio=1.02, minutes_a_day=60, trials=100)
    assert need.reeds is None
    assert need.days is None


def test_days_needed_reach_the_wanted_chance_and_two_days_fewer_would_be_near_it() -> None:
    need = how_many("wetting", reeds(10), vary="days", chance=0.7, trials=150, **COMMON)
    assert need.days is not None
    assert need.chance >= 0.7
    assert need.closed_form > need.chance - 3 * need.error  # the closed form knows no forgotten day
    shorter = draw_up("wetting", reeds(10), days=need.days - 2, simulations=100, **COMMON).protocol
    assert forecast(shorter, gaps=(1.0,), trials=150, seed=3).at(1.0).b_better < 0.7 + 3 * need.error


def test_where_no_length_is_enough_the_best_chance_is_told_instead() -> None:
    need = how_many("drying", reeds(8), vary="days", chance=0.95, trials=60, **COMMON)
    assert need.days is None
    assert need.reeds is None
    assert need.chance < 0.95


def test_reeds_needed_are_fewer_where_reeds_are_alike() -> None:
    alike = World(reed_sd=0.3, box_sd=0.1)
    need = how_many("drying", reeds(10), vary="reeds", chance=0.6, trials=80, world=alike, **COMMON)
    assert need.reeds is not None
    assert need.reeds <= 40
    assert need.chance >= 0.6


def test_sizes_refuse_what_cannot_be_asked() -> None:
    with pytest.raises(InputError, match="vary"):
        how_many("wetting", reeds(10), vary="weeks", **COMMON)
    with pytest.raises(InputError, match="chance"):
        how_many("wetting", reeds(10), vary="days", chance=1.0, **COMMON)
    with pytest.raises(InputError, match="matters"):
        how_many("wetting", reeds(10), vary="days", gap=0.5, **COMMON)


def test_the_difference_found_is_found_with_the_wanted_chance_on_other_luck() -> None:
    protocol = draw_up("wetting", reeds(10), simulations=100, **COMMON).protocol
    found = what_difference(protocol, chance=0.8, trials=300, seed=4)
    assert 1.0 < found.difference < 2.0
    again = forecast(protocol, gaps=(found.difference,), trials=600, seed=99)
    assert again.at(found.difference).b_better == pytest.approx(0.8, abs=4 * np.hypot(found.error, 0.016))
    assert found.closed_form > 0.8  # the textbook's test is the more hopeful one


def test_a_life_trial_of_two_weeks_finds_no_difference_however_large() -> None:
    protocol = draw_up("drying", reeds(10), outcome="life_hours", days=14, simulations=100, **COMMON).protocol
    assert what_difference(protocol, trials=60).difference == float("inf")


def test_what_a_life_needs_is_one_number_whatever_the_shuffle() -> None:
    told = {advise("drying", reeds(10), trials=50, **{**COMMON, "seed": seed}).life for seed in (1, 2, 3)}
    assert told == {life_needs(World(), ratio=1.5, minutes_a_day=60.0)}
