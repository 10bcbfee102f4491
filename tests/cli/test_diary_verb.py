"""The command for an old diary: what it prints, its exit codes, and that it only reads. The diary is invented."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedlab.cli import main

LINES = ["2025-11-{d:02d},1-{n:02d},30,{r},{h}".format(d=d, n=1 + d % 4, r=5 + d % 4, h=("water", "mouth")[d // 4 % 2])
         for d in range(3, 27)]


@pytest.fixture
def logbook(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    folder = tmp_path / "diary"
    folder.mkdir()
    (folder / "boxes.csv").write_text("box,instrument\n1,clarinet\n")
    (folder / "reeds.csv").write_text("reed,box\n1-01,1\n1-02,1\n1-03,1\n1-04,1\n")
    (folder / "sittings.csv").write_text("\n".join(["date,reed,play_min,overall,habit", *LINES]) + "\n")
    assert main(["import", str(folder), "--into", str(tmp_path / "reeds.logbook")]) == 0
    assert "24 sittings" in capsys.readouterr().out
    return tmp_path / "reeds.logbook"


def test_it_prints_the_hint_and_the_fair_trial_and_leaves_the_logbook_alone(
        logbook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = logbook.read_bytes()
    assert main(["diary", str(logbook), "--today", "2026-01-10"]) == 0
    out = capsys.readouterr().out
    assert out.index("Only a hint from your old diary") < out.index("Why is it only a hint?")
    assert out.index("Why is it only a hint?") < out.index("The fair trial that would settle it")
    assert max(map(len, out.splitlines())) <= 80
    assert logbook.read_bytes() == before


def test_as_json_it_holds_the_counts_the_hint_and_the_advice(
        logbook: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["diary", str(logbook), "--question", "own", "--gone-next-day", "--json", "--today", "2026-01-10"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert set(got) == {"diary", "hint", "advice"}
    assert got["diary"]["question"] == "own"
    assert [w["entries"] for w in got["diary"]["ways"]] == [12, 12]
    assert got["hint"]["verdict"] == "hint_only"
    assert got["hint"]["p_value"] is None
    assert got["advice"]["best"]["design"] == "day_by_day"


@pytest.mark.parametrize(("more", "words"), [
    (["--question", "drying"], "'mouth' 12 times, 'water' 12 times"),
    (["--question", "nonsense"], "no question `nonsense`"),
    (["--life"], "served both ways"),
    (["--today", "2025-01-01"], "column `habit` is empty"),
])
def test_what_cannot_be_read_ends_with_2_and_one_message(
        logbook: Path, capsys: pytest.CaptureFixture[str], more: list[str], words: str) -> None:
    assert main(["diary", str(logbook), *more]) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert told.out == ""
