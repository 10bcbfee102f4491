"""A class on the command line: the plan, the deal, the files that come back, the combined answer."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from reedlab.cli import main
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting

START = date(2026, 3, 2)


def played(folder: Path, n: int, capsys: pytest.CaptureFixture[str]) -> Path:
    """One invented pupil: a logbook with a box, the class's plan dealt and played."""
    path = folder / f"pupil{n}.logbook"
    with Logbook.create(path) as book:
        book.add(Box(box="A", instrument="clarinet"))
        book.add_many([Reed(reed=f"A-{i}", box="A", first_play=5.0, remark="mine") for i in range(1, 6)])
    assert main(["class", "deal", str(folder / "class.json"), str(path), "--start", START.isoformat(),
                 "--expected", "same", "--left-out", "A-5"]) == 0
    assert "Started: wetting 2026-03-02" in capsys.readouterr().out
    rng = np.random.default_rng(n)
    with Logbook.open(path) as book:
        plan = book.protocol("wetting 2026-03-02")
        assert "A-5" not in plan.reeds
        book.add_many([
            Sitting(date=START + timedelta(days=s.day - 1), reed=s.reed, order=s.order, play_min=10,
                    habit=habit.key, remark="hm",
                    overall=round(2 * (5 + 1.2 * (habit == plan.habits[1]) + rng.normal(0, 0.5))) / 2)
            for s in plan.slots if (habit := plan.habit_for(s.reed, s.day))])
    return path


def test_a_class_goes_all_the_way_from_one_plan_to_one_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("REEDLAB_TODAY", "2026-05-01")
    plan = tmp_path / "class.json"
    assert main(["class", "plan", "wetting", "-o", str(plan), "--days", "8", "--matters", "1"]) == 0
    assert "Hand the file out" in capsys.readouterr().out
    files = []
    for n in (1, 2, 3):
        book = played(tmp_path, n, capsys)
        files.append(str(tmp_path / f"p{n}.json"))
        assert main(["class", "share", str(book), "--code", f"P0{n}", "-o", files[-1]]) == 0
        assert "under the code" in capsys.readouterr().out
    page = tmp_path / "page.html"
    assert main(["class", "together", *files, "--plan", str(plan), "--page", str(page)]) == 0
    said = capsys.readouterr().out
    assert "Over 3 trials together, reeds rated about" in said
    assert "P02:" not in said
    assert main(["class", "together", *files, "--plan", str(plan), "--full"]) == 0
    assert "P02:" in capsys.readouterr().out
    assert "<h2" in page.read_text(encoding="utf-8")
    assert main(["class", "together", *files, "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert got["verdict"] in ("a_better", "b_better")
    assert got["players"] == 3
    assert [t["label"] for t in got["trials"]] == ["P01", "P02", "P03"]
    assert main(["class", "together", str(tmp_path), "--plan", str(plan), "--json"]) == 0  # the whole folder
    assert json.loads(capsys.readouterr().out) == got
    (tmp_path / "p9.json").write_text("{}")
    assert main(["class", "together", str(tmp_path), "--json"]) == 0  # what cannot be compared is said and left out
    told = capsys.readouterr()
    assert json.loads(told.out)["headline"] == got["headline"]
    assert "3 of 3 pupils can be compared" in told.err
    assert "p9.json: cannot be opened" in told.err


def test_faults_of_the_user_end_with_two_and_one_message(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("REEDLAB_TODAY", "2026-05-01")
    assert main(["class", "plan", "nonsense", "-o", str(tmp_path / "x.json")]) == 2
    plan = tmp_path / "class.json"
    assert main(["class", "plan", "wetting", "-o", str(plan), "--days", "8"]) == 0
    assert main(["class", "plan", "wetting", "-o", str(plan)]) == 2  # never written over
    book = played(tmp_path, 1, capsys)
    assert main(["class", "share", str(book), "--code", "Anna", "-o", str(tmp_path / "a.json")]) == 2
    assert main(["class", "share", str(book), "--code", "P01", "-o", str(tmp_path / "a.json"),
                 "--today", "2026-03-04"]) == 2
    assert "still runs" in capsys.readouterr().err
    assert not (tmp_path / "a.json").exists()
    assert main(["class", "share", str(book), "--code", "P01", "-o", str(tmp_path / "a.json")]) == 0
    assert main(["class", "together", str(tmp_path / "a.json")]) == 2
    assert "at least two" in capsys.readouterr().err
    assert main(["class", "together", str(plan), str(tmp_path / "a.json")]) == 2
    assert main(["class", "deal", str(tmp_path / "a.json"), str(book)]) == 2
    assert "no class plan" in capsys.readouterr().err
