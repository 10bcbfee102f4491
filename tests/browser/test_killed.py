"""What runs behind a page is killed while the page opens: it comes all the same, and works."""

from __future__ import annotations

import time
from typing import Any

import pytest

from .conftest import LINK, PATIENCE, SHOWN, asked
from .test_daily_loop import save_line

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def waited_for(found: Any) -> Any:
    """Ask until there is something."""
    until = time.monotonic() + PATIENCE / 1000
    while not (there := found()):
        assert time.monotonic() < until
        time.sleep(0.01)
    return there


def kill_as_it_opens(player: Any, page: str, after_s: float) -> bool:
    """Go to a page, kill what runs behind it so long after there is something, and wait until the page shows.

    Tells whether it showed already when it was killed.
    """
    player.tab.evaluate_handle(f"name => ({LINK})(name)", page).as_element().click()
    kernel = waited_for(lambda: [s["kernel"]["id"] for s in asked(player.port, "/api/sessions")
                                 if s["path"] == f"{page}.ipynb"])[0]
    process = player.behind(kernel)
    time.sleep(after_s)
    process.kill()
    showed = bool(player.tab.evaluate(SHOWN, page))
    waited_for(lambda: another_than(process, player, kernel))
    player.tab.wait_for_function(SHOWN, arg=page, timeout=PATIENCE)
    return showed


def another_than(process: Any, player: Any, kernel: str) -> bool:
    """Tell whether another process stands behind a kernel by now."""
    try:
        return bool(player.behind(kernel).pid != process.pid)
    except StopIteration:
        return False


def says_so(player: Any) -> bool:
    return bool(player.tab.locator(".reedlab-again:visible").count())


def test_a_page_that_is_killed_while_it_opens_comes_all_the_same(in_trial: Any) -> None:
    player = in_trial
    player.open("paper")

    showed = kill_as_it_opens(player, "case", 0.0)
    assert says_so(player) or not showed
    player.tab.get_by_role("button", name="what reeds die of").click()
    player.tab.get_by_text("No reed has left service yet").wait_for()

    showed = kill_as_it_opens(player, "result", 0.25)
    assert says_so(player) or not showed
    player.form("Trial").get_by_text("sealed until").wait_for()

    showed = kill_as_it_opens(player, "today", 0.5)
    assert says_so(player) or not showed
    save_line(player, 0, 7)
    if says_so(player):
        player.tab.locator(".reedlab-again:visible button").click()

    player.kill_kernels()
    player.tab.get_by_text("What you saved is safe").locator("visible=true").wait_for()
    save_line(player, 1, 6)
    assert player.tab.locator(".jp-Dialog").count() == 0
