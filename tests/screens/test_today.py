"""What the Today page says beside its lines."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from reedlab.logbook import Logbook
from reedlab.plan import draw_up
from reedlab.rows.records import Box, Reed
from reedlab.schedule.days import Line
from reedlab.screens.due import running
from reedlab.screens.today import also_today

START = date(2026, 3, 9)


def test_what_is_true_of_several_reeds_is_said_once(tmp_path: Path) -> None:
    with Logbook.create(tmp_path / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=6, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 11))
        logbook.start_trial(draw_up("wetting", logbook.frame("reeds"), start=START, seed=1, instrument="clarinet",
                                    expected="same", simulations=100).protocol)
        frames = logbook.frames()
        (day,) = running(logbook.protocols(frames), frames, START)
    lines = [("free", "1-01", 20.0), ("free", "1-02", 20.0), ("break_in", "1-03", 10.0), ("rest", "1-04", 0.0),
             ("break_in", "1-05", 10.0), ("concert", "1-06", 0.0), ("slot", "1-07", 10.0), ("free", "1-08", 5.0)]
    play = tuple(Line(None, reed, minutes, None, kind) for kind, reed, minutes in lines)
    told = also_today(replace(day, play=replace(day.play, lines=play, unmet=(), said=())), set())
    assert told == (
        "Break in 1-03 and 1-05, about 10 minutes each.", "Let 1-04 rest.", "1-06 is for the concert.",
        "For the rest of your practice, if you like: 1-01 (about 20 minutes), 1-02 (about 20 minutes) and 1-08 (about "
        "5 minutes).")
