"""New reeds and the plan, used as a player would: what the forms refuse, ask, save and read back."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from reedlab import forms
from reedlab.forms import Book
from reedlab.rows.records import Box, Reed, Retirement, Sitting

from . import _playing as playing

said = playing.said


def test_box_is_saved_with_its_reed_codes_and_the_next_number_is_offered(book: Book) -> None:
    form = forms.boxes(book)
    form.instrument.put("clarinet")
    form.save.click()
    assert "1-01 to 1-10" in said(form)
    assert list(book.frames().reeds["reed"]) == [f"1-{n:02d}" for n in range(1, 11)]
    assert form.box.value == "2"


def test_box_names_every_fault_at_once_and_keeps_what_was_typed(book: Book) -> None:
    form = forms.boxes(book)
    form.box.put("a box")
    form.reeds.value = "ten"
    form.save.click()
    message = said(form)
    assert all(word in message for word in ("Box", "Instrument", "Reeds in the box"))
    assert (form.box.value, form.reeds.value) == ("a box", "ten")
    assert not book.exists


def test_same_box_twice_is_refused_in_plain_words(book: Book) -> None:
    playing.add_box(book, name="1")
    form = forms.boxes(book)
    form.box.put("1")
    form.instrument.put("clarinet")
    form.save.click()
    assert "a second time" in said(form)
    assert len(book.frames().reeds) == 10


def test_first_play_takes_five_reeds_a_day_and_then_stops(book: Book, clock: Any) -> None:
    playing.add_box(book)
    form = forms.first_play(book)
    order = []
    while form._reed() is not None:
        order.append(form._reed())
        form.overall.put(6.5)
        form.stiffness.put(0.0)
        form.save.click()
    assert len(order) == 5
    assert order != sorted(order)
    assert "Enough new reeds for today" in form.turn.value
    clock.next()
    form.refresh()
    assert form._reed() not in order
    assert set(book.frames().reeds.dropna(subset=["first_play"])["reed"]) == set(order)


def test_first_play_wants_both_numbers_and_shows_no_earlier_rating(book: Book) -> None:
    playing.add_box(book)
    form = forms.first_play(book)
    assert form.overall.typed is None
    assert form.stiffness.typed is None
    form.save.click()
    assert "Overall: it is empty" in said(form)
    assert "Stiffness: it is empty" in said(form)
    form.overall.put(3)
    form.stiffness.put(-2.0)
    form.save.click()
    assert form.overall.typed is None
    assert form.stiffness.typed is None


def test_a_box_entered_by_mistake_is_taken_back_unless_its_reeds_are_in_use(book: Book) -> None:
    form = forms.boxes(book)
    assert form.undo.layout.display == "none"
    form.instrument.put("clarinet")
    form.save.click()
    first = forms.first_play(book)
    first.overall.put(7)
    first.stiffness.put(0.0)
    first.save.click()
    played = book.frames().reeds.dropna(subset=["first_play"])["reed"].item()
    form.undo.click()
    form._yes.click()
    assert "Not taken back" in said(form)
    assert len(book.frames().reeds) == 10
    first.undo.click()
    assert f"Taken back: the first play of {played}" in said(first)
    first.undo.click()
    frames = book.frames()
    assert len(frames.sittings) == 0
    assert frames.reeds["first_play"].isna().all()
    assert frames.reeds["first_played"].isna().all()
    form.undo.click()
    form._yes.click()
    assert "Taken back: box 1 with 10 reeds" in said(form)
    assert len(book.frames().reeds) == len(book.frames().boxes) == 0


def test_new_reeds_open_what_is_next(book: Book, clock: Any) -> None:
    form = forms.new_reeds(book)
    assert {k for k, fold in form.words.items() if fold.value} == {"A new box"}
    box = form.forms["A new box"]
    box.instrument.put("clarinet")
    box.reeds.put(2)
    box.save.click()
    assert "Saved: box 1 with 2 reeds" in said(box)
    assert form.words["First play"].value
    playing.play_all_first(book, clock)
    again = forms.new_reeds(book)
    assert not any(fold.value for fold in again.words.values())


def test_reeds_can_be_set_aside_and_taken_back(book: Book, clock: Any) -> None:
    playing.add_box(book, reeds=3)
    playing.play_all_first(book, clock)
    form = forms.first_play(book)
    for aside in (True, False):
        view = form.sort.children[0]
        boxes, save = view.children[1].children, view.children[2]
        boxes[0].value = aside
        save.click()
        assert "Saved" in said(form)
        assert int(book.frames().reeds["set_aside"].sum()) == int(aside)


def test_plan_asks_for_the_expectation_before_anything_is_drawn(played: Book) -> None:
    form = forms.plan(played)
    form.wishes.question.put("wetting")
    form.draw.click()
    assert "Which way do you expect" in said(form)
    assert form.draft is None


def test_plan_that_cannot_work_is_refused_with_the_nearest_that_can(book: Book) -> None:
    playing.add_box(book, reeds=1)
    form = forms.plan(book)
    form.wishes.question.put("drying")
    form.wishes.expected.put("none")
    form.draw.click()
    assert "This would not give a fair answer" in said(form)
    assert "Instead:" in said(form)


def test_started_plan_is_read_back_with_its_fingerprint(in_trial: Book) -> None:
    protocols = in_trial.protocols()
    assert len(protocols) == 1
    (protocol,) = protocols.values()
    assert protocol.expected == "same"
    ticks = forms.plan(in_trial).wishes.ticks
    assert {code for code, t in ticks.items() if t.disabled} == set(protocol.reeds)
    assert {code for code, t in ticks.items() if t.value} == set(ticks) - set(protocol.reeds)
    assert all("up to its end" in ticks[code].description for code in protocol.reeds)


def test_plan_of_ones_own_question(played: Book) -> None:
    form = forms.plan(played)
    form.wishes.question.put("own")
    form.wishes.expected.put("same")
    form.draw.click()
    assert "Say whether the effect is still there" in said(form)
    ways = form.wishes.words
    ways.ask.put("Does a warm-up song help?")
    ways.names[0].put("a warm-up song")
    ways.names[1].put("no song")
    ways.lasts.put(False)
    form.draw.click()
    assert form.draft is not None, said(form)
    assert [h.name for h in form.draft.protocol.habits] == ["a warm-up song", "no song"]


def test_start_page_says_which_new_reeds_to_play_today_and_how_many_wait(book: Book) -> None:
    playing.add_box(book)
    page = forms.start(book).state.value
    assert "10 new reeds wait for their first play" in page
    first = forms.first_play(book).stage.now
    assert len(first) == 5
    assert ", ".join(first) in page


def test_reeds_may_have_first_one_way_then_the_other_for_as_many_days_as_the_player_says(played: Book) -> None:
    form = forms.plan(played)
    wishes = form.wishes
    wishes.question.put("storage_case")
    assert wishes.goes_on.layout.display == "none"
    wishes.outcome.put("crossover")
    assert (wishes.goes_on.layout.display, wishes.goes_on.typed) == ("", "4")
    wishes.goes_on.put(60)
    wishes.expected.put("same")
    wishes.days.put(42)
    form.draw.click()
    assert "For how many days does a way go on after you stop?: wanted a number from 1 to 30" in said(form)
    wishes.goes_on.put(3)
    form.draw.click()
    assert form.draft is not None, said(form)
    plan = form.draft.protocol
    assert (plan.design_name, plan.effect_days, plan.days) == ("crossover", 3, 42)
    form.full.value = True
    assert "On day 22. The first 3 days of each half are not rated." in form.shown.value
    form.start.click()
    assert "From today on every reed changes to its other way" in said(form)
    wishes.question.put("drying")
    assert wishes.goes_on.layout.display == "none"
    assert "crossover" not in [o for _, o in wishes.outcome.options]


def test_a_question_of_ones_own_may_wear_off(played: Book) -> None:
    form = forms.plan(played)
    wishes = form.wishes
    wishes.question.put("own")
    wishes.expected.put("same")
    ways = wishes.words
    ways.ask.put("Which cloth?")
    ways.names[0].put("one cloth")
    ways.names[1].put("the other cloth")
    ways.lasts.put(True)
    assert wishes.outcome.layout.display == "none"
    ways.wears_off.put(3)
    assert wishes.outcome.layout.display == ""
    wishes.outcome.put("crossover")
    wishes.days.put(28)
    form.draw.click()
    assert form.draft is not None, said(form)
    assert (form.draft.protocol.design_name, form.draft.protocol.effect_days) == ("crossover", 3)


def test_a_comparison_of_lives_is_planned_with_earlier_reeds_of_the_kind(book: Book, clock: Any) -> None:
    on = clock.on - timedelta(days=40)
    with book.writing() as logbook:
        for box, new in (("1", False), ("2", False), ("3", True)):
            logbook.add(Box(box=box, instrument="clarinet", strength="3"))
            reeds = [f"{box}-{n:02d}" for n in range(1, 9)]
            logbook.add_many([Reed(reed=r, box=box, first_play=5.0 + n % 4) for n, r in enumerate(reeds)])
            if not new:
                logbook.add_many([Sitting(date=on - timedelta(days=n), reed=r, play_min=100 + n)
                                  for n, r in enumerate(reeds)])
                logbook.add_many([Retirement(reed=r, date=on, reason="worn_out") for r in reeds])
    form = forms.plan(book)
    form.wishes.question.put("drying")
    form.wishes.outcome.put("life_hours")
    form.wishes.marks.rule.put("player")
    form.wishes.start.value = book.today()
    form.wishes.expected.put("same")
    form.draw.click()
    assert form.draft is not None, said(form)
    lives = form.draft.protocol.past_lives
    assert len(lives) == 16
    form.start.click()
    assert "Started" in said(form)
    with book.reading() as logbook:
        assert logbook.protocol(logbook.trial_names()[0]).past_lives == lives
