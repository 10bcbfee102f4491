"""A teacher and a pupil on the class page: the plan, the deal, the files that come in, one answer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from reedlab.classes.class_plan import class_plan
from reedlab.logbook.class_files import write_plan_file
from tests.forms._playing import Clock
from tests.forms.test_class_page import handed_in, with_reeds

from ..classes import test_roster as eight

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_a_class_goes_from_a_plan_to_one_answer_on_its_page(player: Any, tmp_path: Path) -> None:
    clock = Clock()
    sent = [handed_in(tmp_path / code, clock, code, seed) for seed, code in enumerate(("P01", "P02", "P03"), start=1)]
    with_reeds(player.folder, clock)
    (player.folder / "class" / "plan.json").unlink()
    player.day(clock())
    player.tab.set_viewport_size({"width": 1280, "height": 3000})
    player.open("class")

    teacher = player.form("What do you want to know?")
    teacher.get_by_label("What do you want to know?").select_option("Water or mouth")
    teacher.get_by_label("Days", exact=True).fill("8")
    teacher.get_by_role("button", name="Write the plan to hand out").click()
    teacher.get_by_text("Hand this file out, just as it is").wait_for()

    pupil = player.form("Deal my reeds")
    pupil.get_by_label("The class's plan").select_option(index=1)
    pupil.get_by_role("button", name="No difference").click()
    pupil.get_by_role("button", name="Deal my reeds").click()
    pupil.get_by_role("heading", name="Your plan").wait_for()
    pupil.get_by_role("button", name="Start this trial").click()
    pupil.get_by_text("Started. This now stands in your logbook").wait_for()

    files = player.form("Add files you were sent")
    with player.tab.expect_file_chooser() as chooser:
        files.get_by_role("button", name="Add files you were sent").click()
    chooser.value.set_files([str(s) for s in sent])
    files.get_by_text("P01, P02, P03 can be compared").wait_for()

    together = player.form("Put them together")
    together.get_by_role("button", name="Put them together").click()
    together.get_by_text("Over 3 trials together").wait_for()
    together.get_by_role("button", name="Write this as a page to print").click()
    together.get_by_text("Open it in a browser to print it on one page").wait_for()

    assert (player.folder / "class" / "together.html").is_file()
    assert player.too_small() == []
    assert player.cut_off() == []
    assert player.too_wide() == []
    assert player.faint() == []
    assert player.troubles == []
    assert player.outside == []


def test_a_class_of_eight_with_three_wrong_files_is_told_of_after_each_arrival(player: Any, tmp_path: Path) -> None:
    player.day(eight.TODAY)
    (player.folder / "class").mkdir()
    write_plan_file(player.folder / "class" / "plan.json", eight.PLAN)
    player.tab.set_viewport_size({"width": 1280, "height": 3000})
    player.open("class")
    files = player.form("Add files you were sent")

    def give_codes(n: int, last: str) -> None:
        files.get_by_label("New pupils").fill(str(n))
        files.get_by_role("button", name="Give them codes").click()
        files.get_by_text(f"{last}. Keep the list of names yourself").wait_for()

    give_codes(8, "P08")
    wrong = {"P03": (eight.sent("P03", 3, class_plan("position", days=10)), "another question"),
             "P05": (eight.without_ratings("P05", 5), "holds no ratings"),
             "P07": (json.dumps({**eight.content("P07", 7), "read_on": 40}).encode(), "was changed after it was made")}
    compared = 0
    for code, seed in eight.GOOD:
        content, told = wrong.get(code, (eight.sent(code, seed), ""))
        compared += not told
        (tmp_path / f"{code}.json").write_bytes(content)
        with player.tab.expect_file_chooser() as chooser:
            files.get_by_role("button", name="Add files you were sent").click()
        chooser.value.set_files(str(tmp_path / f"{code}.json"))
        row = files.locator("tr").filter(has=player.tab.get_by_role("cell", name=code, exact=True))
        row.get_by_text("✗" if told else "✓", exact=True).last.wait_for()
        assert told in row.inner_text()
        assert files.get_by_text(f"{compared} of 8 pupil").count() == 1
    give_codes(1, "P09")
    files.get_by_text("5 of 9 pupils can be compared. Something is wrong with P03, P05 and P07. P09 has").wait_for()
    assert [player.cut_off(), player.faint(), player.troubles] == [[], [], []]
    player.tab.set_viewport_size({"width": 390, "height": 3000})
    player.tab.wait_for_timeout(300)
    assert [player.too_wide(), player.too_small(), player.faint()] == [[], [], []]
    player.tab.set_viewport_size({"width": 1280, "height": 3000})
    together = player.form("Put them together")
    together.get_by_role("button", name="Put them together").click()
    together.get_by_text("5 of 9 trials").first.wait_for()
