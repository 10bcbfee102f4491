"""When a row that the plan filled in counts as not filled in by the player."""

from __future__ import annotations

import pytest

from reedlab.planned import left_empty

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
