"""A reed serves one trial at a time: refused at every door of the logbook."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.errors import EntryRefused, ExchangeError
from reedlab.logbook import Logbook, _rows
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.rows.records import Box, Day, Reed, Retirement, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
DAY = timedelta(days=1)
REEDS = ("1-01", "1-02")


def plan(trial: str, start: date = START, reeds: tuple[str, str] = REEDS, **more: Any) -> Protocol:
    given: dict[str, Any] = {
        "question": "drying", "ask": "?", "instrument": "clarinet", "habits": (Habit("case", "a"), Habit("open", "b")),
        "design": "reed_by_reed", "outcome": "mean_rating", "matters": 1.0, "days": 10,
        "units": tuple(Unit(r, "s", (r,)) for r in reeds), "dealt": ("case", "open"),
        "slots": tuple(Slot(d, 1, reeds[0]) for d in range(1, 11)), "seed": 1}
    return Protocol(trial=trial, start=start, **(given | more))


ON_AND_ON = {"question": "rotation", "outcome": "life_hours", "matters": 1.5, "same_days": False, "cap_hours": 2.0}


@pytest.fixture
def started(empty_book: Logbook) -> Logbook:
    """A logbook of 20 March 2026 with a trial of 2 to 11 March."""
    empty_book.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=f"1-0{n}", box="1") for n in range(1, 5))])
    empty_book.start_trial(plan("first"))
    return empty_book


def test_starting_on_a_reed_in_use_is_refused_and_names_reeds_and_trial(started: Logbook) -> None:
    with pytest.raises(EntryRefused) as err:
        started.start_trial(plan("second", START + DAY, ("1-02", "1-03")))
    (fault,) = err.value.faults
    assert (fault.file, fault.line, fault.column) == ("trials", 1, "protocol")
    assert "reed 1-02 in the plan" in fault.found
    assert "'first' has it" in fault.wanted
    assert list(started.frame("trials")["trial"]) == ["first"]


def test_other_reeds_or_a_later_start_are_taken(started: Logbook) -> None:
    started.start_trial(plan("beside", START, ("1-03", "1-04")))
    started.start_trial(plan("after", START + 10 * DAY))
    assert started.check() == []


def test_a_pause_holds_the_reeds_for_longer_when_a_trial_starts(started: Logbook) -> None:
    started.add(Day(date=START + 3 * DAY, pause=True))
    with pytest.raises(EntryRefused, match="'first' has them"):
        started.start_trial(plan("after", START + 10 * DAY))
    started.start_trial(plan("after", START + 11 * DAY))


def test_a_pause_written_down_late_is_taken_and_no_fault(started: Logbook) -> None:
    started.start_trial(plan("after", START + 10 * DAY))
    started.add(Day(date=START + 3 * DAY, pause=True))
    assert started.check() == []


def test_a_trial_ended_by_hand_frees_its_reeds(started: Logbook) -> None:
    started.end_trial("first", START + 4 * DAY, "enough")
    started.start_trial(plan("second", START + 4 * DAY))
    assert started.check() == []


def test_a_trial_without_a_last_day_holds_a_reed_until_it_is_done(empty_book: Logbook) -> None:
    empty_book.add_many([Box(box="1", instrument="clarinet"), *(Reed(reed=f"1-0{n}", box="1") for n in range(1, 5))])
    empty_book.start_trial(plan("on and on", **ON_AND_ON))
    later = plan("later", START + 15 * DAY)
    with pytest.raises(EntryRefused, match="reeds 1-01, 1-02 in the plan"):
        empty_book.start_trial(later)
    empty_book.add(Sitting(date=START + DAY, reed="1-01", play_min=120))
    with pytest.raises(EntryRefused, match="reed 1-02 in the plan"):
        empty_book.start_trial(later)
    empty_book.add(Retirement(reed="1-02", date=START + 15 * DAY, reason="worn_out"))
    empty_book.start_trial(later)


def both(folder: Path, book: Logbook, late: Protocol) -> Path:
    """Write a folder with the logbook's trial and a second one in it."""
    export_folder(book, folder)
    (folder / "protocols" / "late.json").write_text(late.to_json(), encoding="utf-8")
    lines = (folder / "trials.csv").read_text(encoding="utf-8").splitlines()
    head = lines[0].split(",")
    cells = {"trial": late.trial, "started": late.start.isoformat(), "protocol_sha256": late.sha256,
             "protocol_file": "late.json", "entry_id": "99", "entered_at": "2026-03-20T08:00:00Z"}
    lines.append(",".join(cells.get(c, "") for c in head))
    (folder / "trials.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize("into_empty", [True, False])
def test_import_names_the_row_of_the_trial_that_takes_a_reed_in_use(
        started: Logbook, tmp_path: Path, into_empty: bool) -> None:
    folder = both(tmp_path / "out", started, plan("second", START + DAY))
    target = Logbook.create(tmp_path / "other.logbook", now=lambda: started._now()) if into_empty else started
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, target)
    (fault,) = err.value.faults
    assert (fault.file, fault.line, fault.column) == ("trials.csv", 3, "protocol_file")
    assert "'first' has them" in fault.wanted
    assert len(target.frame("trials")) == (0 if into_empty else 1)
    if into_empty:
        target.close()


def test_import_by_hand_is_refused_in_dealt_csv_or_trials_csv(hand: Callable[..., Path], empty_book: Logbook) -> None:
    from .conftest import HAND

    trials, dealt = str(HAND["trials"]), str(HAND["dealt"])
    second = trials.splitlines()[1].replace("wet,2026-03-05", "again,2026-03-06")
    more = "".join(line.replace("wet,", "again,", 1) + "\n" for line in dealt.splitlines()[1:])
    with pytest.raises(ExchangeError) as err:
        import_folder(hand(trials=trials + second + "\n", dealt=dealt + more), empty_book)
    (fault,) = err.value.faults
    assert (fault.file, fault.line) == ("trials.csv", 3)
    assert "1-01, 1-02" in fault.found
    assert "'wet' has them" in fault.wanted


def test_check_names_a_pair_that_came_in_before_and_both_can_be_ended(started: Logbook) -> None:
    late = plan("second", START + DAY)
    row = {"trial": late.trial, "started": late.start, "ended": None, "ended_why": None,
           "protocol_sha256": late.sha256, "protocol": late.to_json()}
    _rows.insert(started._connection, "trials", row, entered_at="2026-03-02T08:00:00Z")
    (told,) = started.check()
    assert "trials second" in told
    assert "'first' has them" in told
    started.add(Sitting(date=START + 2 * DAY, reed="1-01", play_min=10))  # the diary goes on
    started.end_trial("first", START + 5 * DAY, "two at once")
    started.end_trial("second", START + 5 * DAY, "two at once")
    assert started.frame("trials")["ended_why"].tolist() == ["two at once"] * 2
