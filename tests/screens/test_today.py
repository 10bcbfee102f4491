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


def test_what_would_suit_the_rest_of_the_practice_is_said_once(tmp_path: Path) -> None:
    with Logbook.create(tmp_path / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=6, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 11))
        logbook.start_trial(draw_up("wetting", logbook.frame("reeds"), start=START, seed=1, instrument="clarinet",
                                    expected="same", simulations=100).protocol)
        frames = logbook.frames()
        (day,) = running(logbook.protocols(frames), frames, START)
    free = tuple(Line(None, reed, minutes, None, "free") for reed, minutes in (("1-01", 20.0), ("1-02", 0.0)))
    told = also_today(replace(day, play=replace(day.play, lines=free, unmet=())), set())
    assert told == ("For the rest of your practice, if you like: 1-01 (about 20 minutes), 1-02.",)
