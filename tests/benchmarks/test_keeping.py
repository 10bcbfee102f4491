"""Short forms of the harnesses that attack the logbook: bits turned over, programs killed, a crowd at once."""

from __future__ import annotations

from pathlib import Path

from .bit_flips import demo_file, flips
from .crowd import crowd
from .kills import JOBS, kills


def test_no_bit_turned_over_is_read_without_a_word(tmp_path: Path) -> None:
    found = flips(demo_file(tmp_path), 40, seed=7)
    assert sum(found.values()) == 40
    assert set(found) <= {"nothing", "named", "refused"}, found
    assert found["named"] > 0


def test_no_kill_loses_or_doubles_an_entry(tmp_path: Path) -> None:
    faults, done, acknowledged = kills(tmp_path, 24, seed=3, longest=0.4)
    assert faults == []
    assert set(done) == set(JOBS)
    assert acknowledged > 0


def test_nothing_is_lost_or_refused_in_a_crowd(tmp_path: Path) -> None:
    seen = crowd(tmp_path / "reeds.logbook", 60, writers=3, readers=2)
    assert seen.faults == []
    assert seen.there == 60
    assert seen.readings
