"""What to play now, on the command line."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.cli.now import what_now
from reedlab.demo import set_up_demo
from reedlab.logbook import Logbook
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
PLAN = Protocol(
    trial="Wetting", question="wetting", ask="?", instrument="clarinet",
    habits=(Habit("mouth", "mouth", "Two minutes."), Habit("water", "water", "One minute.")),
    design="day_by_day", outcome="day_rating", matters=1.0, start=START, days=2,
    units=(Unit("a", "s", ("1-01",), (("1-01", 1),)), Unit("b", "s", ("1-01",), (("1-01", 2),))),
    dealt=("mouth", "water"), slots=(Slot(1, 1, "1-01"), Slot(2, 1, "1-01")))
REEDS = [{"reed": f"1-{n:02d}", "box": "1"} for n in range(1, 6)]


def frames(**more: list[dict[str, object]]) -> Frames:
    return Frames.of(boxes=[{"box": "1", "instrument": "clarinet"}], reeds=REEDS, **more)


def told(plan: Protocol, on: date, **more: list[dict[str, object]]) -> str:
    return "\n".join(what_now({plan.trial: plan}, frames(**more), on))


def test_reed_minutes_and_way_of_the_day_are_said() -> None:
    said = told(PLAN, START)
    assert "Wetting, day 1 of 2." in said
    assert "1. 1-01, 10 minutes, then rate it" in said
    assert "Mouth. Two minutes." in said
    assert "Water. One minute." in told(PLAN, START + timedelta(days=1))


def test_masked_way_is_not_said() -> None:
    from dataclasses import replace

    said = told(replace(PLAN, masked="helper"), START)
    assert "Your helper makes it ready." in said
    assert "Mouth" not in said


def test_no_rating_stands_in_what_is_said() -> None:
    row: dict[str, object] = {"date": START, "reed": "1-01", "play_min": 10.0, "overall": 9.5, "where": "practice"}
    said = told(PLAN, START, sittings=[row])
    assert "All done for today." in said
    assert "9.5" not in said


def test_day_off_pause_and_waiting_are_said() -> None:
    assert "not playing today" in told(PLAN, START, days=[{"date": START, "day_off": True}])
    assert "not playing today, the rest moves along" in told(PLAN, START, days=[{"date": START, "pause": True}])
    assert "begins on Monday 2 March" in told(PLAN, START - timedelta(days=3))


def test_without_a_trial_reeds_take_turns() -> None:
    said = "\n".join(what_now({}, frames(), START))
    assert "No trial is running. Your reeds in turn:" in said
    assert said.count("break-in, day 1 of 3") == 3


def test_command_reads_only_and_prints_the_day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = set_up_demo(tmp_path)
    before = path.read_bytes()
    assert main(["today", str(path)]) == 0
    assert "day 5 of 14" in capsys.readouterr().out
    assert path.read_bytes() == before
    with Logbook.create(tmp_path / "empty.logbook"):
        pass
    assert main(["today", str(tmp_path / "empty.logbook")]) == 0
    assert "There are no reeds in this logbook yet." in capsys.readouterr().out
    assert main(["today", str(tmp_path / "nowhere")]) == 2


def test_the_week_of_the_logbook_counts_and_its_lack_is_said_once() -> None:
    assert told(PLAN, START).count("60 minutes a day") == 1
    week = [{"weekday": START.strftime("%A").casefold(), "play_min": 0}, {"weekday": "tuesday", "play_min": 30}]
    said = told(PLAN, START, week=week)
    assert "not playing today" in said
    assert "60 minutes a day" not in said
    off = "\n".join(what_now({}, frames(week=week), START))
    assert "No trial is running. Not playing today." in off
    assert "break-in" not in off


def test_a_concert_of_the_logbook_is_told_on_its_day() -> None:
    played: list[dict[str, object]] = [
        {"date": START - timedelta(days=d), "reed": r, "play_min": 30, "overall": 8}
        for r in ("1-02", "1-03") for d in (3, 4, 5, 6)]
    assert "(for the concert)" in told(PLAN, START, sittings=played, concerts=[{"date": START, "play_min": 60}])


def test_what_two_trials_share_is_said_once() -> None:
    from dataclasses import replace

    other = replace(PLAN, trial="Wetting again", dealt=("water", "mouth"),
                    units=(Unit("a", "s", ("1-02",), (("1-02", 1),)), Unit("b", "s", ("1-02",), (("1-02", 2),))),
                    slots=(Slot(1, 1, "1-02"), Slot(2, 1, "1-02")))
    rows = [{"trial": p.trial, "started": START, "protocol_sha256": p.sha256, "protocol": p.to_json()}
            for p in (PLAN, other)]
    both = frames(trials=rows, week=[{"weekday": "monday", "play_min": 15}])
    said = "\n".join(what_now({p.trial: p for p in (PLAN, other)}, both, START))
    assert said.count("The ratings of your 2 trials take 20 minutes") == 1
