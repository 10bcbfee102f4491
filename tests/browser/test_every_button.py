"""Every button of every page is pressed twice at once: one effect, a true answer in view, never a program's error.

First each button that saves, with its form filled in; then all buttons there are, as they stand.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest

from reedlab.demo import set_up_demo
from reedlab.desk.pages import PAGES
from reedlab.folder.resources import find_logbook
from reedlab.logbook import Logbook
from reedlab.rows.tables import TABLES

from ..benchmarks.stopwatch import DAY
from .conftest import asked
from .test_one_tool import AT_REST, visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def rows(player: Any) -> dict[str, int]:
    """How many rows stand in each table, and how many trials there are."""
    path = find_logbook(player.folder)
    if not path.exists():
        return {}
    with Logbook.open(path, read_only=True) as logbook:
        frames = {name: len(logbook.frame(name)) for name in TABLES}
        return {name: n for name, n in {**frames, "trials": len(logbook.trial_names())}.items() if n}


def more(before: dict[str, int], after: dict[str, int]) -> dict[str, int]:
    return {name: n - before.get(name, 0) for name, n in after.items() if n != before.get(name, 0)}


def kernels(player: Any) -> list[tuple[str, str, str]]:
    return sorted((k["id"], k["execution_state"], k["last_activity"]) for k in asked(player.port, "/api/kernels"))


def settled(player: Any, before: list[tuple[str, str, str]]) -> None:
    """Wait until a press has come to its kernel and nothing works any more: no kernel, and no button that says so."""
    until = time.monotonic() + 1  # where a press is for the browser alone, no kernel hears of it
    while kernels(player) == before and time.monotonic() < until:
        player.tab.wait_for_timeout(20)
    while True:
        now = kernels(player)
        player.tab.wait_for_timeout(50)
        if kernels(player) == now and all(state == "idle" for _, state, _ in now):
            break
    player.tab.wait_for_function(AT_REST)


def twice(player: Any, button: Any) -> None:
    before = kernels(player)
    button.dblclick()
    settled(player, before)
    assert player.tab.get_by_text("not your fault").count() == 0
    assert player.tab.locator(".jp-OutputArea-output [data-mime-type*=stderr]:visible").count() == 0
    assert player.troubles == []


def answered(player: Any, text: str) -> None:
    """The answer stands in view, and is one that is announced."""
    said = player.tab.locator(".reedlab-said:visible").filter(has_text=text).last
    said.wait_for()
    assert said.get_attribute("aria-live") == "polite"
    box = said.bounding_box()
    assert box["y"] < player.tab.viewport_size["height"]
    assert box["y"] + min(box["height"], 60) > 0


def pressed(player: Any, form: Any, name: str | re.Pattern[str], wrote: dict[str, int], says: str) -> None:
    before = rows(player)
    twice(player, form.get_by_role("button", name=name).locator("visible=true").first)
    answered(player, says)
    assert more(before, rows(player)) == wrote


def test_every_save_of_the_first_days_has_one_effect(player: Any) -> None:
    player.day(DAY)
    player.open("plan")
    box = player.form("Save the box")
    box.get_by_label("Instrument").select_option("Clarinet")
    pressed(player, box, "Save the box", {"boxes": 1, "reeds": 10}, "Saved: box 1")
    first = player.form("Now play 1-")
    first.get_by_role("button", name="7", exact=True).click()
    first.get_by_label("Stiffness").select_option("0 just right")
    before = rows(player)
    twice(player, first.get_by_role("button", name="Save this reed"))
    answered(player, "Saved")
    assert more(before, rows(player)) in ({}, {"sittings": 1})
    with Logbook.open(find_logbook(player.folder), read_only=True) as logbook:
        assert logbook.frame("reeds")["first_play"].notna().sum() == 1


def something_else(player: Any, choice: str, save: str) -> Any:
    """Open a sheet behind "Something else?", known by its button."""
    tab = player.tab
    if not tab.get_by_role("button", name=choice, exact=True).is_visible():
        tab.get_by_role("button", name="Something else?").click()
    tab.get_by_role("button", name=choice, exact=True).click()
    sheet = tab.locator(".reedlab .reedlab:visible").filter(has=tab.get_by_role("button", name=save)).first
    sheet.wait_for()
    return sheet


def test_every_save_of_today_has_one_effect(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open("today")
    lines = tab.locator(".reedlab-line:visible")
    lines.nth(0).get_by_role("button", name="7", exact=True).click()
    pressed(player, lines.nth(0), re.compile("^Save"), {"sittings": 1}, "Saved")
    lines.nth(1).get_by_role("button", name="6", exact=True).click()
    lines.nth(2).get_by_role("button", name="5", exact=True).click()
    pressed(player, tab, "Save all 2", {"sittings": 2}, "Saved")
    twice(player, lines.nth(0).get_by_role("button", name=re.compile("^Change")))
    lines.nth(0).get_by_role("button", name="8", exact=True).click()
    pressed(player, lines.nth(0), re.compile("^Save"), {}, "Saved")
    lines.nth(0).get_by_text("✓ 8").wait_for()
    twice(player, lines.nth(0).get_by_role("button", name=re.compile("^Take back")))
    pressed(player, tab, "Yes, take it back", {"sittings": -1}, "Taken back")

    outing = something_else(player, "Rehearsal or concert", "Save this line")
    outing.get_by_role("button", name="Rehearsal").click()
    outing.get_by_label("Reed", exact=True).select_option("1-02")
    outing.get_by_label("Minutes played").fill("45")
    pressed(player, outing, "Save this line", {"sittings": 1}, "Saved")
    worked = something_else(player, "A reed was worked on", "Save: it was worked on")
    worked.get_by_label("Reed", exact=True).select_option("1-02")
    pressed(player, worked, "Save: it was worked on", {}, "Saved")
    gone = something_else(player, "A reed is done with", "Save: it leaves service")
    gone.get_by_label("Reed", exact=True).select_option("1-03")
    gone.get_by_role("button", name="Chipped or cracked").click()
    pressed(player, gone, "Save: it leaves service", {"retirements": 1}, "Saved")


FILES: dict[str, Callable[[Any], int]] = {
    "Make the week's sheet": lambda folder: len(list(folder.glob("sheet-*.html"))),
    "Make labels for the case": lambda folder: len(list(folder.glob("labels*.html"))),
    "Make the calendar file": lambda folder: len(list(folder.glob("*.ics"))),
    "Make a spreadsheet to fill in": lambda folder: len(list(folder.glob("*.xlsx"))),
}


def test_every_button_of_paper_makes_one_file(in_trial: Any) -> None:
    in_trial.open("paper")
    for word in ("For the reed case", "For your calendar", "To fill in anywhere"):
        in_trial.tab.get_by_role("button", name=word).click()
    for name, files in FILES.items():
        assert files(in_trial.folder) == 0
        twice(in_trial, in_trial.tab.get_by_role("button", name=name))
        answered(in_trial, "Made:")
        assert files(in_trial.folder) == 1, name


NEXT = """done => {
    const name = b => b.getAttribute('aria-label') || b.innerText.trim();
    document.querySelectorAll('[data-next]').forEach(b => b.removeAttribute('data-next'));
    const next = [...document.querySelectorAll('.reedlab-page .reedlab button')].find(
        b => b.checkVisibility({visibilityProperty: true}) && !b.disabled && !b.closest('.widget-toggle-buttons') &&
             !done.includes(name(b)));
    next?.setAttribute('data-next', '');
    return next ? name(next) : null;
}"""
#: These are pressed in tests of their own: they shut out what the others need.
ELSEWHERE = re.compile("Lock out|Yes, go back")


def test_every_button_of_every_page_as_it_stands(player: Any) -> None:
    set_up_demo(player.folder)
    player.open("start")
    walked = 0
    for page in PAGES:
        visit(player.tab, page)
        walked += walk(player, page)
    assert walked > 30


def walk(player: Any, page: str) -> int:
    """Press each button of a page twice at once, those that come into sight meanwhile too; return how many."""
    done: list[str] = []
    shown = player.tab.locator(".reedlab-page:visible")
    before = rows(player)
    while (name := player.tab.evaluate(NEXT, done)) is not None:
        done.append(name)
        if ELSEWHERE.match(name):
            continue
        seen = shown.inner_text()
        twice(player, player.tab.locator("[data-next]"))
        after = rows(player)
        wrote, before = more(before, after), after
        assert all(n in (1, -1) for table, n in wrote.items() if table != "reeds"), (page, name, wrote)
        assert shown.inner_text() != seen or wrote == {}, (page, name)
    return len(done)
