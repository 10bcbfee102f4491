"""`reedlab plan`: what can be settled, from the command line."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.errands.what_can_be_settled import past_answers, settle
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed

DAY = date(2026, 3, 2)


@pytest.fixture
def logbook(tmp_path: Path) -> Path:
    path = tmp_path / "reeds.logbook"
    with Logbook.create(path) as made:
        made.add_many([Box(box="1", instrument="clarinet"), *(
            Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n % 7 / 2) for n in range(1, 9))])
    return path


def test_one_question_is_told_with_its_chances_and_its_cost(logbook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(logbook), "--weeks", "2", "--question", "position", "--minutes", "60"]) == 0
    said = capsys.readouterr().out
    assert "your 8 free reeds, 60 minutes a day and up to 2 weeks" in said
    assert "in 2 weeks: day by day, by the rating of the day" in said
    assert "4 reeds, 3 changes of reed on a day, 6 days to break them in first" in said


def test_as_data_it_is_what_the_pages_tell(logbook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(logbook.parent), "--weeks", "2", "--question", "position", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    with Logbook.open(logbook, read_only=True) as book:
        found = settle(book.frames(), DAY, weeks=2, questions=["position"]).rows
        assert past_answers(book, DAY) == {}
    assert {row["outcome"]: row["useful"] for row in rows} == {x.outcome: x.useful for x in found}
    assert [row["reeds"] for row in rows] == [4, 4]


def test_a_question_that_is_not_ranked_is_refused(logbook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for key in ("own", "lick"):
        assert main(["plan", str(logbook), "--question", key]) == 2
        assert "Choose one of: wetting" in capsys.readouterr().err
