"""A class's trial on logbooks and files: what a folder holds, and a pupil on paper."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from reedlab.classes.class_plan import class_plan
from reedlab.errands.class_steps import deal_own, look_through, next_code, paper_pupil
from reedlab.errors import InputError, PlanRefused
from reedlab.logbook import Logbook
from reedlab.logbook.class_files import write_plan_file
from reedlab.rows.tables import Frames

START = date(2026, 3, 2)
PLAN = class_plan("wetting", days=8, matters=1.0)


def test_a_folder_that_is_not_there_or_holds_other_files_is_an_empty_shelf(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "none"):
        shelf = look_through(folder)
        assert (shelf.plans, shelf.handed_in, shelf.on_paper, shelf.troubles) == ((), (), (), ())
    (tmp_path / "readme.txt").write_text("hello")
    assert look_through(tmp_path).troubles == ()


def test_a_plan_that_was_changed_is_told_as_a_plan_in_trouble(tmp_path: Path) -> None:
    write_plan_file(tmp_path / "plan.json", PLAN)
    assert [plan for _, plan in look_through(tmp_path).plans] == [PLAN]
    text = (tmp_path / "plan.json").read_text()
    (tmp_path / "plan.json").write_text(text.replace('"days": 8', '"days": 9'))
    ((name, why),) = look_through(tmp_path).troubles
    assert name == "plan.json"
    assert why.startswith("a plan that was changed after it was made")


def test_a_pupil_on_paper_gets_a_logbook_a_deal_and_a_page_for_each_week(tmp_path: Path) -> None:
    made = paper_pupil(tmp_path / "class", "P03", PLAN, instrument="clarinet", first_plays=[6, 5.5, None, 7, 4],
                       start=START, today=START, seed=5)
    assert [p.name for p in made] == ["P03.logbook", "P03 page.html", "P03 week 1.html", "P03 week 2.html"]
    with Logbook.open(made[0], read_only=True) as book:
        plan, frames = book.protocol("P03"), book.frames()
    assert (plan.question, plan.days, plan.start, plan.seed) == ("wetting", 8, START, 5)
    assert frames.reeds["first_play"].dropna().tolist() == [6, 5.5, 7, 4]
    assert look_through(tmp_path / "class").on_paper == (("P03", made[0]),)
    assert plan.reeds[0] in made[1].read_text(encoding="utf8")


def test_two_pupils_are_dealt_differently_by_their_own_seeds(tmp_path: Path) -> None:
    dealt = set()
    for n in range(1, 6):
        made = paper_pupil(tmp_path, f"P{n}", PLAN, instrument="clarinet", first_plays=[5] * 4, start=START,
                           today=START, seed=n)
        with Logbook.open(made[0], read_only=True) as book:
            dealt.add(book.protocol(f"P{n}").dealt)
    assert len(dealt) > 1


def test_a_deal_that_is_refused_leaves_no_file_behind(tmp_path: Path) -> None:
    two_boxes = class_plan("cut_or_strength", days=14)
    with pytest.raises(PlanRefused):
        paper_pupil(tmp_path, "P01", two_boxes, instrument="clarinet", first_plays=[5] * 6, start=START, today=START,
                    seed=1)
    assert [p.name for p in tmp_path.iterdir() if p.is_file()] == []


def test_reeds_for_two_instruments_or_none_are_not_dealt() -> None:
    for boxes, why in (([], "needs a box"), ([{"box": "1", "instrument": "clarinet"},
                                            {"box": "2", "instrument": "alto saxophone"}], "one logbook for each")):
        with pytest.raises(InputError, match=why):
            deal_own(PLAN, Frames.of(boxes=boxes), start=START, seed=1)


@pytest.mark.parametrize(("taken", "code"), [([], "P01"), (["P01", "P09", "KB3"], "P10"), (["P120"], "P121")])
def test_the_next_code_follows_the_highest(taken: list[str], code: str) -> None:
    assert next_code(taken) == code
