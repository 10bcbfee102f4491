"""What the course of the ratings adds, reduced: no false alarms, some help where reeds fade, and where it misleads."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from reedlab.analysis.batch.by_unit import batch_lives
from reedlab.analysis.beside.expected_lives import Courses, courses_of, expected_lives
from reedlab.analysis.beside.expected_reading import read_expected
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values
from reedlab.worlds import World, batch_trials, simulate, to_frames

from .course import SOONER, WORLDS, batch_courses, cell, expected_batch, plan, table


@pytest.mark.slow
def test_without_a_difference_at_most_five_of_a_hundred_are_called() -> None:
    for name in ("nothing", "nothing; reeds that sink evenly"):
        found = cell(120, WORLDS[name], 400, 5)
        for read in ("expected lives", "lives", "fading"):
            assert found.called[read] <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 400), (name, read)


@pytest.mark.slow
def test_it_helps_where_reeds_fade_less_all_along_and_misleads_where_they_then_end_sooner() -> None:
    slower = cell(120, WORLDS["fades 0.2 points an hour less, all along"], 600, 6)
    assert slower.right["expected lives"] > slower.right["lives"] + 0.05
    sooner = cell(42, WORLDS[SOONER], 1000, 6)
    assert sooner.right["expected lives"] > sooner.wrong["expected lives"]
    whole = cell(240, WORLDS[SOONER], 600, 6)
    assert whole.wrong["lives"] > whole.wrong["expected lives"] + 0.02


def test_the_many_trials_of_the_benchmark_are_read_like_stored_ones() -> None:
    batch = simulate(plan(120), World(wear_per_hour=0.2, wear_sd=0.06), 5, 7, fresh_deals=True)
    trials = batch_trials(batch)
    many = batch_courses(trials, batch_lives(trials))
    longer, shorter, predicted = expected_batch(trials)
    for i in range(5):
        protocol = batch.protocol_of(i)
        trial = blind(protocol, to_frames(batch, i))
        lives = life_values(trial, "life_hours")
        one = courses_of(trial, lives)
        for f in dataclasses.fields(Courses):
            assert getattr(many, f.name)[i] == pytest.approx(getattr(one, f.name)), f.name
        found = read_expected(protocol, expected_lives(trial, lives), level=0.95)
        assert found is not None
        assert min(1.0, 2 * min(longer[i], shorter[i])) == pytest.approx(found.p_value)
        assert predicted[i] * 20 == pytest.approx(sum(found.units) - sum(found.events or ()))
        if found.p_value < 0.9:
            assert np.sign(np.log(found.estimate)) == np.sign(shorter[i] - longer[i])


def test_a_fortnight_has_three_ratings_a_reed_and_the_table_has_a_row_for_each_world() -> None:
    protocol = plan(14)
    count = [sum(s.reed == r for s in protocol.slots) for r in protocol.reeds]
    assert (len(count), min(count)) == (20, 3)
    rows = table(6, 1, days=(14,)).splitlines()[2:]
    assert len(rows) == len(WORLDS)
    assert all(len(r.split("|")) == 9 for r in rows)
