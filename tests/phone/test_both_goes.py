"""Both goes of a pair rated on the phone: their difference is the answer, and both stand beside it."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from reedlab.folder.clock import TODAY_FILE
from reedlab.phone.pages import day_page
from reedlab.phone.work import Work
from tests.keeping import Kept, keeping
from tests.test_back_to_back import drawn


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Any]:
    yield from keeping(tmp_path, drawn, 6)


def begun(kept: Any) -> tuple[Kept, Work, dict[str, str]]:
    """A phone on the first day, and a form as its page sends it with nothing typed."""
    one = kept()
    on = one.turn_to(1)
    (one.folder / TODAY_FILE).write_text(on.isoformat(), encoding="utf8")
    (u, *_), (key, *_) = one.plan.units, one.plan.dealt
    return one, Work(one.folder), {
        "form": f"line-{u.cells[0][0]}", "key": "phone-" + "x" * 20, "date": on.isoformat(), "reed": u.cells[0][0],
        "where": "practice", "play_min": "10", "preference": "", "habit": key, "first_go": "", "second_go": ""}


def shown(answer: Any) -> str:
    return html.unescape(day_page(answer, nonce="n", token="t", book="b"))


def test_two_ratings_are_their_difference_and_can_be_changed(kept: Any) -> None:
    one, work, typed = begun(kept)
    assert shown(work.show()).count("Rate both instead") == len(work.show().day.lines)
    answer = work.take("save", {**typed, "first_go": "8", "second_go": "4,5", "remark": "windy"})
    assert answer.state == "written"
    row = one.book.frame("sittings").iloc[-1]
    assert (row["preference"], row["remark"]) == (3.5, "windy; first go 8, second go 4.5")
    # It lies between the answers that are offered, and stands in the form that changes the entry all the same.
    page = shown(work.show())
    assert '<option value="3.5" selected>first better by 3½</option>' in page
    changed = work.take("save", {**typed, "form": f"change-{answer.entry_id}", "changed": str(answer.entry_id),
                                 "preference": "3.5", "play_min": "12", "remark": str(row["remark"])})
    assert changed.state == "written"
    assert one.book.frame("sittings").iloc[-1][["preference", "play_min"]].tolist() == [3.5, 12.0]


@pytest.mark.parametrize(("goes", "says"), [
    (("8", ""), "Second go, 0 to 10: you gave nothing; wanted a number from 0 to 10, by halves, of both goes or of "
                "neither."),
    (("10.5", "7.3"), "First go, 0 to 10: you gave '10.5'; wanted a number from 0 to 10, by halves, of both goes or of "
                      "neither.\nSecond go, 0 to 10: you gave '7.3'; wanted a number from 0 to 10, by halves, of both "
                      "goes or of neither."),
])
def test_what_is_no_rating_is_told_of_each_go_and_stays_typed(kept: Any, goes: tuple[str, str], says: str) -> None:
    one, work, typed = begun(kept)
    answer = work.take("save", {**typed, "first_go": goes[0], "second_go": goes[1]})
    assert (answer.state, "\n".join(answer.lines)) == ("refused", says)
    assert not len(one.book.frame("sittings"))
    assert f'name="first_go" inputmode="decimal" autocomplete="off" maxlength="4" value="{goes[0]}"' in shown(answer)


def test_ratings_that_say_another_than_was_chosen_are_asked_back(kept: Any) -> None:
    one, work, typed = begun(kept)
    answer = work.take("save", {**typed, "first_go": "6", "second_go": "7", "preference": "2"})
    assert answer.state == "refused"
    assert answer.lines == ("Which go was better? The two ratings say: second a little better (1). Choose that "
                            "above, or empty them.",)
    assert not len(one.book.frame("sittings"))
    assert work.take("save", {**typed, "first_go": "6", "second_go": "7", "preference": "-1"}).state == "written"
