"""From question to start: the forecast figure and the advice stand on the page before the trial does."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from reedlab.demo import set_up_demo
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed

from .conftest import PHONE

pytestmark = [pytest.mark.browser, pytest.mark.slow]
DAY = date(2026, 3, 2)
#: Each question in sight, how far down the form its line begins, and how tall it is.
LINES = """() => [...document.querySelectorAll('.reedlab-row')].filter(e => e.offsetParent).map(e => [
  e.querySelector('button').innerText, e.offsetHeight,
  Math.round(e.getBoundingClientRect().top - e.closest('.reedlab').getBoundingClientRect().top)])"""


def test_a_player_sees_what_the_plan_can_show_before_starting_it(player: Any) -> None:
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet", strength="3"), *(
            Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n % 7 / 2, first_stiffness=0.0, first_played=DAY)
            for n in range(1, 11))])
    player.day(DAY)
    player.open("plan")
    form = player.form("What it can show")
    form.get_by_text("What 8 weeks will hardly settle").wait_for()
    lines = player.tab.evaluate(LINES)
    form.locator("b").filter(has_text="82 of 100").first.wait_for()  # known beforehand for a player nobody knows yet
    assert player.tab.evaluate(LINES) == lines
    assert "Two cuts or two strengths" in [name for name, _, _ in lines]  # of one box it cannot be asked
    form.get_by_role("button", name="Put in order").click()
    form.get_by_text("What your reeds can best settle comes first.").wait_for()
    assert [name for name, _, _ in player.tab.evaluate(LINES)] == [name for name, _, _ in (*lines[:5], lines[6])]
    assert "questions can't be settled in 8 weeks" in form.inner_text()
    player.tab.set_viewport_size(PHONE)
    code = player.tab.locator(".reedlab-line-of-pages:visible button").bounding_box()
    assert code["x"] + code["width"] <= PHONE["width"]
    form.get_by_role("button", name="Water or mouth").click()
    show = form.get_by_role("button", name="Show me the plan")
    show.wait_for()
    player.tab.wait_for_timeout(500)
    for part in (form.locator(".reedlab-steps"), show):  # the step is one screen, wherever the one before it ended
        box = part.bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= PHONE["height"]
    player.tab.set_viewport_size({"width": 1280, "height": 900})
    form.get_by_role("button", name="No difference", exact=True).click()
    form.get_by_role("button", name="Show me the plan").click()
    form.get_by_text("a useful answer in 82 of 100").wait_for()
    assert "If one way is truly 1 point better" in form.inner_text()
    form.get_by_text("What else you could do").wait_for()
    assert "To learn which way makes reeds last longer, you need about" in form.inner_text()
    form.get_by_role("button", name="See it as a picture").click()
    figure = form.locator("picture img")
    figure.wait_for()
    assert figure.evaluate("i => i.complete && i.naturalWidth > 300")
    form.get_by_role("button", name="Start this trial").dblclick()
    form.get_by_text("Started. This now stands in your logbook").wait_for()
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        assert len(logbook.trial_names()) == 1
    assert player.troubles == []


def test_a_known_players_questions_have_numbers_at_once_and_the_page_is_not_held_up(player: Any) -> None:
    set_up_demo(player.folder)
    player.open("plan")
    form = player.form("What it can show")
    form.get_by_text(re.compile(r"first guess: \d+ of 100")).first.wait_for()
    form.get_by_role("button", name="Place on the mouthpiece").click()  # while the player's own are weighed
    form.get_by_role("button", name="Show me the plan").wait_for()
    form.get_by_role("button", name="Back").locator("visible=true").click()
    form.get_by_text("What 8 weeks will hardly settle").wait_for()
    lines = player.tab.evaluate(LINES)
    form.locator("b").filter(has_text=re.compile(r"^\d+ of 100$")).first.wait_for()
    assert "first guess:" not in form.inner_text()
    assert player.tab.evaluate(LINES) == lines
    form.get_by_role("button", name="Place on the mouthpiece").click()
    form.get_by_role("button", name="Back").locator("visible=true").click()
    form.get_by_text("What your reeds can best settle comes first.").wait_for()  # put so while it was out of sight
    assert "questions can't be settled in 8 weeks" in form.inner_text()
    assert ".." not in form.inner_text()
    assert player.troubles == []
