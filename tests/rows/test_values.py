"""A value or a row is read as it was meant, or refused with the fix."""

from __future__ import annotations

from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest

from reedlab.rows.tables import TABLES
from reedlab.rows.values import nearest, read_row, read_value, shown

SITTING = {"date": "2026-03-01", "reed": "2-07", "play_min": "20"}


@pytest.mark.parametrize(("column", "given", "value"), [
    ("date", "2026-03-01", date(2026, 3, 1)),
    ("date", " 2026-03-01 ", date(2026, 3, 1)),
    ("date", pd.Timestamp("2026-03-01"), date(2026, 3, 1)),
    ("date", datetime(2026, 3, 1, 9), date(2026, 3, 1)),
    ("date", date(2026, 3, 1), date(2026, 3, 1)),
    ("play_min", "7.5", 7.5),
    ("play_min", np.float32(7.5), 7.5),
    ("play_min", 7, 7.0),
    ("stiffness", "−1", -1.0),
    ("overall", "", None),
    ("overall", float("nan"), None),
    ("overall", pd.NA, None),
    ("order", "2", 2),
    ("order", 2.0, 2),
    ("order", np.int64(2), 2),
    ("waterlogged", "", False),
    ("waterlogged", None, False),
    ("waterlogged", "Yes", True),
    ("waterlogged", "0", False),
    ("waterlogged", np.True_, True),
    ("where", "Concert", "concert"),
    ("remark", " a\r\nb ", "a\nb"),
    ("remark", "  ", None),
])
def test_value_is_read(column: str, given: object, value: object) -> None:
    got, want = read_value(TABLES["sittings"].field(column), given)
    assert want is None
    assert got == value
    assert type(got) is type(value)


@pytest.mark.parametrize(("column", "given", "words"), [
    ("date", "31.3.2026", "year-month-day"),
    ("date", "2026-02-31", "calendar"),
    ("date", "yesterday", "2026-03-01"),
    ("date", "0206-03-01", "year from"),
    ("date", "", "empty"),
    ("date", pd.NaT, "empty"),
    ("play_min", "7,5", "decimal point, not a comma: 7.5"),
    ("play_min", "half an hour", "a number from 0 to 720"),
    ("play_min", "-5", "0 to 720"),
    ("play_min", "inf", "a number"),
    ("play_min", "nan", "a number"),
    ("play_min", "1e999", "a number"),
    ("play_min", 10**400, "a number"),
    ("play_min", True, "a number"),
    ("play_min", "٣", "a number"),
    ("overall", 11, "0 to 10"),
    ("order", "1.5", "whole number"),
    ("waterlogged", "perhaps", "true or false"),
    ("waterlogged", 2, "true or false"),
    ("where", "rehersal", "did you mean 'rehearsal'"),
    ("remark", "a\x00b", "control"),
    ("remark", "x" * 10_001, "at most"),
])
def test_bad_value_is_refused_with_what_is_wanted(column: str, given: object, words: str) -> None:
    got, want = read_value(TABLES["sittings"].field(column), given)
    assert got is None
    assert want is not None
    assert words in want


@pytest.mark.parametrize("code", ["2_07", "207", "2-0007", "2-A", "a b-1", "2-07 "[:4] + "x"])
def test_reed_code_of_another_form_is_refused(code: str) -> None:
    assert "such as 2-07" in str(read_value(TABLES["reeds"].field("reed"), code)[1])


def test_row_reports_every_fault_at_once() -> None:
    faults = read_row("sittings", {"date": "x", "reed": "", "play_min": "a", "overall": 11, "tome": 3})[1]
    assert [f.column for f in faults] == ["tome", "date", "reed", "play_min", "overall"]
    assert "did you mean 'tone'" in faults[0].wanted
    assert faults[2].found == "nothing"


def test_sound_row_has_all_columns_in_order_and_no_fault() -> None:
    row, faults = read_row("sittings", SITTING)
    assert not faults
    assert list(row) == [*TABLES["sittings"].columns]
    assert row["where"] is None
    assert row["from_memory"] is False


def test_checking_changes_nothing_that_was_read_before() -> None:
    row, _ = read_row("sittings", SITTING)
    assert read_row("sittings", row) == (row, [])


def test_nearest_name_is_offered_only_if_near() -> None:
    assert nearest("Overal", ["overall", "tone"]) == "; did you mean 'overall'?"
    assert nearest("xyz", ["overall", "tone"]) == ""


def test_shown_values_are_plain() -> None:
    assert [shown(v) for v in (None, 7.0, 0.25, date(2026, 3, 1), True, "a\x07b")] == [
        "nothing", "7", "0.25", "2026-03-01", "true", "'a?b'"]
    assert len(shown("y" * 500)) < 50
