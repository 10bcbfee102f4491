"""Reeds that change ways, day by day: what Today, the sheets, the calendar and the page of one file say and ask."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.progress import due_cells
from reedlab.cli.now import what_now
from reedlab.errands.papers import write_sheet
from reedlab.handout.away import away_page
from reedlab.handout.calendar import calendar
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.rows.records import Sitting
from reedlab.schedule import schedule, what_to_play
from tests.keeping import keeping
from tests.test_crossover import AFTER, START, drawn


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Any]:
    yield from keeping(tmp_path, drawn, 10)


def test_today_says_each_reeds_way_and_announces_the_change(kept: Any) -> None:
    one = kept()
    plan = one.plan
    for day, words in ((1, "From today on keep each reed in its way."), (15, "every reed changes to its other way.")):
        page = one.shown(day)
        assert not page.lines
        announced = next(m for m in page.messages if words in m)
        for h in plan.habits:
            mine = [r for r in plan.reeds if plan.habit_for(r, day) == h]
            assert f"{h.name}: {', '.join(mine)}" in announced
        assert any(f"Nothing is rated up to day {day + 2}" in m for m in page.messages)
    for day in (min(s.day for s in plan.slots), min(s.day for s in plan.slots if s.day > 14)):
        lines = one.shown(day).lines
        assert lines
        assert all(x.planned.key == plan.habit_for(x.reed, day).key for x in lines)
        assert not any("changes" in m for m in one.shown(day).messages)
    said = what_now({plan.trial: plan}, one.book.frames(), one.turn_to(15))
    assert any("every reed changes to its other way" in line for line in said)


def test_a_rating_missed_is_made_up_only_before_the_change(kept: Any) -> None:
    one = kept()
    last = max(s.day for s in one.plan.slots if s.day <= 14)
    for s in one.plan.slots:
        if s.day < last:
            one.book.add(Sitting(date=one.turn_to(s.day), reed=s.reed, play_min=10, overall=7.0))
    frames = one.book.frames()
    for day in range(15, 19):
        due = {x.reed for x in what_to_play(one.plan, frames, one.turn_to(day)).owed}
        assert due == {s.reed for s in one.plan.slots if s.day == day}
    early = one.plan.slots[0]
    rows = frames.sittings[~((frames.sittings["reed"] == early.reed) & (
        frames.sittings["date"] == pd.Timestamp(START + timedelta(days=early.day - 1))))]
    trial = blind(one.plan, type(frames).trusted(**{**vars(frames), "sittings": rows}))
    assert (early.reed, early.day) not in due_cells(trial, AFTER)[1]


def test_a_helper_hides_the_ways_and_their_change(kept: Any, tmp_path: Path) -> None:
    one = kept(masked="helper")
    page = one.shown(15)
    text = " ".join(page.messages)
    assert "your helper keeps every reed the other way" in text
    assert not any(h.name in text for h in one.plan.habits)
    mine, theirs = tmp_path / "mine.html", tmp_path / "theirs.html"
    write_sheet(one.book, mine, today=one.turn_to(15))
    write_sheet(one.book, theirs, today=one.turn_to(15), for_helper=True)
    assert not any(h.name in mine.read_text(encoding="utf8") for h in one.plan.habits)
    assert "changes to its other way" in theirs.read_text(encoding="utf8")


def test_the_change_stands_on_the_sheet_in_the_calendar_and_on_the_page_of_one_file(kept: Any, tmp_path: Path) -> None:
    one = kept()
    on = one.turn_to(15)
    write_sheet(one.book, tmp_path / "sheet.html", today=on)
    assert "From today on every reed changes to its other way" in (tmp_path / "sheet.html").read_text(encoding="utf8")
    days = schedule(one.plan, one.book.frames(), today=on).days
    page = away_page(one.plan, days, one.plan.reeds, made=on)
    assert "From today on every reed changes to its other way" in page
    book = calendar(one.plan, days, stamp=one.now).decode().replace("\r\n ", "")
    assert "changes to its other way" in book


def test_a_folder_of_it_goes_out_and_in_again_with_the_same_plan(kept: Any, tmp_path: Path) -> None:
    one = kept()
    export_folder(one.book, tmp_path / "out")
    with Logbook.create(tmp_path / "again.logbook", now=lambda: one.now) as again:
        import_folder(tmp_path / "out", again)
        assert again.protocols(again.frames()) == {one.plan.trial: one.plan}
