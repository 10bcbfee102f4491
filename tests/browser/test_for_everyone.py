"""For everyone: axe-core finds nothing on any page, at the desk and on the phone; a whole day by its roles and names.

axe-core comes with the package axe-playwright-python, which only the tests use.
"""

from __future__ import annotations

import re
from importlib.resources import files
from typing import Any

import pytest

from reedlab.demo import set_up_demo
from reedlab.desk.pages import PAGES

from .conftest import TOKEN
from .test_one_tool import in_trial, shown, visit  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf8")
FOUND = """() => axe.run(document, {resultTypes: ['violations']}).then(found => found.violations.map(
  v => [v.id, v.help, ...v.nodes.slice(0, 3).map(n => n.html.slice(0, 200))]))"""


def axe(tab: Any) -> Any:
    """What axe-core finds at fault on the page as it stands."""
    if tab.evaluate("typeof axe") == "undefined":
        tab.evaluate(AXE)
    return tab.evaluate(FOUND)


def unfold(tab: Any) -> None:
    folds = tab.locator(".reedlab-page:visible .reedlab-fold:not(.mod-active):visible")
    for _ in range(20):
        if not folds.count():
            break
        folds.first.click()
        tab.wait_for_timeout(200)
    tab.wait_for_timeout(500)


def looked_over(player: Any, *, fill: bool) -> list[Any]:
    """What axe-core finds on every page in turn: as it opens, narrow, unfolded, and with all main buttons pressed."""
    tab, found = player.tab, []
    player.open("start")
    for page in PAGES:
        visit(tab, page)
        for width, height in ((390, 844), (1280, 800)):
            tab.set_viewport_size({"width": width, "height": height})
            tab.wait_for_timeout(300)
            found += [(page, width, *x) for x in axe(tab)]
        unfold(tab)
        found += [(page, "unfolded", *x) for x in axe(tab)]
        if fill:
            for button in tab.locator(".reedlab-page:visible .reedlab .widget-button.mod-primary:visible").all():
                if button.is_visible() and button.is_enabled():
                    button.click()  # with nothing filled in: what is missing is said
                    tab.wait_for_timeout(800)
            found += [(page, "pressed", *x) for x in axe(tab)]
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page_of_the_desk(player: Any, scheme: str) -> None:
    player.tab.emulate_media(color_scheme=scheme)
    set_up_demo(player.folder)
    assert looked_over(player, fill=True) == []
    assert player.troubles == []


def test_axe_finds_nothing_on_pages_that_hold_nothing_yet(player: Any) -> None:
    assert looked_over(player, fill=False) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_phone(in_trial: Any, scheme: str) -> None:  # noqa: F811
    tab = in_trial.tab
    tab.emulate_media(color_scheme=scheme)
    in_trial.open_on_phone()
    assert axe(tab) == []
    tab.locator("details[open] .more > summary").first.click()
    tab.locator("details[open] .last button").first.click()
    tab.locator("#said.refused").wait_for()
    assert axe(tab) == []
    tab.locator("details[open] .grid label", has_text="7").first.click()
    tab.locator("details[open] .last button").first.click()
    tab.locator("#said.written").wait_for()
    assert axe(tab) == []


def test_a_whole_day_by_its_roles_names_and_states(in_trial: Any) -> None:  # noqa: F811
    """Only what a screen reader is told is used: roles, names, pressed and expanded states, what is announced."""
    tab = in_trial.tab
    tab.goto(f"{in_trial.address}/lab/tree/start.ipynb?token={TOKEN}")
    shown(tab, "My reeds")
    pages = tab.get_by_role("navigation", name="Pages")
    pages.get_by_role("link", name="Today").click()
    shown(tab, "Today")
    told = tab.locator(".reedlab-page:visible").get_by_role("status")
    reeds = [g.get_attribute("aria-label") for g in tab.locator(".reedlab-page:visible").get_by_role("group").all()
             if (g.get_attribute("aria-label") or "").startswith("Overall for ")]
    assert len(reeds) == 4
    for n, name in enumerate(reeds):
        group = tab.get_by_role("group", name=name)
        assert group.get_by_role("button", pressed=True).count() == 0
        group.get_by_role("button", name=re.compile(f"^{8 - n}$")).click()
        group.get_by_role("button", name=re.compile(f"^{8 - n}$"), pressed=True).wait_for()
        code = re.search(r"\d-\d\d", name).group()  # type: ignore[union-attr]
        tab.get_by_role("button", name=f"Save {code}").click()
        told.filter(has_text=f"Saved: {code}").first.wait_for()
    more = tab.get_by_role("button", name="Something else?", expanded=False)
    more.click()
    tab.get_by_role("button", name="Something else?", expanded=True).wait_for()
    tab.get_by_role("group", name="Something else?").get_by_role(
        "button", name=re.compile("^Not playing"), pressed=False).click()
    tab.get_by_role("button", name="Today is a day off").wait_for()
