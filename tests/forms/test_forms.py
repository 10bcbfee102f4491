"""The forms, used as a player would: what they refuse, ask, save and read back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from markupsafe import escape

from reedlab import forms
from reedlab.errands.handed import read_copy
from reedlab.errands.read_trial import read_trial
from reedlab.errors import LogbookError
from reedlab.folder.filing import named_after
from reedlab.forms import Book

from . import _playing as playing

said = playing.said


@pytest.mark.parametrize("name", ["start", "boxes", "setup", "first_play", "plan", "today", "day", "retire", "end",
                                  "worked_on"])
def test_every_form_opens_on_an_empty_folder_without_writing(name: str, book: Book) -> None:
    form = getattr(forms, name)(book)
    assert said(form) == ""
    assert not book.exists


def test_rehearsal_needs_no_rating_and_is_no_breach(in_trial: Book) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.where.put("rehearsal")
    form.entry.play_min.put(50)
    form.save.click()
    assert "Saved" in said(form)


def test_the_air_of_a_day_is_kept_when_it_turns_out_not_to_be_played(book: Book, clock: Any) -> None:
    form = forms.day(book)
    form.save.click()
    assert "Nothing to save yet" in said(form)
    form.humidity.value = "45"
    form.temp.value = "20,5"
    form.save.click()
    forms.not_playing(book).save.click()
    row = book.frames().days.iloc[0]
    assert (row["humidity_pct"], row["temp_c"], bool(row["day_off"])) == (45, 20.5, True)


def test_not_playing_today_moves_the_trial_along_and_says_so(in_trial: Book, clock: Any) -> None:
    form = forms.not_playing(in_trial)
    assert "moves along by 1 day" in form.means.value
    form.save.click()
    assert "Saved: not playing on" in said(form)
    assert "moves along by 1 day" in said(form)
    assert in_trial.frames().days["pause"].tolist() == [True]
    assert "not playing today" in forms.today(in_trial).head.value
    form.save.click()  # twice is once
    assert len(in_trial.frames().days) == 1


def test_a_day_with_an_entry_keeps_its_number_and_what_is_missed_is_told(in_trial: Book, clock: Any) -> None:
    page = forms.today(in_trial)
    page.lines[0].overall.put(6)
    page.lines[0].save.click()
    form = forms.not_playing(in_trial)
    assert "made up on the days after" in form.means.value or "cannot be made up" in form.means.value
    form.save.click()
    row = in_trial.frames().days.iloc[0]
    assert (bool(row["day_off"]), bool(row["pause"])) == (True, False)


def test_days_away_to_come_can_be_taken_back_but_not_those_gone_by(in_trial: Book, clock: Any) -> None:
    form = forms.not_playing(in_trial)
    form.how.put("until")
    form.save.click()
    assert "first and the last day" in said(form)
    form.first.value, form.last.value = clock.on, clock.on + timedelta(days=2)
    form.save.click()
    clock.next()
    form.refresh()
    form.back.click()
    assert "Choose the days" in said(form)
    form.spells.put((clock.on, clock.on + timedelta(days=1)))
    form.back.click()
    assert "after all" in said(form)
    assert in_trial.frames().days["pause"].tolist() == [True, False]  # of the last, to come, nothing is left to say


def test_reed_leaves_service_with_a_reason_and_can_come_back(in_trial: Book) -> None:
    form = forms.retire(in_trial)
    form.reed.put("1-03")
    form.save.click()
    assert "Why" in said(form)
    form.reason.put("damaged")
    form.save.click()
    assert "Chipped or cracked" in said(form)
    assert in_trial.frames().retirements["reed"].tolist() == ["1-03"]
    form.back_pick.put(int(in_trial.frames().retirements["entry_id"].iloc[0]))
    form.back.click()
    assert len(in_trial.frames().retirements) == 0


def test_worked_on_reed_is_flagged_and_a_second_day_is_asked_about(in_trial: Book, clock: Any) -> None:
    form = forms.worked_on(in_trial)
    form.reed.put("1-02")
    form.save.click()
    assert "Saved" in said(form)
    form.reed.put("1-02")
    form.save.click()
    assert "flagged already" in said(form)
    reeds = in_trial.frames().reeds.set_index("reed")
    assert reeds.loc["1-02", "worked_on"].date() == clock.on
    assert reeds["worked_on"].notna().sum() == 1


def test_trial_ends_by_hand_only_with_a_reason_and_a_second_yes(in_trial: Book) -> None:
    form = forms.end(in_trial)
    (name,) = in_trial.protocols()
    form.trial.put(name)
    form.save.click()
    assert "Why" in said(form)
    form.why.put("the case was lost")
    form.save.click()
    assert in_trial.frames().trials["ended"].isna().all()
    form._yes.click()
    assert in_trial.frames().trials["ended_why"].tolist() == ["the case was lost"]
    assert "No trial is running" in forms.today(in_trial).foot.value


def test_forms_of_a_page_follow_what_another_page_wrote(in_trial: Book, clock: Any) -> None:
    form = forms.today(in_trial)
    form.lines[2].overall.put(4)
    other = forms.today(Book.here(in_trial.path, clock))
    other.lines[0].overall.put(6)
    other.lines[0].save.click()
    assert "0 of 56" in form.foot.value
    forms.bring_up_to_date()
    assert "1 of 56" in form.foot.value
    assert "✓ 6" in form.lines[0].head.value
    assert form.lines[2].overall.typed == 4  # typed, not saved


def test_new_day_moves_an_untouched_page_on_and_a_typed_rating_keeps_its_day(in_trial: Book, clock: Any) -> None:
    form = forms.today(in_trial)
    form.lines[0].overall.put(6)
    begun = clock.on
    clock.next()
    forms.bring_up_to_date()
    assert "day 1 of" in form.head.value
    form.lines[0].save.click()
    assert playing.sittings(in_trial)["date"].dt.date.tolist() == [begun]
    assert "day 2 of" in form.head.value


def test_result_offers_the_invented_example_and_keeps_a_running_trial_sealed(in_trial: Book) -> None:
    form = forms.result(in_trial)
    (name,) = in_trial.protocols()
    assert form.pick.typed == ("own", name)
    assert "sealed" in form.page.value
    assert any("Example (invented)" in text for text, _ in form.pick.options)
    form.early.click()
    assert "Say in a few words why" in said(form)
    form.why.put("a lesson tomorrow")
    form.early.click()
    assert len(in_trial.frames().looks) == 0
    form._yes.click()
    form._yes.click()  # asked once: a second press opens nothing twice
    assert in_trial.frames().looks["why"].tolist() == ["a lesson tomorrow"]
    assert "sealed until" not in form.page.value
    assert "Your logbook keeps this early look" in said(form)


def test_an_answer_is_written_as_a_page_a_report_and_a_copy_that_gives_it_again(in_trial: Book) -> None:
    form = forms.result(in_trial)
    (name,) = in_trial.protocols()
    form.code.put("P07")
    for pressed in form.papers.values():
        pressed.click()
        assert "Made: " in said(form)
    folder = in_trial.path.parent
    for kind in ("answer", "report"):
        assert "Player P07. Read on" in (folder / f"{kind}-{named_after(name)}.html").read_text(encoding="utf8")
    handed = read_copy(folder / f"trial-{named_after(name)}.json")
    assert (handed.name, handed.player) == (name, "P07")
    assert str(escape(read_trial(handed, today=in_trial.today(), opinions=False).headline)) in form.page.value


def test_whatever_breaks_is_shown_on_the_form_with_nothing_lost(in_trial: Book,
                                                                monkeypatch: pytest.MonkeyPatch) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.overall.put(6)
    fail: Callable[..., Any] = lambda *a, **k: (_ for _ in ()).throw(RuntimeError("disk <gone>"))  # noqa: E731
    monkeypatch.setattr("reedlab.logbook.Logbook.add", fail)
    form.save.click()
    assert "not your fault" in said(form)
    assert "<gone>" not in form.message.value
    assert form.entry.overall.typed == 6


def test_logbook_in_use_is_said_in_plain_words(in_trial: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    form = playing.entry_sheet(in_trial)
    form.entry.overall.put(6)

    def busy(*_: object, **__: object) -> int:
        raise LogbookError("The logbook is in use by another program. Close it and save again.")

    monkeypatch.setattr("reedlab.logbook.Logbook.add", busy)
    form.save.click()
    assert "in use by another program" in said(form)


def test_what_the_player_typed_is_escaped(book: Book, clock: Any) -> None:
    playing.add_box(book, reeds=2, name="<b>x")
    assert "<b>x" not in forms.first_play(book).turn.value


def test_start_of_an_empty_folder_is_three_steps_with_the_first_as_the_button(book: Book) -> None:
    page = forms.start(book).state.value
    assert page.count("<li>") == 3
    assert page.count("reedlab-go") == 1
    assert 'class="reedlab-go" href="plan.ipynb"' in page


def test_start_page_of_a_running_trial_has_the_days_reeds_and_the_button_to_today(in_trial: Book) -> None:
    form = forms.start(in_trial)
    due = [x.reed for x in forms.today(in_trial).lines]
    assert f"To play today: {', '.join(due)}" in form.state.value
    assert 'class="reedlab-go" href="today.ipynb"' in form.state.value
    assert "reeds.logbook" in form.where.value


def test_start_page_after_the_end_says_the_answer(in_trial: Book, clock: Any) -> None:
    clock.next(40)
    page = forms.start(in_trial).state.value
    with in_trial.reading() as logbook:
        headline = read_trial(logbook, today=clock.on, opinions=False).headline
    assert headline
    assert str(escape(headline)) in page
    assert 'class="reedlab-go" href="result.ipynb"' in page
