"""What the check says of odd entries: asked for while the trial runs, unless the player confirmed them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
REEDS = ("1-01", "1-02", "1-03", "1-04")


def checked(folder: Path, capsys: pytest.CaptureFixture[str], confirmed: list[bool], day: int = 4) -> str:
    path = folder / "reeds.logbook"
    with Logbook.create(path) as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=r, box="1", first_play=6) for r in REEDS)])
        logbook.start_trial(Protocol(
            trial="Open or not", question="drying", ask="?", instrument="clarinet",
            habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
            design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=6,
            units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
            dealt=("case", "open", "open", "case"),
            slots=tuple(Slot(d, k + 1, r) for d in range(1, 7) for k, r in enumerate(REEDS)), seed=2))
        logbook.add_many(Sitting(date=START + timedelta(days=k), reed="1-01", play_min=90, overall=6, confirmed=said)
                         for k, said in enumerate(confirmed))
    assert main(["check", str(path), "--today", (START + timedelta(days=day)).isoformat()]) == 0
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("confirmed", "says"), [
    ([True, True], "You confirmed each of them."),
    ([True], "You confirmed this."),
    ([True, False, False], "You confirmed 1 of them. Please look at the others: a slip can still be put right."),
    ([False, False], "less for a new reed. Please look at them: a slip can still be put right."),
    ([False], "Please look at it: a slip"),
])
def test_check_says_what_was_confirmed_instead_of_asking_again(
        confirmed: list[bool], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, confirmed)
    assert "past the daily limit" in told
    assert says in told
    assert ("Please look" in told) is (not all(confirmed))


def test_after_the_end_nothing_is_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Please look" not in checked(tmp_path, capsys, [False], day=12)
