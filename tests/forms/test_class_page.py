"""The class page as a teacher and pupils use it: plan, deal, play, hand in, paper, one answer."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reedlab import forms
from reedlab.classes.class_plan import class_plan
from reedlab.forms import Book
from reedlab.logbook.class_files import read_plan_file, read_share_file, write_plan_file
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.practice import CAUTIONS

from ._playing import Clock, new_book, said

PLAN = class_plan("wetting", days=8, matters=1.0)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def book(tmp_path: Path, clock: Clock) -> Book:
    return new_book(tmp_path, clock)


def with_reeds(folder: Path, clock: Clock, reeds: int = 6) -> Book:
    """Return a logbook with a box that had its first play, and the class's plan in its folder."""
    (folder / "class").mkdir(parents=True)
    book = new_book(folder, clock)
    with book.writing() as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(
            Reed(reed=f"1-{i:02d}", box="1", first_play=4 + i / 2, remark="mine alone") for i in range(1, reeds + 1))])
    write_plan_file(folder / "class" / "plan.json", PLAN)
    return book


def upload(form: Any, *files: Path) -> None:
    form.files.value = tuple(
        {"name": f.name, "type": "application/json", "size": f.stat().st_size, "content": memoryview(f.read_bytes()),
         "last_modified": datetime.now()} for f in files)


def play(book: Book, trial: str, seed: int) -> None:
    """Play a trial to its end; way 2 is a point better."""
    plan, rng = book.protocols()[trial], np.random.default_rng(seed)
    with book.writing() as logbook:
        logbook.add_many([
            Sitting(date=plan.start + timedelta(days=s.day - 1), reed=s.reed, order=s.order, play_min=10,
                    habit=h.key, remark="hm",
                    overall=round(2 * (5 + (h == plan.habits[1]) + rng.normal(0, 0.5))) / 2)
            for s in plan.slots if (h := plan.habit_for(s.reed, s.day)) is not None])


def handed_in(folder: Path, clock: Clock, code: str, seed: int) -> Path:
    """Go the whole way of one pupil: deal, start, play, hand in."""
    book = with_reeds(folder, clock)
    form = forms.class_deal(book)
    form.plan.put("plan.json")
    form.seed = seed
    form.expected.put("same")
    form.draw.click()
    form.begin.click()
    assert "Started" in said(form), said(form)
    (name,) = book.protocols()
    on, clock.on = clock.on, clock.on + timedelta(days=30)
    play(book, name, seed)
    give = forms.class_hand_in(book)
    give.code.put(code)
    give.save.click()
    assert "Written" in said(give), said(give)
    clock.on = on
    return folder / "class" / f"{code} handed in.json"


def test_a_caution_against_sharing_reeds_stands_at_the_top(book: Book) -> None:
    form = forms.class_files(book)
    assert CAUTIONS["sharing"].text in form.children[1].value
    assert "No pupil yet" in form.seen.value


def test_parts_that_cannot_be_used_yet_say_what_comes_first(book: Book) -> None:
    hand_in, paper, together = forms.class_hand_in(book), forms.class_paper(book), forms.class_together(book)
    assert "Start from the class's plan first" in unescape(hand_in.none.value)
    assert "Make the class's plan first" in unescape(paper.none.value)
    deal = forms.class_deal(book)
    assert "add your teacher's file" in unescape(deal.none.value)
    hidden = (deal.plan, hand_in.rest, paper.new, together.plan, together.once, together.read)
    assert [part.layout.display for part in hidden] == ["none"] * 6


def test_the_teacher_writes_one_plan_with_question_scale_and_length(book: Book) -> None:
    form = forms.class_plan(book)
    assert form.rest.layout.display == "none"
    form.question.put("wetting")
    form.days.value = "many"
    form.save.click()
    assert "Days: wanted a whole number" in said(form)
    form.days.put(8)
    form.matters.put(1.5)
    form.scale[8].put("fit for the hall")
    form.scale[2].put(None)
    form.save.click()
    assert "Hand this file out" in said(form)
    plan = read_plan_file(book.path.parent / "class" / "class plan wetting.json")
    assert (plan.question, plan.days, plan.matters, plan.design) == ("wetting", 8, 1.5, "day_by_day")
    assert dict(plan.scale)[8] == "fit for the hall"
    assert 2 not in dict(plan.scale)
    assert plan.sha256[:12] in form.message.value
    assert not book.exists
    form.save.click()
    assert "there already" in said(form)


def test_the_teachers_own_question_and_words_go_into_the_plan(book: Book) -> None:
    form = forms.class_plan(book)
    form.question.put("own")
    form.save.click()
    assert "effect is still there the next day" in said(form)
    form.words.lasts.put(False)
    form.words.ask.put("Does a warm mouthpiece help?")
    for name, words in zip(form.words.names, ("a cold mouthpiece", "a warm mouthpiece"), strict=True):
        name.put(words)
    form.design.put("day_by_day")
    form.save.click()
    assert "Hand this file out" in said(form), said(form)
    plan = read_plan_file(book.path.parent / "class" / "class plan own.json")
    assert (plan.ask, plan.design, plan.outcome, plan.lasts) == ("Does a warm mouthpiece help?", "day_by_day",
                                                                 "day_rating", False)
    assert {h.name for h in plan.habits} == {"a cold mouthpiece", "a warm mouthpiece"}


def test_a_question_of_ones_own_that_lasts_is_not_asked_day_by_day(book: Book) -> None:
    form = forms.class_plan(book)
    form.question.put("own")
    form.words.lasts.put(True)
    form.words.ask.put("Does sealing the cane help?")
    for name, words in zip(form.words.names, ("a sealed reed", "a bare reed"), strict=True):
        name.put(words)
    form.design.put("day_by_day")
    form.save.click()
    assert "would not give a fair answer" in said(form)
    assert not (book.path.parent / "class").exists()


def test_a_scale_with_too_few_words_or_a_bad_file_name_is_not_written(book: Book) -> None:
    form = forms.class_plan(book)
    form.question.put("wetting")
    for points in (2, 4, 6):
        form.scale[points].put(None)
    form.save.click()
    assert "words for at least 3" in said(form)
    form.name.put("../elsewhere")
    form.save.click()
    assert "Name of the file" in said(form)
    assert not (book.path.parent / "class").exists()


def test_a_pupil_deals_own_reeds_and_hands_in_a_file_without_a_word(tmp_path: Path, clock: Clock) -> None:
    path = handed_in(tmp_path, clock, "P07", 1)
    text = path.read_text(encoding="utf8")
    for word in ("remark", "mine alone", "hm", "2026"):
        assert word not in text
    got = read_share_file(path)
    assert got.code == "P07"
    assert len(got.protocol.reeds) == 4


def test_left_out_reeds_stay_out_and_missing_answers_are_named(tmp_path: Path, clock: Clock) -> None:
    book = with_reeds(tmp_path, clock)
    form = forms.class_deal(book)
    assert form.rest.layout.display == "none"
    form.plan.put("plan.json")
    assert "1 point<" in form.about.value
    for code in ("1-01", "1-02"):
        form.ticks[code].value = False
    form.draw.click()
    assert "Which way do you expect" in said(form)
    form.expected.put("none")
    form.draw.click()
    assert form.draft is not None
    assert not {"1-01", "1-02"} & set(form.draft.protocol.reeds)
    assert form.draft.protocol.expected is None
    assert book.protocols() == {}
    book.tell_forms()  # another form saved something
    assert form.draft is not None
    assert form.frozen.layout.display == ""
    for code in ("1-03", "1-04", "1-05"):
        form.ticks[code].value = False
    form.draw.click()
    assert "would not give a fair answer" in said(form)


def test_a_running_trial_and_a_name_for_a_code_are_not_handed_in(tmp_path: Path, clock: Clock) -> None:
    book = with_reeds(tmp_path, clock)
    deal = forms.class_deal(book)
    deal.plan.put("plan.json")
    deal.expected.put("same")
    deal.draw.click()
    deal.begin.click()
    form = forms.class_hand_in(book)
    form.save.click()
    assert "Code" in said(form)
    form.code.put("P01")
    form.save.click()
    assert "still runs" in said(form)
    form.code.put("Anna")
    form.save.click()
    assert "Never use a name" in said(form)
    assert [p.name for p in (tmp_path / "class").iterdir()] == ["plan.json"]


def test_files_that_were_sent_are_taken_in_and_put_together_into_one_answer(tmp_path: Path, clock: Clock) -> None:
    sent = [handed_in(tmp_path / code, clock, code, seed) for code, seed in (("P01", 1), ("P02", 2), ("P03", 3))]
    book = new_book(tmp_path, clock)
    files = forms.class_files(book)
    together = forms.class_together(book)
    assert "Nothing was handed in yet" in together.files.children[0].value
    upload(files, *sent, tmp_path / "P01" / "class" / "plan.json")
    assert "Taken in: P01, P02, P03 can be compared; 1 plan" in said(files), said(files)
    assert "3 of 3 pupils can be compared" in files.seen.value
    assert together.plan.typed == "plan.json"
    assert len(together.ticks) == 3
    together.read.click()
    assert together.answer is not None, said(together)
    assert [p.label for p in together.answer.together.parts] == ["P01", "P02", "P03"]
    assert "rl-headline" in together.page.value
    together.write.click()
    assert "one page" in said(together)
    page = (tmp_path / "class" / "together.html").read_text(encoding="utf8")
    assert "Never share a reed." in page
    together.ticks["P03 handed in.json"].value = False
    together.ticks["P02 handed in.json"].value = False
    together.read.click()
    assert "at least two" in said(together)
    assert together.page.value == ""


def test_files_of_another_kind_or_changed_ones_are_kept_named_and_not_counted(tmp_path: Path, clock: Clock) -> None:
    good = handed_in(tmp_path / "P01", clock, "P01", 1)
    book = new_book(tmp_path, clock)
    form = forms.class_files(book)
    text = tmp_path / "notes.txt"
    text.write_text("hello")
    changed = tmp_path / "P09.json"
    changed.write_text(json.dumps({**json.loads(good.read_text()), "code": "P09"}))
    upload(form, good, text, changed)
    assert "P01 can be compared" in said(form)
    assert "notes.txt: cannot be opened" in said(form)
    assert "P09: was changed after it was made" in said(form)
    assert sorted(p.name for p in (tmp_path / "class").iterdir()) == [
        "P01 handed in.json", "P09.json", "notes.txt", "roster.json"]
    assert "1 of 2 pupils can be compared" in form.seen.value
    assert "&lt;" not in form.seen.value
    assert "so I cannot use it" in form.seen.value  # the sentence to send to P09
    upload(form, good)  # the same file again does no harm
    assert "P01: the same trial came before" in said(form)
    assert "1 of 2 pupils can be compared" in form.seen.value
    form.again.click()
    together = forms.class_together(book)
    assert list(together.ticks) == ["P01 handed in.json"]
    together.read.click()
    assert "at least two trials that can be compared" in said(together)


def test_a_trial_that_does_not_fit_the_class_is_named(tmp_path: Path, clock: Clock) -> None:
    sent = [handed_in(tmp_path / c, clock, c, s) for c, s in (("P01", 1), ("P02", 2))]
    book = new_book(tmp_path, clock)
    (tmp_path / "class").mkdir()
    write_plan_file(tmp_path / "class" / "other.json", class_plan("wetting", days=8, matters=2.0))
    form = forms.class_files(book)
    upload(form, *sent)
    assert "P01: another plan (its gap that matters is 1.0" in said(form)
    assert "0 of 2 pupils can be compared" in form.seen.value


def test_codes_are_given_out_before_anything_comes_in(tmp_path: Path, clock: Clock) -> None:
    book = new_book(tmp_path, clock)
    form = forms.class_files(book)
    form.pupils.put(0)
    form.give.click()
    assert "whole number from 1 to 60" in said(form)
    form.pupils.put(3)
    form.give.click()
    assert "New codes: P01, P02, P03" in said(form)
    assert "0 of 3 pupils can be compared. P01, P02 and P03 have handed in nothing yet." in form.seen.value
    assert forms.class_paper(book)._suggested == "P01"  # given out, and no logbook yet


def test_the_teacher_sees_what_the_class_can_show_before_the_plan_is_handed_out(book: Book) -> None:
    form = forms.class_plan(book)
    form.question.put("drying")
    form.outcome.put("mean_rating")
    form.each.value = "few"
    form.foretell.click()
    assert "Reeds each pupil has: wanted a whole number" in said(form)
    form.each.put(8)
    form.pupils.put(2)
    form.foretell.click()
    assert "One pupil with 8 reeds" in form.shows.value, said(form)
    assert "2 pupils together" in form.shows.value
    assert not (book.path.parent / "class").exists()


def test_a_pupil_on_paper_is_dealt_typed_in_and_handed_in(tmp_path: Path, clock: Clock) -> None:
    (tmp_path / "class").mkdir()
    write_plan_file(tmp_path / "class" / "plan.json", PLAN)
    book = new_book(tmp_path, clock)
    form = forms.class_paper(book)
    assert form.plan.typed == "plan.json"
    assert form.code.typed == "P01"
    assert form.typing.layout.display == "none"
    form.first.put("6 5.5 x")
    form.make.click()
    assert "Instrument: choose one." in said(form)
    assert "First play: x" in said(form)
    form.instrument.put("clarinet")
    form.first.put("6 5,5 7 4 - 6.5")
    form.start.value = clock()
    form.make.click()
    assert "Dealt for P01" in said(form), said(form)
    assert "P01 week 2.html" in said(form)
    page = (tmp_path / "class" / "P01 week 1.html").read_text(encoding="utf8")
    assert "1-0" in page
    assert form.code.typed == "P02"
    assert form.typing.layout.display == ""
    clock.next(8)
    form.pupil.put("P01")
    (sheet,) = form.sheet.children
    for week in (1, 2):
        sheet.week.put(week)
        for line in sheet.lines:
            if line.planned is not None:
                line.play_min.put(10)
                line.overall.put(6)
        sheet.save.click()
        assert "Saved" in said(sheet), said(sheet)
    form.write.click()
    assert "P01 handed in.json" in said(form), said(form)
    got = read_share_file(tmp_path / "class" / "P01 handed in.json")
    assert len(got.frames.sittings) == len(got.protocol.slots)
    assert got.frames.reeds["first_play"].notna().sum() >= len(got.protocol.reeds) - 1
    form.write.click()
    assert "in the folder already" in said(form)


def test_what_is_typed_into_a_pupils_sheet_stays_when_another_form_saves(tmp_path: Path, clock: Clock) -> None:
    (tmp_path / "class").mkdir()
    write_plan_file(tmp_path / "class" / "plan.json", PLAN)
    book = new_book(tmp_path, clock)
    form = forms.class_paper(book)
    form.instrument.put("clarinet")
    form.first.put("6 5 7 4 6")
    form.start.value = clock()
    form.make.click()
    form.pupil.put("P01")
    form.sheet.children[0].lines[0].play_min.put(12)
    book.tell_forms()
    assert form.pupil.typed == "P01"
    assert form.sheet.children[0].lines[0].play_min.typed == "12"


def test_nothing_is_left_behind_where_a_pupil_on_paper_cannot_be_dealt(tmp_path: Path, clock: Clock) -> None:
    (tmp_path / "class").mkdir()
    write_plan_file(tmp_path / "class" / "plan.json", PLAN)
    form = forms.class_paper(new_book(tmp_path, clock))
    form.instrument.put("clarinet")
    for first, why in (("6 5", "wanted 4 to 50"), ("6 5 7 11", "from 0 to 10"), ("6 5 7 4.2", "by halves")):
        form.first.put(first)
        form.make.click()
        assert why in said(form)
    form.first.put("6 5 7 4 5")
    form.code.put("Anna")
    form.make.click()
    assert "Never use a name" in said(form)
    assert [p.name for p in (tmp_path / "class").iterdir()] == ["plan.json"]


def test_a_code_that_handed_in_already_is_not_given_again(tmp_path: Path, clock: Clock) -> None:
    sent = handed_in(tmp_path / "P01", clock, "P01", 1)
    book = new_book(tmp_path, clock)
    form = forms.class_paper(book)
    assert form.code.typed == "P01"
    upload(forms.class_files(book), sent, tmp_path / "P01" / "class" / "plan.json")
    assert form.code.typed == "P02"
    form.code.put("P01")
    form.instrument.put("clarinet")
    form.first.put("6 5 7 4 5")
    form.make.click()
    assert "P01 handed in a trial already" in said(form)
