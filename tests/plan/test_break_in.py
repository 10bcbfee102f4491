"""Plans of reeds that were rated while they were broken in."""

from __future__ import annotations

import itertools
from datetime import timedelta
from typing import Any

import pandas as pd
import pytest

from reedlab.plan import forecast
from reedlab.plan.at_hand import with_break_in
from reedlab.plan.candidates import Way
from reedlab.plan.means import Means
from reedlab.plan.usable import usable_reeds
from reedlab.plan.weigh import Asked
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import Frames
from reedlab.worlds import World

from ._reeds import START, plan, reeds


def known(table: pd.DataFrame) -> pd.DataFrame:
    """The worst first play is the best by the break-in."""
    return table.assign(broken_in=10.0 - table["first_play"])


def test_the_logbook_tells_what_is_known_of_each_reed() -> None:
    table = reeds(2)
    rows = [{"sitting": f"{r}{d}", "date": START - timedelta(days=d), "reed": r, "play_min": 20.0, "overall": float(d)}
            for r, days in (("1-01", (1, 2, 3, 4)), ("1-02", (1, 2))) for d in days]
    found = with_break_in(table, Frames.trusted(reeds=table, sittings=rows), START)
    assert found["broken_in"].tolist() == pytest.approx([2.0, float("nan")], nan_ok=True)
    assert with_break_in(table, Frames.trusted(reeds=table), START)["broken_in"].isna().all()


def test_sets_are_matched_by_the_break_in_and_it_is_evened_out() -> None:
    table = known(reeds(8, 8))
    p = plan("drying", table).protocol
    assert p.adjust == ("break_in", "order")
    worth = dict(zip(table["reed"], table["broken_in"], strict=True))
    for box in "12":
        sets = list(dict.fromkeys(u.block for u in p.units if u.reeds[0].startswith(box)))
        values = [[worth[u.reeds[0]] for u in p.units if u.block == b] for b in sets]
        assert all(min(one) >= max(two) for one, two in itertools.pairwise(values))


def lacking(table: pd.DataFrame) -> pd.DataFrame:
    out = known(table)
    out.loc[0, "broken_in"] = None
    return out


@pytest.mark.parametrize(("question", "table", "more", "adjust"), [
    ("drying", lacking(reeds(8)), {}, ("first_play", "order")),
    ("drying", known(reeds(8)), {"rating": "tone"}, ("first_play", "order")),
    ("drying", known(reeds(8)), {"outcome": "life_hours", "days": 182}, ()),
    ("break_in", known(reeds(8)), {}, ("first_play", "order")),
    ("wetting", known(reeds(8)), {}, ("order",)),
])
def test_where_it_does_not_fit_the_plan_is_as_before(
        question: str, table: pd.DataFrame, more: dict[str, Any], adjust: tuple[str, ...]) -> None:
    assert plan(question, table, **more).protocol.adjust == adjust


def test_the_plan_says_what_is_used_or_how_to_come_to_it() -> None:
    assert any("weighed against its last three ratings" in r for r in plan("drying", known(reeds(8))).remarks)
    assert any("Rate each reed on three days while you break it in" in r for r in plan("drying", reeds(8)).remarks)


def test_a_trial_that_knows_its_reeds_sees_more_and_names_no_more_false_winners() -> None:
    plain, better = (forecast(plan("drying", t, days=28).protocol, gaps=(0.0, 1.0, 2.0), trials=600)
                     for t in (reeds(10), known(reeds(10))))
    assert better.odds[2].b_better > plain.odds[2].b_better + 0.1
    assert better.right > plain.right + 0.05
    assert better.odds[0].a_better + better.odds[0].b_better <= 0.05 + 3 * (0.05 * 0.95 / 600) ** 0.5
    assert better.odds[1].no_real_difference <= 0.05


def test_it_is_weighed_by_playing_it_through_and_never_taken_from_what_is_known_of_strangers() -> None:
    def asked(table: pd.DataFrame) -> Asked:
        return Asked(Means(reeds=table, minutes_a_day=60, weeks=4, world=World()), usable_reeds(table, seed=0),
                     CATALOGUE["drying"], Way("reed_by_reed", "mean_rating"), 28)

    assert asked(reeds(10)).standard
    assert not asked(known(reeds(10))).standard
    assert asked(reeds(10)) != asked(known(reeds(10)))
