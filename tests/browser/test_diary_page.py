"""A diary in German habits of dates and commas, taken in on the page by clicks alone."""

from __future__ import annotations

import os
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab.logbook import Logbook

from ..errands._diaries import csv
from ..errands._twelve import SHAPES

pytestmark = [pytest.mark.browser, pytest.mark.slow]

DIARY = csv("Datum;Blatt;Minuten;Note;Wässern;Bemerkung", "03.02.2026;1-01;25;2,5;Wasser;hell",
            "04.02.2026;1-02;30;1;Mund;", "05.02.2026;1-01;20;3;wasser;müde", "06.02.2026;1-02;;2;Mund;vergessen")


def shot(player: Any, name: str) -> None:
    """Keep a picture where a folder for pictures is named."""
    if folder := os.environ.get("REEDLAB_PICTURES"):
        form = player.form("Any table of what you played")
        form.screenshot(path=str(Path(folder) / name))


def choose(player: Any, form: Any, file: Path) -> None:
    with player.tab.expect_file_chooser() as chooser:
        form.get_by_role("button", name=re.compile(r"Choose the file( \(1\))?$")).click()  # never a count of none
    chooser.value.set_files(file)


def test_it_is_taken_in_by_clicks_alone(player: Any, tmp_path: Path) -> None:
    player.day(date(2026, 6, 30))
    file = tmp_path / "Tagebuch.csv"
    file.write_bytes(DIARY)
    player.open("plan")
    player.tab.get_by_role("button", name="What you wrote down elsewhere").click()
    form = player.form("Any table of what you played")
    choose(player, form, file)
    form.get_by_text("What only you can say").wait_for()
    shot(player, "diary-asked.png")
    form.get_by_label("In which order").select_option("day, month, year: 03.02.2026 is 2026-02-03")
    form.get_by_label("What is it about?").select_option("Water or mouth")
    form.get_by_label("“wasser”").select_option("wetting in water")
    form.get_by_label("“mund”").select_option("wetting in the mouth")
    form.get_by_label("For which instrument").select_option("clarinet")
    form.get_by_role("button", name="Look at it so").click()
    form.get_by_text("Skip row 5: no minutes").wait_for()
    assert form.get_by_text("Ratings are stretched to 0 to 10: 6 → 0, 5 → 2").count() == 1
    assert player.too_small() == []
    assert player.cut_off() == []
    assert player.faint() == []
    shot(player, "diary-odd.png")
    form.get_by_label("Skip row 5: no minutes").check()
    form.get_by_role("button", name="Look at it so").click()
    form.get_by_role("button", name="Take it into my logbook").click()
    form.get_by_text("Taken in: 3 entries. 2 reeds are new.").wait_for()
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        assert list(logbook.frame("sittings")["overall"]) == [7, 10, 6]
    assert player.troubles == []
    player.tab.set_viewport_size({"width": 390, "height": 844})
    choose(player, form, file)
    form.get_by_role("button", name="Take it into my logbook").wait_for()
    shot(player, "diary-phone.png")
    assert player.too_wide() == []


def test_a_column_for_each_reed_and_the_copy_of_next_month_that_needs_no_answer(player: Any, tmp_path: Path) -> None:
    player.day(date(2026, 6, 30))
    shape = SHAPES["a column for each reed"]
    file = tmp_path / shape.file
    file.write_bytes(shape.content)
    player.open("plan")
    player.tab.get_by_role("button", name="What you wrote down elsewhere").click()
    form = player.form("Any table of what you played")
    choose(player, form, file)
    form.get_by_label("No column says how long").fill("15")
    form.get_by_label("For which instrument").select_option("clarinet")
    form.get_by_role("button", name="Look at it so").click()
    form.get_by_role("button", name="Take it into my logbook").click()
    form.get_by_text("Taken in: 6 entries. 3 reeds are new.").wait_for()
    file.write_bytes(shape.grown)
    choose(player, form, file)
    form.get_by_role("button", name="Take it into my logbook").click()
    form.get_by_text("Taken in: 2 entries. 6 were in the logbook already. 1 reed is new.").wait_for()
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        assert sorted(logbook.frame("sittings")["overall"]) == [0, 4, 5.5, 6, 7, 8, 9, 10]
    assert player.troubles == []
