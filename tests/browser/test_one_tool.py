"""The pages feel like one tool: a line that leads to the others, Back, no frame of a notebook, two tabs that agree."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from reedlab.logbook import Logbook

from .conftest import PATIENCE, TOKEN, asked

pytestmark = [pytest.mark.browser, pytest.mark.slow]

FRAME = "#jp-menu-panel, #jp-top-panel, .jp-SideBar, .jp-NotebookPanel-toolbar, .jp-InputPrompt, .jp-Notebook-footer"


def go(tab: Any, name: str, heading: str) -> None:
    tab.locator(".reedlab-line-of-pages:visible").get_by_role("link", name=name, exact=True).click()
    shown(tab, heading)


#: No button says any more that it works, and no cell runs.
AT_REST = """() => ![...document.querySelectorAll('.reedlab button')].some(
    b => b.offsetParent && b.disabled && /…$/.test(b.innerText.trim())) &&
  [...document.querySelectorAll('.reedlab-page')].filter(p => p.offsetParent).every(
    p => [...p.querySelectorAll('.jp-InputPrompt')].every(i => !i.textContent.includes('*')))"""
LEAD = """page => {
  const a = document.createElement('a');
  a.href = page;
  document.querySelector('.reedlab-page:not(.lm-mod-hidden) .reedlab-line-of-pages').append(a);
  a.click();
  a.remove();
}"""


def visit(tab: Any, page: str) -> None:
    """Follow a link to a page, also to one that the line at the top does not lead to, and wait until it is there."""
    tab.evaluate(LEAD, page)
    tab.wait_for_url(f"**/reeds/{page.removesuffix('.ipynb')}")
    tab.locator(".reedlab-page.reedlab-ready:visible .reedlab").first.wait_for(state="attached")
    tab.wait_for_function(AT_REST)
    tab.wait_for_timeout(100)


def shown(tab: Any, heading: str) -> None:
    page = tab.locator(".reedlab-page.reedlab-ready:visible")
    page.get_by_role("heading", name=heading, level=1).wait_for()


def test_pages_lead_to_each_other_without_the_frame_of_a_notebook(in_trial: Any) -> None:
    tab = in_trial.tab
    tab.goto(f"{in_trial.address}/lab/tree/start.ipynb?token={TOKEN}", wait_until="commit")
    tab.wait_for_selector("body", state="attached")
    assert "Getting your reeds ready" in tab.evaluate("getComputedStyle(document.body, '::before').content")
    shown(tab, "My reeds")
    line = tab.locator(".reedlab-line-of-pages:visible")
    assert line.get_by_role("link").all_inner_texts() == [
        "Start", "New reeds and plan", "Today", "Reed case", "Paper", "Answer", "Class"]
    assert line.locator("[aria-current=page]").inner_text() == "Start"
    assert tab.locator(FRAME).locator("visible=true").count() == 0
    assert tab.title() == "My reeds"

    go(tab, "Today", "Today")
    assert tab.title() == "Today"
    assert tab.url == f"{in_trial.address}/reeds/today"  # no file and no ending in the address bar
    go(tab, "Paper", "On paper")
    assert tab.locator(FRAME).locator("visible=true").count() == 0
    assert ".ipynb" not in tab.locator("body").inner_text()
    in_use = [session["kernel"]["id"] for session in asked(in_trial.port, "/api/sessions")]
    assert len(in_use) == 3
    assert all("forkserver" in str(in_trial.behind(kernel).parent().cmdline()) for kernel in in_use)
    tab.go_back()
    shown(tab, "Today")
    tab.go_back()
    shown(tab, "My reeds")
    tab.go_forward()
    shown(tab, "Today")
    tab.reload()
    shown(tab, "Today")
    assert tab.url == f"{in_trial.address}/reeds/today"
    tab.go_back()
    shown(tab, "My reeds")
    tab.go_forward()
    shown(tab, "Today")

    code = tab.locator(".reedlab-page:visible").get_by_role("button", name="Code")
    assert code.get_attribute("aria-pressed") == "false"
    code.click()
    tab.locator(".reedlab-page:visible").get_by_text("forms.today()").wait_for()
    tab.locator("#jp-menu-panel").wait_for()
    code.click()
    tab.locator(".reedlab-page:visible .cm-editor").first.wait_for(state="hidden")
    assert tab.locator(FRAME).locator("visible=true").count() == 0
    assert in_trial.troubles == []


def test_two_tabs_and_the_phone_agree(in_trial: Any) -> None:
    first, second = in_trial.tab, in_trial.tab.context.new_page()
    sent: list[bytes] = []
    first.on("websocket", lambda line: line.on(
        "framesent", lambda said: sent.append(said if isinstance(said, bytes) else said.encode())))
    in_trial.open("today")
    second.set_default_timeout(PATIENCE)
    second.goto(f"{in_trial.address}/lab/tree/today.ipynb?token={TOKEN}")
    shown(second, "Today")
    kernels = [s["kernel"]["id"] for s in asked(in_trial.port, "/api/sessions") if s["path"] == "today.ipynb"]
    assert len(set(kernels)) == 2  # a form is never shared
    for n, (tab, other) in enumerate(((first, second), (second, first))):
        tab.bring_to_front()
        mine = tab.locator(".reedlab-line:visible").nth(n)
        mine.get_by_role("button", name=str(7 - n), exact=True).click()
        mine.get_by_role("button", name=re.compile("^Save")).click()
        mine.get_by_text(f"✓ {7 - n}").wait_for()
        other.locator(".reedlab-line:visible").nth(n).get_by_text(f"✓ {7 - n}").wait_for()
    with Logbook.open(in_trial.folder / "reeds.logbook", read_only=True) as logbook:
        assert logbook.frame("sittings")["overall"].tolist() == [7.0, 6.0]
    # Presses come to the page's one thread: in a thread of their own one would be lost under a page that shows itself
    # anew just then.
    assert any(b"comm_msg" in said for said in sent)
    assert not any(b"create_subshell_request" in said for said in sent)
    assert in_trial.troubles == []


OWN = "import sys\nprint('forms here:', 'reedlab.forms' in sys.modules)"


def test_a_notebook_of_the_player_keeps_its_frame_and_gets_an_ordinary_kernel(in_trial: Any) -> None:
    page = {"cells": [{"cell_type": "code", "id": "one", "execution_count": None, "metadata": {}, "outputs": [],
                       "source": OWN}],
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
            "nbformat": 4, "nbformat_minor": 5}
    (in_trial.folder / "mine.ipynb").write_text(json.dumps(page), encoding="utf8")
    tab = in_trial.tab
    tab.goto(f"{in_trial.address}/lab/tree/mine.ipynb?token={TOKEN}")
    tab.wait_for_function("document.querySelector('.jp-Notebook-ExecutionIndicator[data-status=idle]') !== null")
    tab.locator("#jp-menu-panel").wait_for()
    for _ in range(40):
        tab.locator(".jp-CodeCell .cm-content").first.click()
        tab.keyboard.press("Shift+Enter")
        tab.wait_for_timeout(500)
        if tab.get_by_text("forms here: False").count():
            break
    assert tab.get_by_text("forms here: False").count() == 1
