"""What is found where nothing of one way is left: no number, every gap open, and no claim."""

from __future__ import annotations

import math

import pytest

from reedlab.analysis.trial import analyse

from .._players import A, after, by_reed, frames, rated, squares


@pytest.mark.parametrize("outcome", ["mean_rating", "life_hours"])
def test_with_one_way_lost_nothing_is_claimed_and_nothing_ruled_out(outcome: str) -> None:
    p = by_reed((2, 2, 2), outcome=outcome)
    rows = [r for r in rated(p, lambda *_: 6.0) if r["habit"] == A.key]
    found = analyse(p, frames(p, rows), today=after(p)).main
    assert found is not None
    assert math.isnan(found.estimate)
    assert (found.p_value, found.least_p, found.exact, found.arrangements) == (1.0, 1.0, True, 1)
    none = (0.0, math.inf) if outcome == "life_hours" else (-math.inf, math.inf)
    assert (found.low, found.high) == (found.low90, found.high90) == none
    assert found.verdict == "cannot_tell"


def test_two_ratings_of_a_reed_on_one_day_are_one_and_the_last_day_is_no_other_reeds_first() -> None:
    p = squares(3)
    rows = rated(p, lambda reed, day, _: float(day))
    again = [{**r, "overall": r["overall"] + 1.0} for r in rows if r["date"] == rows[0]["date"]]
    found = analyse(p, frames(p, [*rows, *again]), today=after(p))
    assert found.progress.sittings_rated == found.progress.sittings_planned == 12
