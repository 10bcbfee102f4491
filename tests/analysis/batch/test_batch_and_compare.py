"""Day by day without evening out, the batch is `compare` of each run's own unit means."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.shuffling.compare import compare
from reedlab.plan.forecast import with_effect
from reedlab.worlds import World, batch_trials, simulate

from ._single import a_plan


def test_each_run_gets_what_compare_gives_its_own_ratings() -> None:
    """Unit means by a plain loop, dealt as that run was, sets that lost a unit dropped by `compare` itself."""
    b = simulate(a_plan("wetting", "day_rating", adjust=()), World(day_off=0.15), 60, 1, fresh_deals=True)
    found = judge_batch(batch_trials(b), full=True)
    blocks = list(b.plan.blocks)
    for i in range(60):
        units: dict[int, list[float]] = {}
        for s in range(b.rating.shape[1]):
            if np.isfinite(b.rating[i, s]) and not b.unsure_reed[i, s]:
                units.setdefault(int(b.plan.slot_unit[s]), []).append(b.rating[i, s])
        values = [np.mean(units[u]) if u in units else np.nan for u in range(len(blocks))]
        one = compare(values, np.where(b.dealt_b[i], "b", "a"), blocks)
        assert found.p_value[i] == pytest.approx(one.p_value)
        assert found.estimate[i] == pytest.approx(one.estimate)


def test_a_true_effect_is_found_more_often_the_larger_it_is() -> None:
    plan = a_plan("wetting", "day_rating")
    seen = [(judge_batch(batch_trials(simulate(plan, with_effect(World(), "day_rating", e), 1000, 4,
                                               fresh_deals=True))).verdict == "b_better").sum()
            for e in (0.0, 1.0, 2.0)]
    assert seen[0] < seen[1] < seen[2]


def test_runs_without_a_single_rating_claim_nothing() -> None:
    b = simulate(a_plan("wetting", "day_rating"), World(unrated=0.95, forgotten=0.95), 20, 5, fresh_deals=True)
    assert not np.isfinite(b.rating).any(axis=1).all()
    assert (judge_batch(batch_trials(b)).verdict == "cannot_tell").all()
