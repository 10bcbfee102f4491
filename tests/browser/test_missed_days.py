"""Two days missed are moved along by one press; then the answer is opened early, at no price."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed, Sitting

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)
REEDS = ("1-01", "1-02", "1-03", "1-04")


@pytest.fixture
def two_days_in(player: Any) -> Any:
    """A trial of 28 days, rated day by day, that may be read early; its first two days are played."""
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(
            Reed(reed=r, box="1", first_play=6.0, first_played=START - timedelta(days=9)) for r in REEDS)])
        plan = draw_up("wetting", logbook.frames().reeds, start=START, seed=3, instrument="clarinet", days=28,
                       design="day_by_day", trial="Wet or not", simulations=100, read_early=True).protocol
        logbook.start_trial(plan)
        logbook.add_many([Sitting(date=START + timedelta(days=s.day - 1), reed=s.reed, play_min=10.0, overall=6.0,
                                  habit=plan.habit_for(s.reed, s.day).key) for s in plan.slots if s.day <= 2])
    player.day(START + timedelta(days=4))
    return player


def test_missed_days_move_along_and_an_early_look_is_free(two_days_in: Any) -> None:
    player = two_days_in
    player.open("today")
    player.tab.get_by_text("day 5 of 28").wait_for()
    player.tab.get_by_text("Nothing is in the book for").wait_for()
    player.tab.get_by_text("Something else?").first.click()
    player.tab.get_by_role("button", name="Not playing today").click()
    player.tab.get_by_role("button", name="Wednesday 11 March to Thursday 12 March").click()
    player.tab.get_by_text("moves along by 2 days").first.wait_for()
    assert player.cut_off() == []
    player.tab.get_by_role("button", name="Save: not playing").click()
    player.tab.get_by_text("Saved: not playing from Wednesday 11 March").wait_for()
    player.tab.get_by_text("day 3 of 28").wait_for()
    assert player.tab.get_by_text("Nothing is in the book for").count() == 0

    player.open("result")
    form = player.form("Open it before the end?")
    form.get_by_text("written down and costs nothing").wait_for()
    form.get_by_label("Why do you want to open it now?").fill("a concert")
    form.get_by_role("button", name="Open it early").click()
    form.get_by_text("Yes, open it").click()
    form.get_by_text("Opened early, on day 3 of 28").first.wait_for()
    assert player.troubles == []
