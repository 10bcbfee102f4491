"""Plans that cannot work are refused in plain words, with the nearest that can."""

from __future__ import annotations

import pytest

from reedlab.errors import InputError
from reedlab.trial.protocol import Habit
from tests.readability import grade

from ._reeds import boxes, plan, reeds, refusal


@pytest.mark.parametrize(("args", "more", "code"), [
    (("no_such",), {}, "unknown_question"),
    (("drying", reeds(1)), {}, "one_reed"),
    (("wetting", reeds(1)), {}, "one_reed"),
    (("drying",), {"design": "day_by_day"}, "lasting_day_by_day"),
    (("position",), {"design": "reed_by_reed"}, "design_not_allowed"),
    (("drying",), {"design": "no_such"}, "design_not_allowed"),
    (("drying", reeds(7)), {}, "too_few_reeds"),
    (("drying", reeds(4, 4)), {}, "too_few_reeds"),
    (("drying", reeds(3, 3, 3, 3)), {"outcome": "life_hours"}, "too_few_reeds"),
    (("wetting",), {"days": 4}, "too_short"),
    (("drying", reeds(20)), {"days": 10}, "too_short"),
    (("wetting",), {"design": "day_by_day", "outcome": "life_hours"}, "outcome_not_for_design"),
    (("rotation",), {"outcome": "mean_rating"}, "outcome_not_for_design"),
    (("drying",), {"habits": (Habit("a", "one way"), Habit("b", "One way"))}, "same_habit"),
    (("drying",), {"habits": (Habit("a", "not wiping"), Habit("b", "wiping"))}, "forbidden_habit"),
    (("drying",), {"habits": (Habit("a", "an airtight tub"), Habit("b", "a case"))}, "confirm_habit"),
    (("rotation",), {"masked": "helper"}, "cannot_mask"),
    (("drying",), {"adjust": ("age_hours",)}, "adjust_not_allowed"),
    (("rotation",), {"adjust": ("day",)}, "adjust_not_allowed"),
    (("drying",), {"outcome": "life_hours", "adjust": ("first_play",)}, "adjust_not_allowed"),
    (("wetting",), {"reeds_a_day": 1, "adjust": ("day",)}, "adjust_not_allowed"),
    (("drying", reeds(5, 5)), {"boxes": boxes(("x", "3"), ("y", "3"), instrument="tenor saxophone")},
     "instrument_mix"),
    (("cut_or_strength", reeds(10)), {}, "box_is_arm"),
    (("cut_or_strength", reeds(10, 1)), {}, "box_is_arm"),
    (("cut_or_strength", reeds(4, 4, 4, 4)), {"design": "reed_by_reed",
     "boxes": boxes(("x", "3"), ("x", "3"), ("y", "3"), ("y", "3"))}, "box_is_arm"),
], ids=lambda x: x if isinstance(x, str) else "")
def test_a_plan_that_cannot_work_is_refused_with_the_nearest_that_can(
        args: tuple, more: dict, code: str) -> None:
    no = refusal(*args, **more)
    assert no.code == code
    assert grade(f"{no.reason} {no.instead}") <= 8


@pytest.mark.parametrize(("more", "name"), [
    ({"seed": -1}, "`seed`"), ({"days": 0}, "`days`"), ({"cap_hours": 0}, "most hours of a reed"),
    ({"instrument": "kazoo"}, "`instrument`"), ({"rating": "colour"}, "`rating`"), ({"matters": 0}, "`matters`"),
    ({"matters": float("nan")}, "`matters`"), ({"expected": "water"}, "`expected`"), ({"masked": "x"}, "`masked`"),
    ({"minutes_a_day": 3}, "Minutes of play a day"), ({"reeds_a_day": 9}, "Reeds rated a day"),
    ({"outcome": "life_hours", "matters": 1}, "`matters`"), ({"simulations": 5}, "`simulations`"),
    ({"reeds_in_trial": 1}, "reeds in the trial"), ({"table": reeds(5).drop(columns="box")}, "`reeds`"),
    ({"table": reeds(5).iloc[[0, 1, 1, 2]]}, "`reeds`")], ids=lambda x: x if isinstance(x, str) else "")
def test_values_out_of_range_are_named(more: dict, name: str) -> None:
    with pytest.raises(InputError, match=name):
        plan(**more)
