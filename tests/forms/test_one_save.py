"""One Save on the Today page: one check, one write, one read for all forms, two schedules for each trial."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab import forms
from reedlab.forms.today_page import something_else
from reedlab.logbook import Logbook, _admission, _rows
from reedlab.schedule import make

from ._playing import said


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """Count openings of the logbook, rows read of it, cross-checks and schedules made."""
    seen: Counter[str] = Counter()

    def count(owner: Any, name: str, what: Callable[[Any], tuple[str, int]]) -> None:
        job = getattr(owner, name)

        def done(*args: Any, **more: Any) -> Any:
            out = job(*args, **more)
            key, n = what(out)
            seen[key] += n
            return out

        monkeypatch.setattr(owner, name, done)

    count(Logbook, "open", lambda _: ("opened", 1))
    count(Logbook, "frames_since", lambda _: ("page read", 1))
    count(Logbook, "frames", lambda _: ("all read", 1))
    count(_rows, "_read", lambda rows: ("rows", len(rows)))
    count(_admission, "faults_of", lambda _: ("rules", 1))
    count(make, "_one", lambda _: ("schedules", 1))
    return seen


def test_a_save_reads_checks_and_writes_no_more_than_it_needs(demo: Path, counted: Counter[str]) -> None:
    """Every sheet was open; all show the new state afterwards."""
    book = forms.here(demo, lambda: date(2025, 3, 14))
    form = forms.today(book)
    for _, name, _ in something_else._SHEETS:
        form.rarer.begin(name)
    counted.clear()
    form.lines[0].overall.put(7)
    form.lines[0].save.click()
    assert "Saved" in said(form)
    assert counted["opened"] == 2  # to write, and to read what all forms show then
    assert counted["page read"] == 2  # to look the entry over, and for the forms
    assert counted["all read"] == 0
    assert counted["rules"] <= 20  # each rule once, before and after
    assert counted["schedules"] == 2  # before, for what is due; after, for what is left
    assert counted["rows"] < 1200


def test_another_program_s_entry_is_seen(demo: Path) -> None:
    """What is kept of the logbook between forms is read anew as soon as anything was written."""
    book = forms.here(demo, lambda: date(2025, 3, 14))
    before = book.frames_now()
    assert book.frames_now() is before
    number = int(before.sittings["entry_id"].max())
    with Logbook.open(book.path) as other:
        other.withdraw("sittings", number)
    assert number not in set(book.frames_now().sittings["entry_id"])
