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
from reedlab.folder.resources import find_logbook

from .conftest import TOKEN
from .test_one_tool import AT_REST, shown, visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf8")
FOUND = """([within, rules]) => axe.run(
    within ? [...document.querySelectorAll(within)].find(e => e.offsetParent) : document,
    {resultTypes: ['violations'], ...(rules.length ? {runOnly: rules} : {})}).then(found => found.violations.map(
  v => [v.id, v.help, ...v.nodes.slice(0, 3).map(n => n.html.slice(0, 200))]))"""
PAGE = ".reedlab-page"
CLOSED = ".reedlab-page:visible :is(.reedlab-fold:not(.mod-active):visible, details:not([open]) > summary:visible)"


def axe(tab: Any, *rules: str, within: str = "") -> list[Any]:
    """What axe-core finds at fault on the page as it stands, or in a part of it, by all its rules or by these."""
    if tab.evaluate("typeof axe") == "undefined":
        tab.evaluate(AXE)
    found: list[Any] = tab.evaluate(FOUND, [within, list(rules)])
    return found


def unfold(tab: Any) -> None:
    """Open all folds, also those that come into sight when another is opened."""
    for _ in range(40):
        folds = tab.locator(CLOSED)
        if not folds.count():
            break
        folds.first.click()
        tab.wait_for_timeout(30)
    tab.wait_for_timeout(200)


def press_all(tab: Any) -> None:
    """Press every main button in sight with nothing filled in: what is missing is said."""
    for button in tab.locator(".reedlab-page:visible .reedlab .widget-button.mod-primary:visible").all():
        if button.is_visible() and button.is_enabled():
            button.click()
            tab.wait_for_timeout(200)
    tab.wait_for_function(AT_REST)


def lit(tab: Any, scheme: Any) -> None:
    """Have the system go light or dark, and wait until JupyterLab has followed."""
    tab.emulate_media(color_scheme=scheme)
    tab.wait_for_function(f"document.body.dataset.jpThemeLight === '{str(scheme == 'light').lower()}'")
    tab.wait_for_timeout(100)
    tab.wait_for_function("document.getElementById('jupyterlab-splash') === null")


def looked_over(player: Any, *, press: bool) -> list[Any]:
    """What axe-core finds on every page in turn, wide and narrow, folded and unfolded, pressed, light and dark."""
    tab, found = player.tab, []
    player.open("start")
    for page in PAGES:
        visit(tab, page)
        assert tab.locator(".reedlab-page:visible [data-mime-type*=error]").count() == 0
        found += [(page, "as it opens", *x) for x in axe(tab)]
        unfold(tab)
        tab.set_viewport_size({"width": 390, "height": 844})
        found += [(page, "unfolded, narrow", *x) for x in axe(tab, within=PAGE)]
        tab.set_viewport_size({"width": 1280, "height": 800})
        if press:
            press_all(tab)
            found += [(page, "pressed", *x) for x in axe(tab, within=PAGE)]
        lit(tab, "dark")
        found += [(page, "dark", *x) for x in axe(tab, "color-contrast", within=PAGE)]
        lit(tab, "light")
    return found


def test_axe_finds_nothing_on_any_page_of_the_desk(player: Any) -> None:
    set_up_demo(player.folder)
    assert looked_over(player, press=True) == []
    assert player.troubles == []


def test_axe_finds_nothing_on_pages_that_hold_nothing_yet_and_they_write_no_logbook(player: Any) -> None:
    assert looked_over(player, press=False) == []
    assert player.troubles == []
    assert not find_logbook(player.folder).exists()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_phone(in_trial: Any, scheme: str) -> None:
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


def test_a_whole_day_by_its_roles_names_and_states(in_trial: Any) -> None:
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
    tab.get_by_role("button", name="Save: not playing").wait_for()
