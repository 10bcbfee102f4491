"""A standing trial in the browser: its page of one file away from home, and its paper sheet typed back."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.errands.away import read_away, write_away
from reedlab.logbook import Logbook

from ..errands._away import opened
from ..plan.test_standing import START, drawn, filled
from .conftest import FAINT, TOO_SMALL, TOO_WIDE
from .test_away_page import away, show

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def begun(path: Path) -> Path:
    with filled(path) as logbook:
        logbook.start_trial(drawn(logbook, trial="R").protocol)
    return path


def test_its_page_of_one_file_takes_minutes_and_ends_and_no_rating(chromium: Any, tmp_path: Path) -> None:
    begun(tmp_path / "reeds.logbook")
    with opened(tmp_path / "reeds.logbook", START) as logbook:
        page = write_away(logbook, tmp_path / "away.html", today=START).path
    troubles: list[str] = []
    with away(chromium, tmp_path / "profile", accept_downloads=True) as context:
        tab = show(context, page, START + timedelta(days=2), troubles)
        lines = tab.locator("#lines > details")
        assert lines.count() == 9
        assert "min" not in lines.first.locator("summary").first.inner_text()  # nothing is owed
        for reed, minutes, ended in (("1-01", "35", ""), ("1-04", "20", "Worn out"),
                                     ("1-06", "", "Chipped or cracked")):
            line = lines.filter(has=tab.locator("summary b", has_text=reed))
            if line.get_attribute("open") is None:
                line.locator("summary").first.click()
            assert not line.get_by_role("radio").first.is_visible()
            line.get_by_label("Minutes").fill(minutes)
            if ended:
                line.get_by_text("Something else?").click()
                line.get_by_label("Is this reed done for?").select_option(ended)
            line.get_by_role("button", name="Save", exact=True).click()
            assert reed in tab.locator("#said").inner_text()
        for fault in (TOO_SMALL, TOO_WIDE, FAINT):
            assert tab.evaluate(fault) == []
        tab.get_by_role("button", name="Make the file to hand back").click()
        with tab.expect_download() as saved:
            tab.get_by_role("link", name="Save the file").click()
        saved.value.save_as(tmp_path / "back.json")
    assert troubles == []
    with opened(tmp_path / "reeds.logbook", date(2026, 9, 4)) as logbook:
        logbook.open_box("R", [f"2-{i:02d}" for i in range(1, 9)], date(2026, 9, 1))  # read in late, after a new box
        text = (tmp_path / "back.json").read_text(encoding="utf8")
        assert read_away(logbook, text).added == 4
        assert read_away(logbook, text).added == 0
        plan, frames = logbook.protocol("R"), logbook.frames()
        assert logbook.check() == []
    assert {(r.reed, r.play_min, r.habit) for r in frames.sittings.itertuples()} == {
        (reed, minutes, plan.habit_for(reed, 1).key) for reed, minutes in (("1-01", 35.0), ("1-04", 20.0))}  # type: ignore[union-attr]
    assert dict(zip(frames.retirements["reed"], frames.retirements["reason"], strict=True)) == {
        "1-04": "worn_out", "1-06": "damaged"}


@pytest.mark.parametrize("width", [1280, 390])
def test_its_paper_sheet_is_typed_back(player: Any, width: int) -> None:
    player.day(START + timedelta(days=6))
    begun(player.folder / "reeds.logbook").chmod(0o600)
    player.tab.set_viewport_size({"width": width, "height": 900})
    player.open("paper")
    form = player.form("Type in a filled sheet")
    form.get_by_role("button", name="Type in a filled sheet").click()
    form.get_by_label("Mon 2").first.fill("40")
    form.get_by_label("Sun 8").nth(1).fill("25")
    form.get_by_label("Done?").nth(1).select_option("Worn out")
    assert player.too_small() == []
    assert player.too_wide() == []
    assert player.cut_off() == []
    assert player.faint() == []
    form.get_by_role("button", name="Save the sheet").click()
    form.get_by_text("Saved: 2 rows and 1 reed done.").wait_for()
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        frames = logbook.frames()
    assert list(zip(frames.sittings["reed"], frames.sittings["play_min"], strict=True)) == [("1-01", 40), ("1-02", 25)]
    assert list(frames.retirements["reed"]) == ["1-02"]
    assert player.outside == []
    assert player.troubles == []
