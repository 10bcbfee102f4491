"""Odd names of ways and trials on everything that is handed out: sheets, calendar, the page of one file, labels."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
import vobject

from reedlab.handout.away import away_page
from reedlab.handout.labels import labels
from reedlab.handout.sheet import sheet
from reedlab.handout.standing_sheet import standing_sheet
from reedlab.handout.week import week_of
from reedlab.schedule import schedule
from reedlab.trial.protocol import Habit
from tests.odd_names import ODD, in_a_row, raw_tags, words_of

from ..schedule.test_in_service import LATE, ON, frames
from ._plans import REEDS, START, a_logbook, a_plan
from .test_calendar import events, made


def named(name: str, steps: str = "Do it.") -> tuple[Habit, Habit]:
    return Habit("case", name, steps), Habit("open", "a long soak", "Wait.")


def capital(name: str) -> str:
    shown = in_a_row(name)
    return shown[:1].upper() + shown[1:]


@pytest.mark.parametrize("name", ODD)
def test_sheets_show_the_name_whole_and_as_text(name: str) -> None:
    plan = a_plan(trial=name, habits=named(name))
    first, second = LATE.habits
    late = replace(LATE, trial=name, habits=(replace(first, name=name, steps="Do it."), second))
    for page in (sheet(plan, week_of(plan, a_logbook(), today=START)),
                 standing_sheet(late, week_of(late, frames(late), today=ON))):
        words = words_of(page)
        assert raw_tags(page) == []
        assert words.startswith(in_a_row(name))
        ended = "" if in_a_row(name)[-1] in ".?!…" else "."
        assert f"{capital(name)}{ended} Do it." in words
        rows = words.partition("Remark")[2]
        assert rows.count(in_a_row(name)) >= 2


@pytest.mark.parametrize("name", ODD)
def test_the_calendar_holds_the_name_and_both_parsers_read_it(name: str) -> None:
    text = made(a_plan(trial=name, habits=named(name)))
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    found = [str(e["description"]).split("\n") for e in events(text).values()]
    first = next(lines for lines in found if "day 1 of 10" in lines[0])
    assert first[:3] == [f"{in_a_row(name)}, day 1 of 10", f"1. 2-01: 10 min, {in_a_row(name)}",
                         "2. 2-02: 10 min, a long soak"]
    others = [e.description.value.split("\n") for e in vobject.readOne(text.decode()).vevent_list]
    assert sorted(others) == sorted(found)


@pytest.mark.parametrize("name", ODD)
def test_the_page_of_one_file_holds_the_name_as_text(name: str) -> None:
    plan = a_plan(trial=name, habits=named(name))
    page = away_page(plan, schedule(plan, a_logbook(), today=START).days, REEDS, code="P07", made=START)
    assert raw_tags(page) == []
    held = re.search(r'<script type="application/json" id="plan">(.*?)</script>', page, re.DOTALL)
    assert held is not None
    data = json.loads(held[1])
    assert data["head"]["trial"] == in_a_row(name)
    assert data["days"][0]["lines"][0]["way"] == capital(name)
    assert in_a_row(name) in words_of(page)


@pytest.mark.parametrize("code", ["Ä-1", "&amp-01", "<b>-01", "リード-02", "{x}-03", "x" * 12 + "-123", "%s-1", "'-1"])
def test_odd_codes_of_reeds_stand_on_labels_as_text(code: str) -> None:
    page = labels([code])
    assert words_of(page).endswith(code)
    assert "<b>" not in page


