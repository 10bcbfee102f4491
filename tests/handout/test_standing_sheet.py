"""The week's sheet of a standing trial: one line a reed in service, minutes, done; no rating, no calendar."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import pytest

from reedlab.errands.papers import write_calendar, write_sheet
from reedlab.errors import InputError
from reedlab.handout.standing_sheet import standing_sheet
from reedlab.handout.week import week_of

from ..plan.test_standing import drawn, filled
from ..schedule.test_in_service import GONE, LATE, ON, frames


def test_one_line_a_reed_in_service_with_its_way() -> None:
    page = standing_sheet(LATE, week_of(LATE, frames(LATE, retirements=GONE), today=ON))
    for reed in ("1-01", "1-04", "1-05", "2-01", "2-02"):
        assert page.count(f">{reed}<") == 1
    for reed in ("1-02", "1-06"):  # gone, set aside
        assert f">{reed}<" not in page
    assert "No rating is needed" in page
    assert "Overall" not in page


def test_with_a_helper_no_way_is_told() -> None:
    hidden = replace(LATE, masked="helper")
    page = standing_sheet(hidden, week_of(hidden, frames(hidden), today=ON))
    assert not any(h.name in page for h in hidden.habits)
    assert page.count(">helper<") == 7


def test_it_is_written_from_a_logbook_and_a_calendar_is_refused(tmp_path: Path) -> None:
    with filled(tmp_path / "a.logbook") as book:
        book.start_trial(drawn(book).protocol)
        told = write_sheet(book, tmp_path / "s.html", today=date(2026, 3, 4))
        assert "1-01" in told.path.read_text(encoding="utf8")
        with pytest.raises(InputError, match="no calendar"):
            write_calendar(book, tmp_path / "c.ics", today=date(2026, 3, 4), stamp=datetime(2026, 3, 4).astimezone())
