"""A later trial of the same question allows for the earlier ones; a first trial is read as ever."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from reedlab.analysis.together.combine import combine
from reedlab.analysis.trial import analyse
from reedlab.analysis.verdicts.judge import needed_p, repeat_p, sameness_p
from reedlab.analysis.verdicts.repeats import earlier_names
from reedlab.plan.forecast import with_effect
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol
from reedlab.worlds import World

from ...benchmarks import in_a_row
from ...benchmarks.hostile import cases
from .._players import START, after, frames, rated, squares
from ..together.test_combine import SMALL

SECOND = squares(7, trial="second", start=START + timedelta(days=30), seed=5)


def row(plan: Protocol, ended: Any = None) -> dict[str, Any]:
    return {"trial": plan.trial, "started": plan.start, "protocol": plan.to_json(), "protocol_sha256": plan.sha256,
            "ended": ended, "ended_why": None if ended is None else "wrong reeds"}


def logbook(*before: Protocol, written: bool = True, ended: Any = None) -> Frames:
    """The second trial, in which way B is clearly ahead, after others of which something was written down or not."""
    rng = np.random.default_rng(1)
    rows = [{**s, "date": s["date"] + timedelta(days=30)}
            for s in rated(SECOND, lambda _r, _d, habit: 5 + 1.5 * (habit == "water") + rng.normal(0, 0.2))]
    if written:
        rows += [{"date": START + timedelta(days=k), "reed": p.reeds[0], "order": 1, "play_min": 9.0, "overall": 5.0}
                 for k, p in enumerate(before)]
    return frames(SECOND, rows, trials=[*(row(p, ended) for p in before), row(SECOND)])


FIRST = squares(7, trial="first", seed=4)


@pytest.mark.parametrize(("before", "written", "count"), [
    ((), True, 0),
    ((FIRST,), True, 1),
    ((FIRST,), False, 0),  # begun wrongly: nothing was written down
    ((FIRST, replace(FIRST, trial="also", matters=2.0)), True, 2),
    ((replace(FIRST, question="position"),), True, 0),
    ((replace(FIRST, how_dealt="not", seed=None),), True, 0),
    ((replace(FIRST, habits=(FIRST.habits[0], Habit("well", "in a well")),
              dealt=tuple("well" if d == "water" else d for d in FIRST.dealt)),), True, 0),
    ((replace(FIRST, start=START + timedelta(days=60)),), True, 0),  # later
])
def test_which_trials_count_as_earlier_ones(before: tuple[Protocol, ...], written: bool, count: int) -> None:
    # what the second trial wrote down came after the first was ended by hand
    book = logbook(*before, written=written, ended=START + timedelta(days=20))
    assert len(earlier_names(SECOND, book)) == count


def test_of_two_trials_begun_on_one_day_the_one_entered_later_is_the_repeat() -> None:
    twin = replace(SECOND, trial="twin")
    book = logbook(twin)
    assert (len(earlier_names(SECOND, book)), len(earlier_names(twin, book))) == (1, 0)


def test_a_repeat_needs_a_rarer_gap_and_says_so_and_a_first_trial_is_read_as_ever() -> None:
    today = after(SECOND) + timedelta(days=30)
    first = analyse(SECOND, logbook(), today=today, side_readings=False)
    again = analyse(SECOND, logbook(FIRST), today=today, side_readings=False)
    assert first.main is not None
    assert again.main is not None
    assert first.main.p_value == again.main.p_value == pytest.approx(2 / 2**7)
    assert (first.main.verdict, again.main.verdict) == ("b_better", "cannot_tell")
    assert first.main.level == 0.95
    told = next(r for r in again.remarks if r.code == "repeated")
    assert (told.fact("number"), told.fact("p_needed")) == (2, pytest.approx(0.00125))
    assert not any(r.code == "repeated" for r in first.remarks)


@pytest.mark.parametrize("level", [0.95, 0.97])
def test_all_repeats_together_may_add_a_tenth_of_the_first_at_most(level: float) -> None:
    first = 1 - level
    assert repeat_p(level, 0) == pytest.approx(first)
    assert 2 * sum(repeat_p(level, n) for n in range(1, 5000)) <= 0.1 * first
    assert needed_p(level, looks=2, early=False, earlier=0) == pytest.approx(first - 0.002)
    assert needed_p(level, looks=2, early=False, earlier=1) == repeat_p(level, 3)
    assert needed_p(level, looks=1, early=True, earlier=0) == 0.001


def test_trials_of_one_player_put_together_need_a_rarer_gap_than_those_of_several() -> None:
    mine = [replace(p, player="P01") for p in SMALL]
    assert combine(mine).p_needed == pytest.approx(repeat_p(0.95, len(SMALL) - 1))
    assert combine(SMALL).p_needed == pytest.approx(0.05)


@pytest.mark.slow
def test_going_on_after_every_cannot_tell_names_no_more_false_winners() -> None:
    sequences = 200
    rows = in_a_row.play(cases()["day_rating"].plan, World(), sequences, 7)
    alone, judged = np.full(in_a_row.MOST, 0.05), np.array([repeat_p(0.95, n) for n in range(in_a_row.MOST)])
    before = in_a_row.ever(rows, alone, own=True, together=True)[:, -1].sum()
    now = in_a_row.ever(rows, judged, own=True, together=True)[:, -1].sum()
    assert before > binom.ppf(0.999, sequences, 0.06)
    assert now <= binom.ppf(0.99, sequences, 0.055)
    assert now <= in_a_row.ever(rows, judged, own=True, together=True)[:, 0].sum() + 2


@pytest.mark.slow
def test_going_on_after_every_cannot_tell_calls_no_more_pairs_alike_that_are_not() -> None:
    sequences, plan = 120, cases()["day_rating"].plan
    rows = in_a_row.play(plan, with_effect(World(), plan.outcome, plan.matters), sequences, 7)
    judged = np.array([repeat_p(0.95, n) for n in range(in_a_row.MOST)])
    same = np.array([sameness_p(1 - p) for p in judged])
    before = in_a_row.ever_alike(rows, judged, np.full(in_a_row.MOST, 0.05))[:, -1].sum()
    now = in_a_row.ever_alike(rows, judged, same)
    assert before > binom.ppf(0.999, sequences, 0.06)
    assert now[:, -1].sum() <= now[:, 0].sum() + 3


@pytest.mark.parametrize("level", [0.95, 0.97, 0.949, 0.99])
def test_a_first_trial_is_called_alike_as_ever_and_a_repeat_only_as_rarely_as_it_names_a_winner(level: float) -> None:
    assert sameness_p(level) == 0.05
    assert sameness_p(1 - repeat_p(level, 1)) == pytest.approx(repeat_p(level, 1))


def test_a_repeat_that_looks_even_needs_more_than_a_first_trial() -> None:
    rng = np.random.default_rng(1)
    even = frames(SECOND, [{**s, "date": s["date"] + timedelta(days=30)}
                           for s in rated(SECOND, lambda *_: round(2 * rng.normal(6, 0.5)) / 2)])
    early = {"date": START, "reed": FIRST.reeds[0], "order": 1, "play_min": 9.0, "overall": 5.0}
    kept = ["date", "reed", "order", "play_min", "overall", "habit"]
    again = frames(SECOND, [*even.sittings[kept].to_dict("records"), early],
                   trials=[row(FIRST, START + timedelta(days=20)), row(SECOND)])
    today = after(SECOND) + timedelta(days=30)
    first, second = (analyse(SECOND, f, today=today, side_readings=False).main for f in (even, again))
    assert first is not None
    assert second is not None
    assert (first.same_level, second.same_level) == (0.9, pytest.approx(0.9975))
    assert second.low90 < first.low90 < first.high90 < second.high90
    assert (first.verdict, second.verdict) == ("no_real_difference", "cannot_tell")
