"""A trial whose plan may be read early, from the command line: opened on purpose, at no price, out and in again."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.logbook import Logbook
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed, Sitting

START = date(2026, 3, 9)
REEDS = ("1-01", "1-02", "1-03", "1-04")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Twenty of 28 days are played; wetting in water is rated three points higher, give or take one."""
    path = tmp_path / "reeds.logbook"
    with Logbook.create(path) as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(
            Reed(reed=r, box="1", first_play=6.0, first_played=START - timedelta(days=9)) for r in REEDS)])
        plan = draw_up("wetting", logbook.frames().reeds, start=START, seed=3, instrument="clarinet", days=28,
                       design="day_by_day", trial="Wet or not", simulations=100, read_early=True).protocol
        logbook.start_trial(plan)
        for s in (s for s in plan.slots if s.day <= 20):
            way = plan.habit_for(s.reed, s.day)
            assert way is not None
            logbook.add(Sitting(date=START + timedelta(days=s.day - 1), reed=s.reed, play_min=10.0, habit=way.key,
                                overall=4.0 + 3 * (way.key == "water")
                                + (7 * s.day + 3 * s.order + int(s.reed[-1])) % 5 / 2))
    return path


def read(path: Path, capsys: pytest.CaptureFixture[str], day: int, *more: str) -> dict[str, object]:
    on = (START + timedelta(days=day - 1)).isoformat()
    assert main(["result", str(path), "--trial", "Wet or not", "--json", "--today", on, *more]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_it_is_opened_on_purpose_and_goes_by_the_odds(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sealed = read(book, capsys, 21)
    assert sealed["verdict"] is None
    assert sealed["on_the_way"] is None
    opened = read(book, capsys, 21, "--open-early", "my teacher asked")
    assert opened["verdict"] == "b_better"
    odds = opened["on_the_way"]
    assert isinstance(odds, dict)
    assert odds["decides"]
    assert odds["most"] >= odds["bar"] == 25
    assert {"odds_on_the_way"} <= {w["code"] for w in opened["warnings"]}  # type: ignore[attr-defined, index]
    assert "odds of 25 to 1" in str(opened["lines"])
    later = read(book, capsys, 22)
    assert (later["looks"], later["verdict"]) == (1, None)
    assert "price" not in json.dumps(later["warnings"])


def test_it_goes_out_and_in_again(book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    once, new = tmp_path / "once", tmp_path / "new.logbook"
    assert main(["export", str(book), str(once)]) == 0
    assert main(["import", str(once), "--into", str(new)]) == 0
    capsys.readouterr()
    first, second = (read(path, capsys, 21, "--open-early", "to see") for path in (book, new))
    assert first == second
