"""What a next trial would show is what trials played through really show."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.verdicts.repeats import repeat_level
from reedlab.plan.forecast import with_effect
from reedlab.plan.next_plan import next_plan
from reedlab.plan.own_world import world_for
from reedlab.worlds import batch_trials, simulate, to_frames

from ..benchmarks.hostile import cases

PLAN = replace(cases()["day_rating"].plan, trial="played")


@pytest.fixture(scope="module")
def played():  # type: ignore[no-untyped-def]
    return to_frames(simulate(PLAN, cases()["day_rating"].world, 1, 3), 0)


def test_the_promise_is_kept_by_trials_played_through_anew(played) -> None:  # type: ignore[no-untyped-def]
    told = next_plan(PLAN, played, trials=300, times=(1.0,))
    assert told is not None
    again = replace(PLAN, level=repeat_level(PLAN, played, more=1))
    assert again.level == pytest.approx(1 - 0.00125)
    world = with_effect(world_for(played)[0], PLAN.outcome, PLAN.matters)
    found = judge_batch(batch_trials(simulate(again, world, 600, 99, fresh_deals=True)), samples=20_000).verdict
    kept = (found == "b_better").mean()
    assert told.same == pytest.approx(kept, abs=3 * (0.25 / 300 + 0.25 / 600) ** 0.5)
    assert (told.kind, told.have, told.gap, told.trials) == ("days", PLAN.days, PLAN.matters, 300)


def test_longer_trials_are_tried_until_one_is_good_enough(played) -> None:  # type: ignore[no-untyped-def]
    told = next_plan(PLAN, played, trials=100, times=(1.0, 2.0, 6.0))
    assert told is not None
    assert told.same < told.chance
    assert told.weeks == pytest.approx(told.most / 7, abs=0.2)
    if told.need is None:
        assert told.chance < 0.8
    else:
        assert told.need == told.most
        assert told.chance >= 0.8


def test_a_plan_that_is_good_enough_already_is_played_again_and_no_larger_one_is_tried(  # type: ignore[no-untyped-def]
        played, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reedlab.plan.next_plan.GOOD_CHANCE", 0.5)
    told = next_plan(replace(PLAN, matters=4.0), played, trials=60)
    assert told is not None
    assert told.need == told.most == told.have == PLAN.days
    assert told.chance == told.same >= 0.5


def test_nothing_is_forecast_for_an_old_diary_or_an_own_question(played) -> None:  # type: ignore[no-untyped-def]
    assert next_plan(replace(PLAN, how_dealt="not", seed=None), played) is None
    own = next_plan(replace(PLAN, question="own"), played, trials=50)
    assert own is not None
    assert own.most == own.have  # no larger plan is drawn up
    late = replace(PLAN, trial="later", start=PLAN.start + timedelta(days=60))
    assert repeat_level(late, played) < 1
