from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.compare import compare
from reedlab.errors import InputError
from reedlab.worlds import World, simulate
from reedlab.worlds.day_by_day import day_tests, unit_means

from ._plans import reeds_dealt, squares


def test_each_run_gets_what_compare_gives_its_own_ratings() -> None:
    """Unit means by a plain loop, dealt as that run was, sets that lost a unit dropped by `compare` itself."""
    b = simulate(squares(days=12), World(day_off=0.15), 60, 1, fresh_deals=True)
    found = day_tests(b, ranges=True)
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
        assert (found.low[i], found.high[i]) == pytest.approx((one.low, one.high))


def test_at_most_five_in_a_hundred_no_difference_players_are_misled() -> None:
    b = simulate(squares(days=20), World(), 4000, 2, fresh_deals=True)
    assert day_tests(b).claims() / 4000 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 4000)


def test_bad_days_that_decide_the_habit_do_not_mislead_the_reading_as_planned() -> None:
    w = World(adherence=0.7, bad_days_decide=True)
    b = simulate(squares(days=20), w, 4000, 3, fresh_deals=True)
    assert day_tests(b).claims() / 4000 <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 4000)


def test_a_true_effect_is_found_more_often_the_larger_it_is() -> None:
    seen = [day_tests(simulate(squares(days=20), World(effect_points=e), 1000, 4, fresh_deals=True)).claims()
            for e in (0.0, 1.0, 2.0)]
    assert seen[0] < seen[1] < seen[2]


def test_runs_without_a_single_rating_claim_nothing() -> None:
    b = simulate(squares(), World(unrated=0.95, forgotten=0.95), 20, 5, fresh_deals=True)
    assert np.isnan(unit_means(b)).any()
    found = day_tests(b)
    assert found.claims() == 0


def test_other_designs_are_refused() -> None:
    with pytest.raises(InputError, match="day-by-day plans only"):
        day_tests(simulate(reeds_dealt(days=3), World(), 2, 1))
