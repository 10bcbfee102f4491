"""What a plan can show, and the double rating, as a player meets them on the page."""

from __future__ import annotations

import re
import shutil
import time
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from reedlab import forms
from reedlab.analysis.player.ear import ear_order
from reedlab.forms import Book
from reedlab.forms.ear_page.words import ear_html, ear_result
from reedlab.plan import draw_up
from reedlab.rows.records import Sitting
from reedlab.screens.questions import question_lines
from tests.readability import grade

from ._playing import Clock, new_book, said


def copied(played_once: tuple[Path, Path, date], folder: Path) -> tuple[Book, Clock]:
    """A logbook of its own with ten reeds played."""
    clock = Clock(played_once[2])
    made = new_book(folder, clock)
    shutil.copy(played_once[0], made.path)
    return made, clock


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory, played_once: tuple[Path, Path, date]) -> Book:
    return copied(played_once, tmp_path_factory.mktemp("player"))[0]


def drawn(book: Book, question: str, **more: object) -> object:
    form = forms.plan(book)
    form.wishes.question.put(question)
    for name, value in more.items():
        getattr(form.wishes, name).put(value)
    form.wishes.start.value = book.today()
    form.wishes.expected.put("same")
    form.draw.click()
    return form


def plain(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def numbers(form: Any) -> list[str]:
    """Every chance of a useful answer of the plan in hand that stands on the third step."""
    table = [plain(row.children[0].value) for row in form.others.children if getattr(row, "children", ())]
    mine = [row for row in table if "This plan" in row]
    return re.findall(r"(\d+) of 100", " ".join([plain(form.outlook.forecast.value), *mine]))


def test_three_steps_lead_to_the_start_and_back(book: Book) -> None:
    form = forms.plan(book)
    seen = [[v.layout.display != "none" for v in form.steps]]
    form.questions.buttons["position"].click()
    seen.append([v.layout.display != "none" for v in form.steps])
    form.wishes.expected.put("same")
    form.draw.click()
    seen.append([v.layout.display != "none" for v in form.steps])
    assert seen == [[True, False, False], [False, True, False], [False, False, True]]
    assert form.start.layout.display == ""
    form.again.click()
    assert form.at == 2
    assert form.draft is None
    form.back.click()
    assert form.at == 1
    assert form.wishes.question.typed is None


def test_the_third_step_says_what_the_plan_can_show_and_what_it_asks(book: Book) -> None:
    form = drawn(book, "position")
    shown = plain(form.outlook.forecast.value)  # type: ignore[attr-defined]
    assert re.search(r"names it (about \d+ times? in 100|almost \w+)", shown)
    assert "4 reeds over 2 weeks" in shown
    assert "6 days to break these reeds in" in shown
    assert "4 reeds, 3 changes of reed; about 40 of your 60 minutes" in shown
    assert form.outlook.bar.layout.display == "none"  # type: ignore[attr-defined]
    assert "first guess)." not in form.shown.value  # type: ignore[attr-defined]
    assert form.figure.value == ""  # type: ignore[attr-defined]
    form.picture.value = True  # type: ignore[attr-defined]
    alt = re.search(r'alt="([^"]+)"', form.figure.value)  # type: ignore[attr-defined]
    assert alt
    assert "If one way is truly 1 point better" in alt.group(1)
    assert re.search(r'media="\(max-width: 600px\)"', form.figure.value)  # type: ignore[attr-defined]


def test_one_plan_has_one_number_from_the_first_step_to_the_last(book: Book) -> None:
    """The line of the question, the lengths, the sentence, the table, another plan used, and the ranking itself."""
    form = forms.plan(book)
    form.questions.weigh(now=True)
    lines = {x.key: x.chance for x in question_lines(form.questions.ranking)}
    for key in ("wetting", "rinse"):
        form.questions.buttons[key].click()
        form.wishes.expected.put("same")
        length = next(text for text, days in form.wishes.length.options if days == form.wishes.length.value)
        form.draw.click()
        told = {*numbers(form), re.findall(r"(\d+) of 100", length)[0], str(lines[key])}
        assert told == {str(lines[key])}, (key, told)
    use, button = next((u, b) for u, b in form.uses if u.question == "rinse" or u.design)
    row = next(r for r in form.others.children if button in getattr(r, "children", ()))
    promised = re.findall(r"(\d+) of 100", plain(row.children[0].value))
    button.click()
    if form.wishes.expected.typed is None:
        form.wishes.expected.put("none")
        form.draw.click()
    assert set(numbers(form)) == set(promised)
    assert form.draft.protocol.question == use.question


def test_what_cannot_be_settled_stands_behind_one_word_and_what_is_true_of_all_is_said_once(book: Book) -> None:
    form = forms.plan(book)
    form.questions.weigh(now=True)
    lines = question_lines(form.questions.ranking)
    cannot = [x for x in lines if not x.settles]
    questions = form.questions
    assert questions.more.description == f"{len(cannot)} questions can't be settled in 8 weeks"
    assert questions.list.children[-2:] == (questions.more, questions.rest)
    assert len(questions.list.children) == len(lines) - len(cannot) + 2
    assert len(questions.rest.children) == len(cannot) + 1
    assert questions.rest.layout.display == "none"
    questions.more.value = True
    assert questions.rest.layout.display == ""
    later = {x.later for x in cannot if x.later}
    shown = "".join(plain(part.children[1].value) if hasattr(part, "children") else plain(part.value)
                    for part in questions.rest.children)
    assert len(later) == 1
    assert shown.count(later.pop()) == 1


def test_no_line_moves_in_sight_but_by_the_players_own_act(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    form = forms.plan(book)
    questions = form.questions
    page = SimpleNamespace(call_soon_threadsafe=lambda do, *what: do(*what))
    monkeypatch.setattr("reedlab.forms.plan_page.questions._loop", lambda: page)

    def weighed() -> list[str]:
        """What stands in the list once all are weighed."""
        while not questions.order_said.value:
            time.sleep(0.01)
        return in_sight()

    def in_sight() -> list[str]:
        return [row.children[0].description for row in questions.list.children if row not in (
            questions.more, questions.rest)]

    questions.weigh(asked=True)
    guessed = in_sight()
    assert weighed() == guessed
    known = [x.title for x in question_lines(questions.ranking) if x.settles]
    assert guessed != known
    assert "guess:" not in "".join(plain(row.children[1].value) for row in questions.list.children[:len(guessed)])
    assert questions.put.layout.display == ""
    questions.put.click()
    assert in_sight() == known
    assert questions.put.layout.display == "none"

    questions.weeks.put(4)
    guessed = in_sight()
    assert weighed() == guessed
    questions.buttons["wetting"].click()  # the list is out of sight
    assert in_sight() == [x.title for x in question_lines(questions.ranking) if x.settles]


def test_a_nearby_question_asked_before_is_weighed_as_strictly_as_on_the_first_step(
        played_once: tuple[Path, Path, date], tmp_path: Path) -> None:
    own, clock = copied(played_once, tmp_path)
    plan = draw_up("position", own.frames().reeds, start=clock(), seed=3, instrument="clarinet", simulations=100,
                   compared=False).protocol
    with own.writing() as logbook:
        logbook.start_trial(plan)
        logbook.add(Sitting(date=clock(), reed=plan.reeds[0], play_min=10, overall=6.0))
    clock.next(30)
    form = drawn(own, "drying")
    near = [u for u, _ in form.uses if u.question == "position"]  # type: ignore[attr-defined]
    form.questions.weigh(now=True)  # type: ignore[attr-defined]
    row = next(r for r in form.questions.of("position") if r.weeks == 4)  # type: ignore[attr-defined]
    assert not near or row.can_settle


def test_a_refused_plan_still_gets_another(book: Book) -> None:
    form = drawn(book, "cut_or_strength")
    assert "This would not give a fair answer" in said(form)
    assert [u.question for u, _ in form.uses] == ["wetting"]  # type: ignore[attr-defined]
    assert form.outlook.forecast.value == ""  # type: ignore[attr-defined]
    assert form.start.layout.display == "none"  # type: ignore[attr-defined]
    assert form.start.disabled  # type: ignore[attr-defined]


def test_another_question_puts_the_old_forecast_away(book: Book) -> None:
    form = drawn(book, "position")
    form.wishes.question.put("drying")  # type: ignore[attr-defined]
    assert form.outlook.forecast.value == ""  # type: ignore[attr-defined]
    assert form.others.children == ()  # type: ignore[attr-defined]
    assert form.at == 2  # type: ignore[attr-defined]


# --- the double rating -------------------------------------------------------------------------------


def rated(book: Book, first: float = 5.0) -> forms.Form:
    """A double rating of eight reeds played to its end; invented."""
    form = forms.ear(book)
    form.begin.click()
    for turn in form.order.itertuples():
        form.rating.put(first + turn.slot / 2 + (turn.round - 1) * (0.5 if turn.slot % 2 else -0.5))
        form.next.click()
    return form


def test_each_slot_comes_up_twice_and_no_reed_is_named(book: Book) -> None:
    form = forms.ear(book)
    form.begin.click()
    assert sorted(zip(form.order["round"], form.order["slot"], strict=True)) == [
        (r, s) for r in (1, 2) for s in range(1, 9)]
    assert "slot" in form.turn.value
    assert not any(code in form.turn.value for code in form.reeds)


def test_a_rating_is_asked_for_and_starts_empty_each_time(book: Book) -> None:
    form = forms.ear(book)
    form.begin.click()
    form.next.click()
    assert "it is empty" in said(form)
    assert len(form.ratings) == 0
    form.rating.put(7)
    form.next.click()
    assert form.rating.typed is None
    assert "Rating 2 of 16" in form.turn.value


def test_the_result_speaks_plainly_and_shows_the_change_beside_what_matters(book: Book) -> None:
    text = plain(rated(book).found.value)
    assert "Two single ratings of one reed may differ by up to" in text
    assert "Keep 1 point" in text
    assert "ICC(2,1)" in text


@pytest.mark.parametrize("spread", [0.0, 0.5, 1.5])
@pytest.mark.parametrize("reeds", [2, 4, 8])
def test_ear_sentences_are_plain_whatever_came_out(reeds: int, spread: float) -> None:
    order = ear_order(reeds, 3)
    ratings = list(5 + (order["slot"] % 3) + spread * (order["round"] - 1))
    text = plain(ear_html(ear_result(order, ratings)).split("<details>")[0])
    assert grade(text.removeprefix(" Your ear today ")) <= 8
    assert "nan" not in text


def test_kept_ratings_stand_in_the_logbook_as_a_double_rating(
        played_once: tuple[Path, Path, date], tmp_path: Path) -> None:
    own, _ = copied(played_once, tmp_path)
    form = rated(own)
    form.save.click()
    assert "Slot 1: say which reed lay there" in said(form)
    for n, pick in form.slots.items():
        pick.put(form.reeds[0 if n == 2 else n - 1])
    form.save.click()
    assert "cannot lie in two slots" in said(form)
    form.slots[2].put(form.reeds[1])
    form.save.click()
    assert "Saved. 16 ratings of 8 reeds" in said(form)
    kept = own.frames().sittings.dropna(subset="overall").sort_values("order", kind="stable")
    assert len(kept) == 16
    want = {(form.reeds[t.slot - 1], t.round): form.ratings[t.step - 1] for t in form.order.itertuples()}
    turn = kept.groupby("reed").cumcount() + 1
    assert dict(zip(zip(kept["reed"], turn, strict=True), kept["overall"], strict=True)) == want


def test_too_few_reeds_are_not_begun(book: Book) -> None:
    form = forms.ear(book)
    for t in list(form.ticks.values())[2:]:
        t.value = False
    form.begin.click()
    assert "you ticked 2" in said(form)
    assert not form.reeds


def test_without_reeds_the_page_says_what_is_missing(tmp_path: Path) -> None:
    form = forms.ear(new_book(tmp_path, Clock()))
    assert form.empty.layout.display == ""
    assert form.choose.layout.display == "none"
