"""The sheet for the music stand: what stands on it. How it prints is looked at in tests/browser."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from reedlab.errors import InputError
from reedlab.handout.labels import codes_in_use, labels
from reedlab.handout.sheet import sheet
from reedlab.handout.week import week_of
from reedlab.trial.practice import CAUTIONS
from reedlab.trial.protocol import Habit
from tests.readability import grade

from ._plans import START, a_logbook, a_plan


class Cells(HTMLParser):
    """The text of every cell of the table, row by row."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.words: list[str] = []
        self._hidden = 0
        self._cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in ("style", "title")
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self._cell = True

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "title")
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        if self._hidden:
            return
        self.words.append(data)
        if self._cell:
            self.rows[-1][-1] += data


def read(page: str) -> Cells:
    cells = Cells()
    cells.feed(page)
    cells.rows = [[" ".join(c.split()) for c in row] for row in cells.rows]
    return cells


def a_sheet(**changes: object) -> str:
    plan = a_plan(**changes)
    return sheet(plan, week_of(plan, a_logbook(), today=START))


def test_every_planned_reed_stands_on_it_with_order_way_and_minutes() -> None:
    rows = [row[-9:] for row in read(a_sheet()).rows if "2-0" in " ".join(row[:4])]
    planned = [row for row in rows if row[0]]
    assert [row[:4] for row in planned[:4]] == [
        ["1", "2-01", "straight into the case", "10"], ["2", "2-02", "drying in the open", "10"],
        ["1", "2-03", "straight into the case", "10"], ["2", "2-04", "drying in the open", "10"]]
    assert len(planned) == 14
    assert all(not any(row[4:]) for row in planned)  # the boxes to pencil in are empty


def test_scale_and_cautions_stand_at_the_foot_in_plain_words() -> None:
    text = " ".join(" ".join(read(a_sheet()).words).split())
    assert "2 would not play · 4 practice only · 6 rehearsal · 8 concert · 10 best I have had" in text
    assert CAUTIONS["pain"].text in text
    assert CAUTIONS["sharing"].text in text
    foot = "Play the reeds in this order. " + text[text.index("Forgot it?"):]
    assert grade(foot) <= 8


def test_reworded_scale_is_the_one_shown() -> None:
    assert "&lt;flat&gt;" in a_sheet(scale=((2, "<flat>"), (10, "sings")))


def test_a_helper_keeps_the_way_off_the_page() -> None:
    page = a_sheet(masked="helper")
    assert "drying in the open" not in page
    assert "straight into" not in page
    assert "Your helper makes each reed ready" in page


def test_rating_that_the_trial_asks_for_has_its_own_box() -> None:
    heads = read(a_sheet(rating="response")).rows[0]
    assert [h for h in heads if h in ("Overall", "Response", "Stiffness")] == ["Overall", "Response", "Stiffness"]


def test_what_a_player_typed_is_escaped() -> None:
    page = a_sheet(trial="<script>x</script>", habits=(Habit("case", "<b>case"), Habit("open", "a&b")))
    assert "<script>" not in page
    assert "<b>case" not in page


def test_page_uses_no_colour_but_greys() -> None:
    page = a_sheet()
    for code in re.findall(r"#[0-9a-fA-F]{3,6}\b", page):
        digits = code[1:] if len(code) == 7 else "".join(c * 2 for c in code[1:])
        assert len({digits[:2], digits[2:4], digits[4:]}) == 1
    assert not re.search(r"\b(red|blue|green|rgb|hsl)\b\s*\(?", page.split("</style>")[0])


def test_a_very_full_week_is_dealt_over_two_pages() -> None:
    reeds = tuple(f"2-{k:02d}" for k in range(1, 13))
    plan = a_plan(reeds=reeds, a_day=9)
    page = sheet(plan, week_of(plan, a_logbook(reeds), today=START))
    assert page.count('<section class="page"') == 2
    assert "page 1 of 2" in page


def test_unknown_paper_is_refused() -> None:
    plan = a_plan()
    with pytest.raises(InputError, match="a4 or letter"):
        sheet(plan, week_of(plan, a_logbook(), today=START), paper="a5")


def test_labels_hold_each_code_once_and_nothing_of_the_ways() -> None:
    frames = a_logbook(retirements=[{"reed": "2-02", "date": START, "reason": "lost"}])
    codes = codes_in_use(frames, START)
    assert codes == ["2-01", "2-03", "2-04"]
    page = labels(codes)
    assert [page.count(f">{c}<") for c in codes] == [1, 1, 1]
    assert "2-02" not in page
    assert "open" not in page.split("</style>")[1]


def test_labels_of_no_reed_or_too_many_are_refused() -> None:
    with pytest.raises(InputError, match="no reeds"):
        labels([])
    with pytest.raises(InputError, match="do not fit"):
        labels([f"1-{n:03d}" for n in range(500)])
