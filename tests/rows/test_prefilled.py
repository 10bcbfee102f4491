"""When a row that the plan filled in counts as not filled in by the player; a sitting's place in its day."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from reedlab.rows.prefilled import free_place, left_empty
from reedlab.rows.tables import typed

PLAN = {"date": "2026-03-05", "order": "1", "reed": "2-07", "habit": "soak", "plan_min": "10"}


@pytest.mark.parametrize(("table", "cells", "empty"), [
    ("sittings", PLAN, True),
    ("sittings", PLAN | {"waterlogged": "no", "from_memory": False, "remark": None}, True),
    ("sittings", PLAN | {"play_min": "0"}, False),
    ("sittings", PLAN | {"overall": 0.0}, False),
    ("sittings", PLAN | {"remark": "no"}, False),
    ("sittings", PLAN | {"waterlogged": "yes"}, False),
    ("sittings", {k: v for k, v in PLAN.items() if k != "plan_min"}, False),
    ("days", {"date": "2026-03-05", "day_off": "no"}, True),
    ("days", {"date": "2026-03-05", "day_off": "yes"}, False),
    ("retirements", {"reed": "2-07"}, False),
])
def test_left_empty(table: str, cells: dict[str, object], empty: bool) -> None:
    assert left_empty(table, cells) is empty


def test_a_date_alone_is_an_entry_where_the_file_is_no_spreadsheet() -> None:
    assert not left_empty("days", {"date": "2026-03-05"}, spreadsheet=False)


DAY = date(2026, 3, 5)


def placed(*orders: int | None) -> pd.DataFrame:
    return typed("sittings", [{"date": DAY, "reed": "2-07", "play_min": 5, "order": n} for n in orders])


@pytest.mark.parametrize(("orders", "wanted", "besides", "place"), [
    ((), None, (), 1),
    ((1, 2), None, (), 3),
    ((1, 4), None, (), 5),
    ((None, None), None, (), 3),  # two without a place were played before
    ((1, None), None, (), 3),
    ((2,), 1, (), 1),
    ((1, 2), 2, (), 3),
    ((1,), None, (2, 3), 4),
    ((1,), 2, (2,), 3),
    ((), None, (None,), 2),
    ((50,), None, (), None),
])
def test_free_place_is_the_next_of_the_day_or_the_one_wanted(
        orders: tuple[int | None, ...], wanted: int | None, besides: tuple[int | None, ...], place: int | None) -> None:
    assert free_place(placed(*orders), DAY, wanted=wanted, besides=besides) == place


def test_another_days_places_do_not_matter() -> None:
    assert free_place(placed(1, 2), date(2026, 3, 6)) == 1
