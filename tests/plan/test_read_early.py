"""Which plans may be read early: those rated day by day in which one coin deals each set; of others nothing changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from reedlab.errors import ProtocolError
from reedlab.plan import draw_up
from reedlab.plan.forecast import forecast
from reedlab.rows.tables import typed
from reedlab.trial.protocol import Protocol

REEDS = typed("reeds", [{"reed": f"1-{n:02d}", "box": "1", "first_play": 5 + n / 4} for n in range(1, 11)])


def drawn(question: str, design: str, *, read_early: bool) -> Protocol:
    return draw_up(question, REEDS, start=date(2026, 3, 2), seed=3, instrument="clarinet", design=design,
                   simulations=100, read_early=read_early, compared=False).protocol


def test_a_plan_rated_day_by_day_may_be_read_early_if_asked_for() -> None:
    plain, early = (drawn("wetting", "day_by_day", read_early=x) for x in (False, True))
    assert not plain.read_early
    assert early == replace(plain, read_early=True)
    assert early.sha256 != plain.sha256


@pytest.mark.parametrize(("question", "design"), [("drying", "reed_by_reed"), ("ligature", "day_by_day")])
def test_of_any_other_plan_nothing_changes(question: str, design: str) -> None:
    assert drawn(question, design, read_early=True) == drawn(question, design, read_early=False)


def test_pairs_judged_back_to_back_are_no_coins_of_days() -> None:
    with pytest.raises(ProtocolError, match="may be read early"):
        replace(drawn("ligature", "day_by_day", read_early=False), read_early=True)


def test_a_forecast_is_that_of_the_same_plan_not_to_be_read_early() -> None:
    plain, early = (forecast(drawn("wetting", "day_by_day", read_early=x), trials=60, seed=4, gaps=(0.0, 1.0))
                    for x in (False, True))
    assert plain.odds == early.odds
