"""Two reeds side by side in the browser: the two are ticked, planned, tried and told apart; each go may be rated."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed
from tests.keeping import play_the_rest

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)


def test_from_the_ticks_to_the_answer(player: Any) -> None:
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 7))
    player.day(START)
    player.open("plan")
    form = player.form("What it can show")
    form.get_by_role("button", name="Two reeds side by side").click()
    form.get_by_label("1-05 (6.5)").wait_for()
    assert form.get_by_label("1-05 (6.5)").is_checked()
    assert not form.get_by_label("1-04 (6)").is_checked()
    form.get_by_role("button", name="reed 1-05", exact=True).click()
    form.get_by_role("button", name="Show me the plan").click()
    form.get_by_role("button", name="Start this trial").click()
    form.get_by_text("Started. This now stands in your logbook").wait_for()

    player.open("today")
    line = player.tab.locator(".reedlab-line:visible").first
    line.wait_for()
    assert "First reed 1-0" in line.inner_text()
    line.get_by_role("button", name="Rate both instead").click()
    line.get_by_label("First go, 0 to 10").select_option(label="8")
    line.get_by_label("Second go, 0 to 10").select_option(label="5.5")
    line.get_by_role("button", name="Save").click()
    line.get_by_text("✓ first better by 2½").wait_for()

    # The other pairs are written down; the second reed is a point and a half better.
    player.day(START + timedelta(days=80))
    with Logbook.open(player.folder / "reeds.logbook") as logbook:
        (name,) = logbook.frame("trials")["trial"]
        plan = logbook.protocol(name)
        assert (plan.two_reeds, plan.reeds, plan.expected) == (True, ("1-05", "1-06"), "1-05")
        (mine,) = logbook.frame("sittings").to_dict("records")
        assert (mine["preference"], mine["remark"]) == (2.5, "first go 8, second go 5.5")
        play_the_rest(logbook, plan, mine["reed"])
    player.open("result")
    answer = player.form("Trial")
    answer.get_by_text("On these days you found reed 1-06 about").first.wait_for()
    assert player.troubles == []
