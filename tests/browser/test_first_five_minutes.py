"""A new player, no terminal, no code: from the start page to the first reed saved and read back."""

from __future__ import annotations

import time
from typing import Any

import pytest

from reedlab.logbook import Logbook

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_first_reed_is_saved_and_read_back_within_five_minutes(player: Any) -> None:
    begun = time.monotonic()
    tab = player.tab
    player.open("start")
    assert tab.locator(".jp-LabShell").get_attribute("data-shell-mode") == "single-document"
    assert tab.locator(".jp-Dialog").count() == 0
    assert tab.locator(".reedlab-page .jp-CodeCell .cm-editor:visible").count() == 0
    assert "Your logbook is still empty" in player.form("logbook").inner_text()

    tab.get_by_role("link", name="I have new reeds").click()
    box = player.form("Save the box")
    box.get_by_label("Instrument").select_option("Clarinet")
    box.get_by_role("button", name="Save the box").click()
    box.get_by_text("Saved: box 1 with 10 reeds").wait_for()

    first = player.form("Now play 1-")
    first.get_by_role("button", name="Save this reed").click()
    first.get_by_text("Not saved yet").wait_for()
    first.get_by_role("button", name="7", exact=True).click()
    first.get_by_label("Stiffness").select_option("0 just right")
    first.get_by_role("button", name="Save this reed").click()
    first.get_by_text("Saved. This now stands in your logbook").wait_for()
    took = time.monotonic() - begun

    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        rated = logbook.frame("reeds").dropna(subset=["first_play"])
    assert list(rated["first_play"]) == [7.0]
    assert rated["reed"].iloc[0] in first.inner_text()
    assert took < 300
    assert player.troubles == []
