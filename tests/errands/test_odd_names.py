"""Odd names of ways and trials from the logbook to every file and page, and back again."""

from __future__ import annotations

import filecmp
import json
import re
from dataclasses import replace
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import ipywidgets as w
import openpyxl
import pytest

from reedlab import forms
from reedlab.classes.class_plan import ClassPlan, class_plan
from reedlab.classes.hand_in import read_shared, share
from reedlab.errands.away import read_away, write_away
from reedlab.errands.class_steps import put_together
from reedlab.errands.hand_on import opened_trial, write_copy
from reedlab.errands.papers import write_calendar, write_sheet, write_spreadsheet
from reedlab.errands.read_trial import read_trial
from reedlab.folder.clock import TODAY_FILE
from reedlab.forms import Book
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.logbook.workbook_out import export_workbook
from reedlab.phone.pages import day_page
from reedlab.phone.work import Work
from reedlab.questions import own_question
from reedlab.rows.records import Sitting
from reedlab.summary.names import spoken
from reedlab.trial.protocol import Habit
from tests.odd_names import ODD, in_a_row, raw_tags, words_of

from ..classes.test_hand_in import pupil
from ._away import PLAN, START, begun, handed, opened, sitting

pytestmark = pytest.mark.slow

LAST = START + timedelta(days=20)


def title(name: str) -> str:
    """The name as a trial may be called: in one line, of at most 60 characters."""
    return in_a_row(name)[:60].strip()


def book(folder: Path, name: str) -> Path:
    """A logbook with a trial of this name and a way of this name, and its first two days."""
    case, other = PLAN.habits
    plan = replace(PLAN, trial=title(name), ask=f"{title(name)}?", habits=(replace(case, name=name, steps=name), other))
    path = begun(folder / "reeds.logbook", plan=plan)
    with opened(path, START + timedelta(days=1)) as logbook:
        ways = dict(zip((u.unit for u in plan.units), plan.dealt, strict=True))
        logbook.add_many([
            Sitting(date=START + timedelta(days=s.day - 1), reed=s.reed, play_min=10, overall=5 + s.order,
                    order=s.order, habit=ways[s.reed], remark=title(name))
            for s in plan.slots if s.day <= 2])
    return path


def same_files(one: Path, two: Path) -> bool:
    found = filecmp.dircmp(one, two)
    return not (found.left_only or found.right_only or found.diff_files or found.funny_files) and all(
        same_files(one / d, two / d) for d in found.common_dirs)


@pytest.mark.parametrize("name", ODD)
def test_folder_and_workbook_come_back_just_as_they_went(name: str, tmp_path: Path) -> None:
    with Logbook.open(book(tmp_path, name), read_only=True) as logbook:
        export_folder(logbook, tmp_path / "out")
        export_workbook(logbook, tmp_path / "out.xlsx")
    for source in (tmp_path / "out", tmp_path / "out.xlsx"):
        back = tmp_path / f"back from {source.name}"
        with Logbook.create(tmp_path / f"{source.name}.logbook") as logbook:
            import_folder(source, logbook)
            plan = logbook.protocol(title(name))
            assert plan.habits[0].name == name
            assert set(logbook.frame("sittings")["remark"].dropna()) == {title(name)}
            export_folder(logbook, back)
        assert same_files(tmp_path / "out", back)


@pytest.mark.parametrize("name", ODD)
def test_papers_are_written_and_what_comes_back_on_them_is_read_in(name: str, tmp_path: Path) -> None:
    on = START + timedelta(days=2)
    with opened(book(tmp_path, name), on) as logbook:
        write_sheet(logbook, tmp_path / "sheet.html", today=on)
        write_calendar(logbook, tmp_path / "plan.ics", today=on, stamp=datetime(2026, 3, 11).astimezone())
        write_spreadsheet(logbook, tmp_path / "fill.xlsx", today=on, weeks=1)
        write_away(logbook, tmp_path / "away.html", today=on)
        assert raw_tags((tmp_path / "away.html").read_text(encoding="utf8")) == []
        help_ = openpyxl.load_workbook(tmp_path / "fill.xlsx")["help"]
        assert any(in_a_row(name) in in_a_row(str(c.value)) for c in help_["A"])
        plan = logbook.protocol(title(name))
        back = handed([sitting(1, on, "1-03"), sitting(2, on, "1-04", remark=title(name))], trial=title(name),
                      plan=plan.sha256)
        assert read_away(logbook, back).added == 2
        assert logbook.frame("sittings")["remark"].dropna().iloc[-1] == title(name)


@pytest.mark.parametrize("name", ODD)
def test_the_phone_shows_the_name_whole_and_as_text(name: str, tmp_path: Path) -> None:
    path = book(tmp_path, name)
    for day in (1, 2):
        (path.parent / TODAY_FILE).write_text((START + timedelta(days=day)).isoformat(), encoding="utf8")
        page = day_page(Work(tmp_path).show(), nonce="n", token="t", book="b")
        assert raw_tags(page) == []
        assert in_a_row(name).casefold() in words_of(page).casefold()


def shown(view: Any) -> str:
    """All HTML that a form shows."""
    parts = [str(view.value)] if isinstance(view, w.HTML) else []
    return " ".join([*parts, *(shown(c) for c in getattr(view, "children", ()))])


@pytest.mark.parametrize("name", ODD)
def test_the_pages_show_the_name_as_text(name: str, tmp_path: Path) -> None:
    path = book(tmp_path, name)
    here = Book(path, lambda: START + timedelta(days=2))
    seen = {what: shown(getattr(forms, what)(here)) for what in ("today", "case", "start", "paper", "plan")}
    for what, page in seen.items():
        assert raw_tags(page) == [], what
    assert in_a_row(name).casefold() in words_of(seen["today"]).casefold()
    assert in_a_row(title(name)) in words_of(seen["start"] + seen["today"])


@pytest.mark.parametrize("name", ODD)
def test_the_copy_of_a_trial_gives_the_same_answer(name: str, tmp_path: Path) -> None:
    with opened(book(tmp_path, name), LAST) as logbook:
        said = read_trial(logbook, title(name), today=LAST)
        path = write_copy(logbook, None, tmp_path / "copy.json", today=LAST)
    with opened_trial(path) as copy:
        again = read_trial(copy, title(name), today=LAST)
    assert again.to_text(full=True) == said.to_text(full=True)
    assert spoken(name) in in_a_row(said.to_text(10_000, full=True))


def class_with(name: str) -> ClassPlan:
    question = own_question(f"Does “{title(name)}” help?", Habit("mouth", name, name), Habit("water", "a long soak"),
                            lasts=False)
    return class_plan(question, days=10, matters=1.0)


@pytest.mark.parametrize("name", ODD)
def test_a_class_plan_and_what_is_handed_in_hold_the_name_once_and_the_answer_tells_it(
        name: str, tmp_path: Path) -> None:
    plan = class_with(name)
    again = ClassPlan.from_json(plan.to_json())
    assert (again, again.sha256, again.habits[0].name) == (plan, plan.sha256, name)
    contents = [share(*pupil(seed, plan=plan)[:2], f"P{seed:02d}", today=pupil(seed, plan=plan)[2]) for seed in (1, 2)]
    for content in contents:  # no words of anybody's go out
        assert name in ("no", "None", "nan", "A", "B", "it", "water") or in_a_row(name) not in unescape(
            json.dumps(content, ensure_ascii=False))
    answer = put_together([read_shared(c) for c in contents], again)
    page = answer.to_html()
    assert raw_tags(page) == []
    assert spoken(name) in words_of(page)
    assert not re.search(r"\.\.", words_of(page).replace(in_a_row(name), ""))
