"""Back to back in the browser: planned, asked, answered; once knowing which go is which, once with a helper."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.errands.away import read_away, write_away
from reedlab.logbook import Logbook
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed
from tests.keeping import play_the_rest

from ..plan._reeds import reeds
from .test_away_page import away, show

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)


def plan_it(player: Any, *, helper: bool) -> None:
    player.open("plan")
    form = player.form("What it can show")
    form.get_by_role("button", name="Place on the mouthpiece").click()
    form.get_by_role("button", name="More choices").click()
    judged = form.get_by_label("Judged by")
    judged.locator("option").filter(has_text="Back to back").first.wait_for(state="attached")
    # by its place: what a label says of its chance may change while it is read
    place = judged.evaluate("s => [...s.options].findIndex(o => o.text.replace(/\\s/g, ' ').includes('Back to back'))")
    judged.select_option(index=place)
    form.get_by_role("button", name="No difference").click()
    if helper:
        form.get_by_label("A helper makes the reeds ready").check()
    form.get_by_role("button", name="Show me the plan").click()
    form.get_by_role("button", name="Start this trial").click()
    form.get_by_text("Started. This now stands in your logbook").wait_for()


@pytest.mark.parametrize("helper", [False, True], ids=["known", "blind"])
def test_from_the_plan_to_the_answer(player: Any, helper: bool) -> None:
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 7))
    player.day(START)
    plan_it(player, helper=helper)

    # The first day says what to do first and then, or that the helper does, and asks which go was better.
    player.open("today")
    line = player.tab.locator(".reedlab-line:visible").first
    line.wait_for()
    told = line.inner_text()
    assert ("Your helper sets it up one way, then the other" in told) == helper
    assert ("First the reed" in told) != helper
    assert line.get_by_role("button", name="7", exact=True).count() == 0  # no rating of 0 to 10 is asked
    line.get_by_label("Better go").select_option(label="second a little better (1)")
    line.get_by_role("button", name="Save").click()
    line.get_by_text("✓ second a little better (1)").wait_for()

    # The other pairs are written down; the second way is a point and a half better.
    player.day(START + timedelta(days=40))
    with Logbook.open(player.folder / "reeds.logbook") as logbook:
        (name,) = logbook.frame("trials")["trial"]
        plan = logbook.protocol(name)
        assert (plan.pairs, plan.masked) == (True, "helper" if helper else "none")
        (mine,) = logbook.frame("sittings").to_dict("records")
        assert (mine["preference"], mine["habit"] is None) == (-1.0, helper)
        play_the_rest(logbook, plan, mine["reed"])

    # Sealed to the last day, then the answer, its picture, and who knew.
    player.day(START + timedelta(days=5))
    player.open("result")
    player.form("Trial").get_by_text("sealed until").wait_for()
    player.day(START + timedelta(days=40))
    player.open("result")
    answer = player.form("Trial")
    better, worse = (h.name for h in reversed(plan.habits))
    answer.get_by_text(f"With {better}, your reeds played about").first.wait_for()
    answer.get_by_text("dots: one for each pair").or_(answer.locator("img")).first.wait_for()
    assert (answer.get_by_text("You knew which go was which").count() == 0) == helper
    assert worse in answer.inner_text()
    assert player.troubles == []


def test_the_page_of_one_file_asks_which_go_was_better(chromium: Any, tmp_path: Path) -> None:
    plan = draw_up("position", reeds(6), start=START, seed=5, instrument="clarinet", outcome="preference",
                   simulations=100, compared=False).protocol
    with Logbook.create(tmp_path / "reeds.logbook", now=lambda: datetime(2026, 3, 9, 18, tzinfo=UTC)) as logbook:
        logbook.add(Box(box="1", instrument="clarinet"))
        logbook.add_many(Reed(reed=r, box="1") for r in reeds(6)["reed"])
        logbook.start_trial(plan)
        page = write_away(logbook, tmp_path / "away.html", today=START).path
        troubles: list[str] = []
        with away(chromium, tmp_path / "profile") as context:
            tab = show(context, page, START, troubles)
            line = tab.locator("#lines > details[open]")
            line.get_by_role("button", name="Save", exact=True).click()
            assert "Better go: choose which go was better" in tab.locator("#said").inner_text()
            assert line.get_by_role("radio", name="7", exact=True).count() == 0
            line.get_by_label("Which go was better?").select_option("-0.5")
            line.get_by_role("button", name="Save", exact=True).click()
            assert "second just better (½)" in tab.locator("#said").inner_text()
            tab.get_by_role("button", name="Make the file to hand back").click()
            handed = tab.locator("#text").input_value()
        read_away(logbook, handed)
        assert logbook.frame("sittings")["preference"].tolist() == [-0.5]
    assert troubles == []
