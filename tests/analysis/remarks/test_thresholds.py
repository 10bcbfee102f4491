"""From where on a remark stands: just below its bar nothing is said, at the bar it is."""

from __future__ import annotations

import pytest

from reedlab.analysis.remarks.catalogue import REMARKS

from .._players import A, B, by_reed, on, one_a_day, rated, squares
from .test_quality import codes, facts, read, steady

#: Remarks that split by habit or rest on the answer: a running trial shows none of them.
SEALED = {"knew_which", "uneven", "block_lost", "weather_uneven", "hours_uneven", "damage_uneven", "early_look",
          "odds_on_the_way",
          "stopped_before_cap", "could_never_tell", "wide_range", "carry_over", "same_held_back", "as_done_differs"}


def test_a_running_trial_shows_no_remark_that_tells_of_the_answer() -> None:
    assert {code for code, kind in REMARKS.items() if not kind.sealed_ok} == SEALED


@pytest.mark.parametrize(("kind", "column", "bar"), [("humidity", "humidity_pct", 15), ("temperature", "temp_c", 5)])
def test_air_is_said_to_drift_from_its_bar_on(kind: str, column: str, bar: float) -> None:
    p = one_a_day(7)
    other = {"humidity_pct": "temp_c", "temp_c": "humidity_pct"}[column]
    for step, said in ((bar, True), (bar - 0.1, False)):
        days = [{"date": on(d), column: 20.0 + step * (d > 7), other: 20.0} for d in range(1, 15)]
        assert ("weather_drifted" in codes(read(p, days=days))) == said
    days = [{"date": on(d), column: 20.0 + bar * (d > 7), other: 20.0} for d in range(1, 15)]
    assert facts(read(p, days=days), "weather_drifted") == {"kind": kind, "early": 20.0, "late": 20.0 + bar}


@pytest.mark.parametrize(("days", "said"), [(8, False), (10, True)])
def test_thirds_of_less_than_three_days_tell_of_no_drift(days: int, said: bool) -> None:
    air = [{"date": on(d), "temp_c": 10.0 + 2 * d} for d in range(1, days + 1)]
    assert ("weather_drifted" in codes(read(one_a_day(days // 2), days=air))) == said


def test_hours_that_differ_by_less_than_a_fifth_are_not_said() -> None:
    p = by_reed((4, 4))
    for minutes, said in ((20.0, False), (24.0, False), (25.0, True)):
        rows = [{**r, "play_min": 20.0 if r["habit"] == A.key else minutes} for r in rated(p, steady)]
        assert ("hours_uneven" in codes(read(p, rows))) == said


def test_the_share_off_the_plan_is_of_the_sittings_that_say_their_habit() -> None:
    p = squares()
    rows = rated(p, steady)
    for row in rows[:4]:
        row["habit"] = "mouth" if row["habit"] == "water" else "water"
    for row in rows[-8:]:
        row["habit"] = None
    r = read(p, rows)
    assert facts(r, "plan_not_followed") == {"sittings": 4, "logged": 20, "share": 0.2, "confirmed": 0}
    assert facts(r, "habit_not_logged")["share"] == pytest.approx(8 / 28)


def test_shares_are_said_from_their_bar_on_and_slips_above_theirs() -> None:
    """Of twenty ratings: two from memory, two without a habit, six missing; one off the plan is still let pass."""
    p = squares(5)

    def said(n: int, code: str, **change: object) -> bool:
        rows = rated(p, steady)
        rows[:n] = [{**r, **change} for r in rows[:n]]
        return code in codes(read(p, [r for r in rows if r["overall"] is not None]))

    assert [said(n, "from_memory", from_memory=True) for n in (1, 2)] == [False, True]
    assert [said(n, "habit_not_logged", habit=None) for n in (1, 2)] == [False, True]
    assert [said(n, "missing_days", overall=None) for n in (5, 6)] == [False, True]
    other = next(h.key for h in (A, B) if h.key != rated(p, steady)[0]["habit"])
    assert not said(1, "plan_not_followed", habit=other)
