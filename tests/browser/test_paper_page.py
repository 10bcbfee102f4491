"""The page for paper in the browser: a sheet made, opened in a new tab as it prints, and typed back in."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)
REEDS = ("1-01", "1-02", "1-03", "1-04")


def test_sheet_opens_in_a_new_tab_and_what_was_pencilled_in_is_typed_back(player: Any) -> None:
    player.day(START)
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1", first_play=6) for r in REEDS)])
        logbook.start_trial(Protocol(
            trial="Open or not", question="drying", ask="?", instrument="clarinet",
            habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
            design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
            units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
            dealt=("case", "open", "open", "case"), scale=((2, "a duck"), (6, "all right"), (10, "a dream")),
            slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2))
    player.open("paper")
    form = player.form("For the music stand")
    form.get_by_role("button", name="Make the week's sheet").click()
    link = form.get_by_role("link", name="Open it in a new tab")
    link.wait_for()
    assert (player.folder / "sheet-open-or-not-week-1.html").is_file()
    with player.tab.context.expect_page() as opened:
        link.click()
    page = opened.value
    page.get_by_text("a duck").wait_for()
    assert page.get_by_text("week 1 of 2").count() == 1
    page.close()
    form.get_by_role("button", name="To fill in anywhere").click()
    form.get_by_role("button", name="Make a spreadsheet to fill in").click()
    with player.tab.expect_download() as saved:
        form.get_by_role("link", name="Save a copy elsewhere").click()
    assert saved.value.suggested_filename == "fill-in-2026-03-09.xlsx"
    assert player.too_small() == []
    assert player.cut_off() == []
    assert player.faint() == []

    typed = player.form("Type in a filled sheet")
    typed.get_by_role("button", name="Type in a filled sheet").click()
    typed.get_by_text("2 a duck · 6 all right · 10 a dream").wait_for()
    typed.get_by_label("Minutes").first.fill("12")
    typed.get_by_label("Overall", exact=True).first.fill("7,5")
    typed.get_by_role("button", name="Save the sheet").click()
    typed.get_by_text("Saved: 1 row.").wait_for()
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        (row,) = logbook.frame("sittings").to_dict("records")
    assert (row["reed"], row["play_min"], row["overall"], row["order"]) == ("1-03", 12.0, 7.5, 1)
    assert player.outside == []
    assert player.troubles == []
