"""A claim held back because one way has more missing, or more reeds given up: batch and stored way agree."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.batch.by_unit import batch_lives, given_up_by_unit, missing_by_unit
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.left_out import counted
from reedlab.analysis.units.life_values import life_values
from reedlab.worlds import World, batch_trials, simulate, to_frames

from ...benchmarks.awkward import AWKWARD, Awkward, given_up, play, unwritten
from ._single import START, a_plan, ended


@pytest.mark.parametrize(("question", "outcome", "world", "awkward", "more"), [
    ("wetting", "day_rating", World(), Awkward(writing=unwritten(7, 1.0)), {}),
    ("drying", "mean_rating", World(effect_points=1.0), Awkward(writing=unwritten(7, 0.7)), {"days": 30}),
    ("drying", "life_hours", World(life_median_h=6, minutes_a_day=120), Awkward(writing=unwritten(4, 1.0)),
     {"days": 60, "matters": 2.0}),
    ("drying", "life_hours", World(life_median_h=6, minutes_a_day=120), Awkward(writing=given_up(4, 1.0)),
     {"days": 60, "matters": 2.0}),
])
def test_both_doors_count_alike_and_some_claims_are_held_back(question: str, outcome: str, world: World,
                                                              awkward: Awkward, more: dict) -> None:
    batch = play(a_plan(question, outcome, **more), world, 60, 7, awkward)
    trials = batch_trials(batch)
    missing, due = missing_by_unit(trials)
    lives = batch_lives(trials) if batch.protocol.card.lives else None
    gone = None if batch.protocol.design != "reed_by_reed" else given_up_by_unit(
        trials, None if lives is None else lives.worn_out)
    for i in range(8):
        own = batch.protocol_of(i)
        frames = ended(to_frames(batch, i), own)
        today = START + timedelta(days=own.days)
        one = blind(own, frames, until=today)
        told = {c.kind: c for c in counted(own, frames, one, None if lives is None else life_values(one, outcome),
                                           today=today)}
        assert told["missing"].count.tolist() == missing[i].tolist()
        assert told["missing"].of.tolist() == due[i].tolist()
        if gone is not None:
            assert told["given_up"].count.tolist() == gone[i].tolist()
    assert judge_batch(trials).uneven.sum() >= 4


def test_nothing_is_held_back_where_nothing_is_missing() -> None:
    world = World(day_off=0, forgotten=0, unrated=0, unsure_reed=0, effect_points=1.0)
    trials = batch_trials(simulate(a_plan("wetting", "day_rating"), world, 200, 3, fresh_deals=True))
    found, plain = judge_batch(trials), judge_batch(trials, hold=False)
    assert (found.verdict == plain.verdict).all()
    assert (found.verdict == "b_better").any()
    assert not found.uneven.any()


def test_only_claims_are_held_back_and_they_become_cannot_tell() -> None:
    trials = batch_trials(play(a_plan("wetting", "day_rating"), World(), 300, 5,
                               AWKWARD["ratings under 6 unwritten with one way"]))
    found, plain = judge_batch(trials), judge_batch(trials, hold=False)
    assert (plain.verdict[found.uneven] != "cannot_tell").all()
    assert (found.verdict[found.uneven] == "cannot_tell").all()
    rest = ~found.uneven & ~found.leans
    assert (found.verdict[rest] == plain.verdict[rest]).all()
    assert np.mean(found.uneven) > 0.05
