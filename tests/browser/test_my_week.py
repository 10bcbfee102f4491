"""My week, filled in at the desk, and two trials beside one another on Today."""

from __future__ import annotations

import os
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)  # a Monday


@pytest.fixture
def two_trials(player: Any) -> Any:
    """Two trials on their first day and two reeds of no trial, made without the pages."""
    from reedlab.plan import draw_up

    player.day(START)
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add_many(Box(box=b, instrument="clarinet", strength="3") for b in "123")
        logbook.add_many(Reed(reed=f"{b}-{n:02d}", box=b, first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=START - timedelta(days=9)) for b in "12" for n in range(1, 11))
        logbook.add_many(Reed(reed=f"3-0{n}", box="3", first_play=8) for n in (1, 2))
        logbook.add_many(Sitting(date=START - timedelta(days=d), reed=f"3-0{n}", play_min=30, overall=8)
                         for n in (1, 2) for d in range(3, 8))
        reeds = logbook.frame("reeds")
        for box, question in (("1", "wetting"), ("2", "drying")):
            draft = draw_up(question, reeds[reeds["box"] == box], start=START, seed=1, instrument="clarinet",
                            expected="same", simulations=100, trial={"1": "Water or mouth", "2": "Drying"}[box])
            logbook.start_trial(draft.protocol)
    return player


def seen(player: Any, name: str, height: int = 3400) -> None:
    """Keep a picture, where a folder for them is named."""
    folder = os.environ.get("REEDLAB_PICTURES")
    if folder:
        size = player.tab.viewport_size
        player.tab.set_viewport_size({"width": size["width"], "height": height})
        player.tab.wait_for_timeout(1500)
        player.tab.screenshot(path=Path(folder) / f"{name}.png")
        player.tab.set_viewport_size(size)


def fill(player: Any) -> Any:
    player.tab.get_by_role("button", name="Something else?").click()
    player.tab.get_by_role("button", name="My week and concerts").click()
    week = player.tab.locator(".reedlab .reedlab:visible").filter(has_text="Change my week, or add a concert").first
    week.get_by_role("button", name="Change my week, or add a concert").click()
    week.get_by_label("Same every day").fill("60")
    week.get_by_role("button", name="Put it in all seven").click()
    player.tab.wait_for_function(
        "() => [...document.querySelectorAll('.reedlab input')].filter(e => e.value === '60').length >= 9")
    week.get_by_label("Sunday").fill("0")
    week.get_by_label("Concert on").fill("2026-03-14")
    week.get_by_role("button", name="Save my week").click()
    week.get_by_text("Saved. This now stands in your logbook").wait_for()
    return week


def week_of(player: Any) -> dict[str, float]:
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        frame = logbook.frame("week")
    return dict(zip(frame["weekday"], frame["play_min"], strict=True))


def test_the_week_is_saved_at_the_desk_and_today_and_the_case_take_it(two_trials: Any) -> None:
    player = two_trials
    player.open("today")
    today = player.form("Something else?")
    today.get_by_text("60 minutes a day").wait_for()
    today.get_by_text("The ratings of your 2 trials take 80 minutes").wait_for()
    seen(player, "week_two_trials_1280", 1700)
    week = fill(player)
    assert week_of(player)["sunday"] == 0
    week.get_by_text("would lose its ratings").wait_for()
    assert player.cut_off() == []
    assert player.faint() == []
    seen(player, "week_1280")
    week.get_by_role("button", name="Let the trial skip my days off").click()
    week.get_by_text("Nothing is lost.").wait_for()
    assert today.get_by_text("60 minutes a day").count() == 0
    seen(player, "week_1280_paused")
    player.open("case")
    case = player.form("likely life")
    case.get_by_text("Saturday 14 March, concert").wait_for()
    seen(player, "week_case_1280", 1800)
    assert player.troubles == []
