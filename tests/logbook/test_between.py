"""What must hold between rows, on rows alone."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from reedlab.logbook.between import cross_check, reed_number
from reedlab.rows.values import read_row

TODAY = date(2026, 3, 20)
BOX = {"box": "1", "instrument": "clarinet"}
REED = {"reed": "1-01", "box": "1"}
SITTING = {"sitting": "s1", "date": "2026-03-05", "reed": "1-01", "play_min": 20}


def rows(**tables: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    sound = {"boxes": [BOX], "reeds": [REED], "sittings": [SITTING]} | tables
    return {t: [read_row(t, r)[0] | {k: r[k] for k in ("entry_id",) if k in r} for r in rs]
            for t, rs in sound.items()}


def test_sound_rows_have_no_fault() -> None:
    assert cross_check(rows(), TODAY) == []


@pytest.mark.parametrize(("tables", "table", "row", "column", "words"), [
    ({"reeds": [REED, REED]}, "reeds", 1, "reed", "a second time"),
    ({"reeds": [REED, {"reed": "1-1", "box": "1"}]}, "reeds", 1, "reed", "stands as '1-01'"),
    ({"reeds": [REED, {"reed": "2-01", "box": "1"}]}, "reeds", 1, "reed", "begins with its box: 1-01"),
    ({"reeds": [REED, {"reed": "3-01", "box": "3"}]}, "reeds", 1, "box", "list of boxes"),
    ({"sittings": [SITTING | {"reed": "1-02"}]}, "sittings", 0, "reed", "did you mean '1-01'"),
    ({"sittings": [SITTING | {"setup": "main"}]}, "sittings", 0, "setup", "list of set-ups"),
    ({"sittings": [SITTING | {"date": "2026-03-21"}]}, "sittings", 0, "date", "up to today, 2026-03-20"),
    ({"days": [{"date": "2026-03-21", "humidity_pct": 40, "pause": True}]}, "days", 0, "date", "up to today"),
    ({"boxes": [BOX | {"opened": "2026-04-01"}]}, "boxes", 0, "opened", "up to today"),
    ({"retirements": [{"reed": "1-01", "date": "2026-03-04", "reason": "lost"}]}, "sittings", 0, "date",
     "when reed 1-01 left service"),
    ({"sittings": [SITTING | {"sitting": f"s{n}", "play_min": 700} for n in range(3)]}, "sittings", 2, "play_min",
     "at most 1440 minutes"),
    ({"guesses": [{"trial": "x", "unit": "1-01", "date": "2026-03-05"}]}, "guesses", 0, "trial", "list of trials"),
    ({"week": [{"weekday": d, "play_min": 30} for d in ("monday", "Monday")]}, "week", 1, "weekday", "a second time"),
    ({"concerts": [{"date": "2026-04-05"}] * 2}, "concerts", 1, "date", "a second time"),
    ({"looks": [{"trial": "x", "date": "2026-03-05", "why": "y"}]}, "looks", 0, "trial", "list of trials"),
])
def test_fault_between_rows_is_found(
        tables: dict[str, Any], table: str, row: int, column: str, words: str) -> None:
    faults = cross_check(rows(**tables), TODAY)
    assert [(f.table, f.row, f.column) for f in faults] == [(table, row, column)]
    assert words in f"{faults[0].found} {faults[0].wanted}"


def test_a_holiday_may_be_written_down_ahead() -> None:
    assert cross_check(rows(days=[{"date": "2026-04-01", "pause": True}]), TODAY) == []


def test_a_concert_may_be_written_down_ahead() -> None:
    assert cross_check(rows(concerts=[{"date": "2026-04-01"}]), TODAY) == []


def test_a_new_retirement_before_a_known_sitting_is_its_own_fault() -> None:
    found = cross_check(rows(sittings=[SITTING | {"entry_id": 1}],
                             retirements=[{"reed": "1-01", "date": "2026-03-04", "reason": "lost"}]), TODAY)
    assert [(f.table, f.column) for f in found] == [("retirements", "date")]
    assert "2026-03-05 or later" in found[0].wanted


def test_a_sitting_whose_reed_is_unsure_does_not_contradict_a_retirement() -> None:
    assert cross_check(rows(sittings=[SITTING | {"unsure_reed": True}],
                            retirements=[{"reed": "1-01", "date": "2026-03-04", "reason": "lost"}]), TODAY) == []


def test_missing_values_do_not_hide_other_faults() -> None:
    found = cross_check(rows(sittings=[SITTING | {"date": "bad", "reed": "1-09"}]), TODAY)
    assert [f.column for f in found] == ["reed"]


def test_reed_code_is_box_and_number() -> None:
    assert reed_number("2-07") == reed_number("2-7") == ("2", 7)
