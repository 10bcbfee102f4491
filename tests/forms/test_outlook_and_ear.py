"""What a plan can show, and the double rating, as a player meets them on the page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reedlab import forms
from reedlab.forms import Book
from reedlab.forms.ear_page.words import ear_html, ear_result, ear_turns
from reedlab.forms.plan_page.outlook_words import without_first_guess
from tests.readability import grade

from ._playing import Clock, add_box, new_book, play_all_first, said


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    clock = Clock()
    made = new_book(Path(tmp_path_factory.mktemp("player")), clock)
    add_box(made)
    play_all_first(made, clock)
    return made


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


def test_the_forecast_and_the_advice_stand_above_the_plan_and_its_start(book: Book) -> None:
    form = drawn(book, "wetting")
    shown = form.outlook.forecast.value  # type: ignore[attr-defined]
    assert "<img" in shown
    assert re.search(r'media="\(max-width: 600px\)"', shown)
    assert re.search(r"names it (about \d+ times? in 100|almost \w+)", plain(shown))
    assert "you can learn" in plain(form.outlook.advice.value)  # type: ignore[attr-defined]
    assert form.outlook.bar.layout.display == "none"  # type: ignore[attr-defined]
    order = list(form.children)  # type: ignore[attr-defined]
    assert order.index(form.outlook) < order.index(form.frozen)  # type: ignore[attr-defined]
    assert "first guess)." not in form.shown.value  # type: ignore[attr-defined]


def test_the_alternative_text_of_the_figure_holds_its_numbers(book: Book) -> None:
    form = drawn(book, "position")
    alt = re.search(r'alt="([^"]+)"', form.outlook.forecast.value)  # type: ignore[attr-defined]
    assert alt
    assert "If one way is truly 1 point better" in alt.group(1)


def test_the_chance_of_the_plan_asked_for_is_told_once(book: Book) -> None:
    form = drawn(book, "position")
    shown = plain(form.outlook.forecast.value + form.outlook.advice.value)  # type: ignore[attr-defined]
    assert shown.count("If one way is truly 1 point better") == 1


def test_a_refused_plan_still_gets_advice(book: Book) -> None:
    form = drawn(book, "cut_or_strength")
    assert "This would not give a fair answer" in said(form)
    assert "A question you can answer now" in plain(form.outlook.advice.value)  # type: ignore[attr-defined]
    assert form.outlook.forecast.value == ""  # type: ignore[attr-defined]
    assert form.frozen.layout.display == "none"  # type: ignore[attr-defined]


def test_another_question_puts_the_old_forecast_away(book: Book) -> None:
    form = drawn(book, "position")
    form.wishes.question.put("drying")  # type: ignore[attr-defined]
    assert form.outlook.forecast.value == form.outlook.advice.value == ""  # type: ignore[attr-defined]


def test_the_first_guess_leaves_where_the_forecast_speaks() -> None:
    kept = without_first_guess(("It finds it about 6 times in 100 (a first guess).", "Left as a spare: 1-03."))
    assert kept == ("Left as a spare: 1-03.",)


# --- the double rating -------------------------------------------------------------------------------


def rated(book: Book, first: float = 5.0) -> forms.Form:
    """A double rating of eight reeds played to its end; invented."""
    form = forms.ear(book)
    form.begin.click()
    for turn in form.turns:
        form.rating.put(first + turn.slot / 2 + (turn.round - 1) * (0.5 if turn.slot % 2 else -0.5))
        form.next.click()
    return form


def test_each_slot_comes_up_twice_and_no_reed_is_named(book: Book) -> None:
    form = forms.ear(book)
    form.begin.click()
    assert sorted((t.round, t.slot) for t in form.turns) == [(r, s) for r in (1, 2) for s in range(1, 9)]
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
    turns = ear_turns(reeds, 3)
    ratings = {t.step: 5 + (t.slot % 3) + spread * (t.round - 1) for t in turns}
    text = plain(ear_html(ear_result(turns, ratings)).split("<details>")[0])
    assert grade(text.removeprefix(" Your ear today ")) <= 8
    assert "nan" not in text


def test_kept_ratings_stand_in_the_logbook_as_a_double_rating(tmp_path: Path) -> None:
    clock = Clock()
    own = new_book(tmp_path, clock)
    add_box(own)
    play_all_first(own, clock)
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
    want = {(form.reeds[t.slot - 1], t.round): form.ratings[t.step] for t in form.turns}
    turn = kept.groupby("reed").cumcount() + 1
    assert dict(zip(zip(kept["reed"], turn, strict=True), kept["overall"], strict=True)) == want


def test_too_few_reeds_are_not_begun(book: Book) -> None:
    form = forms.ear(book)
    for t in list(form.ticks.values())[2:]:
        t.value = False
    form.begin.click()
    assert "you ticked 2" in said(form)
    assert form.turns == ()


def test_without_reeds_the_page_says_what_is_missing(tmp_path: Path) -> None:
    form = forms.ear(new_book(tmp_path, Clock()))
    assert form.empty.layout.display == ""
    assert form.choose.layout.display == "none"
