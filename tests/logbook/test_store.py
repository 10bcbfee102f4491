"""Entries go in checked, stay for good, and come out as typed frames."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

import pandas as pd
import pytest

from reedlab.errors import EntryRefused, InputError, LogbookError
from reedlab.logbook import Logbook, _rows, opening
from reedlab.rows.records import Box, Day, Look, Reed, Retirement, Sitting
from reedlab.rows.tables import TABLES, typed
from reedlab.trial.protocol import Habit, Protocol

from .conftest import Clock, a_plan


def sitting(**more: object) -> Sitting:
    return Sitting(**({"date": date(2026, 3, 10), "reed": "1-01", "play_min": 20} | more))  # type: ignore[arg-type]


def test_added_rows_come_back_typed_with_entry_number_and_moment(book: Logbook) -> None:
    frame = book.frame("sittings")
    assert list(frame.columns) == [*TABLES["sittings"].columns, "entry_id", "entered_at"]
    expected = typed("sittings", [])
    assert (frame[expected.columns].dtypes == expected.dtypes).all()
    assert frame["entry_id"].dtype == "int64"
    assert frame["entered_at"].iloc[0].endswith("Z")
    row = frame.set_index("sitting").loc["2026-03-05-1-01-1"]
    assert (row["play_min"], row["overall"], row["where"], row["setup"]) == (15, 7.5, "concert", None)


def test_empty_table_has_the_same_types_as_a_full_one(empty_book: Logbook, book: Logbook) -> None:
    for table in TABLES:
        assert (empty_book.frame(table).dtypes == book.frame(table).dtypes).all()


def test_frames_equal_the_single_frames(book: Logbook) -> None:
    frames = book.frames()
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(frames, table), book.frame(table))


def test_moment_is_kept_in_utc(empty_book: Logbook, clock: Clock) -> None:
    clock.now = datetime.fromisoformat("2026-03-20T23:30:00+05:00")
    empty_book.add(Box(box="1", instrument="clarinet"))
    assert empty_book.frame("boxes")["entered_at"].tolist() == ["2026-03-20T18:30:00Z"]
    assert empty_book.today == date(2026, 3, 20)


def test_sittings_are_named_by_day_reed_and_number(book: Logbook) -> None:
    a, b = book.add_many([sitting(), sitting()])
    names = book.frame("sittings").set_index("entry_id")["sitting"]
    assert [names[a], names[b]] == ["2026-03-10-1-01-1", "2026-03-10-1-01-2"]


def test_name_of_a_withdrawn_sitting_is_not_used_again(book: Logbook) -> None:
    book.withdraw("sittings", book.add(sitting()))
    again = book.add(sitting())
    assert book.frame("sittings").set_index("entry_id")["sitting"][again] == "2026-03-10-1-01-2"


def test_rows_come_by_date_then_order_then_as_entered(book: Logbook) -> None:
    book.add_many([sitting(reed="1-03"), sitting(reed="1-04", order=2), sitting(reed="1-05", order=1),
                   sitting(date=date(2026, 3, 9))])
    assert book.frame("sittings")["reed"].tolist()[-4:] == ["1-01", "1-05", "1-04", "1-03"]


def test_correction_supersedes_and_history_shows_both(book: Logbook) -> None:
    old = book.add(sitting(overall=6))
    new = book.correct("sittings", old, sitting(overall=8))
    assert book.frame("sittings").set_index("entry_id")["overall"].get(old) is None
    assert book.frame("sittings").set_index("entry_id")["overall"][new] == 8
    for entry in (old, new):
        chain = book.history("sittings", entry)
        assert chain["entry_id"].tolist() == [old, new]
        assert chain["overall"].tolist() == [6, 8]
        assert chain["supersedes"].isna().tolist() == [True, False]
    assert chain["sitting"].nunique() == 1


def test_withdrawn_entry_leaves_the_frame_but_not_the_history(book: Logbook) -> None:
    entry = book.add(sitting())
    n = len(book.frame("sittings"))
    book.withdraw("sittings", entry)
    assert len(book.frame("sittings")) == n - 1
    assert book.history("sittings", entry)["withdrawn"].tolist() == [False, True]


@pytest.mark.parametrize("change", ["correct", "withdraw"])
def test_entry_changed_before_cannot_be_changed_again(book: Logbook, change: str) -> None:
    entry = book.add(sitting())
    book.correct("sittings", entry, sitting(overall=5))
    with pytest.raises(LogbookError, match="corrected or withdrawn before"):
        book.correct("sittings", entry, sitting()) if change == "correct" else book.withdraw("sittings", entry)


def test_unknown_entry_and_table_are_named(book: Logbook) -> None:
    with pytest.raises(LogbookError, match="no entry 999 in sittings"):
        book.withdraw("sittings", 999)
    with pytest.raises(LogbookError, match="no entry 999 in days"):
        book.history("days", 999)
    with pytest.raises(InputError, match="no table 'sitings'"):
        book.frame("sitings")
    with pytest.raises(InputError, match="belongs into sittings"):
        book.correct("days", 1, sitting())


def test_sqlite_itself_refuses_to_change_or_delete_an_entry(book: Logbook) -> None:
    with closing(sqlite3.connect(book.path)) as raw, raw:
        for sql in ("UPDATE sittings SET overall = 10", "DELETE FROM sittings"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                raw.execute(sql)
    raw.close()


def test_view_of_current_rows_agrees_with_the_frame(book: Logbook) -> None:
    raw = sqlite3.connect(book.path)
    assert sorted(r[0] for r in raw.execute("SELECT entry_id FROM current_sittings")) \
        == sorted(book.frame("sittings")["entry_id"])
    raw.close()


def test_day_is_put_once_and_corrected_after(book: Logbook) -> None:
    first = book.put(Day(date=date(2026, 3, 12), humidity_pct=40))
    assert book.put(Day(date=date(2026, 3, 12), humidity_pct=40)) == first
    second = book.put(Day(date=date(2026, 3, 12), humidity_pct=45))
    assert book.history("days", first)["entry_id"].tolist() == [first, second]


@pytest.mark.parametrize(("record", "words"), [
    (sitting(reed="1-09"), "list of reeds"),
    (sitting(reed="1-06"), "when reed 1-06 left service"),
    (sitting(date=date(2026, 3, 21)), "up to today"),
    (sitting(overall=10.5), "a number from 0 to 10"),
    (sitting(play_min=float("nan")), "may not be empty"),
    (sitting(date=date(2026, 3, 5), play_min=719, habit="rinse"), "lick or soak"),
    (sitting(sitting="2026-03-05-1-01-1"), "a second time"),
    (Box(box="1", instrument="clarinet"), "a second time"),
    (Box(box="x", instrument="kazoo"), "bass clarinet"),
    (Reed(reed="1-1", box="1"), "stands as '1-01'"),
    (Reed(reed="9-01", box="9"), "list of boxes"),
    (Day(date=date(2026, 3, 5)), "a second time"),
    (Retirement(reed="1-06", date=date(2026, 3, 9), reason="lost"), "a second time"),
    (Retirement(reed="1-01", date=date(2026, 3, 4), reason="lost"), "2026-03-05 or later"),
    (Retirement(reed="1-01", date=date(2026, 3, 9), reason="bored"), "worn out"),
    (Look(trial="nothing", date=date(2026, 3, 5), why="?"), "list of trials"),
    (Look(trial="wetting", date=date(2026, 3, 4), why="?"), "when the trial began"),
])
def test_impossible_record_is_refused_and_nothing_is_written(book: Logbook, record: object, words: str) -> None:
    before = book.path.read_bytes()
    with pytest.raises(EntryRefused) as err:
        book.add(record)  # type: ignore[arg-type]
    assert words in str(err.value)
    assert str(err.value).startswith("Not saved")
    assert book.path.read_bytes() == before


def test_many_are_added_all_or_none_with_every_fault_named(book: Logbook) -> None:
    before = book.path.read_bytes()
    with pytest.raises(EntryRefused) as err:
        book.add_many([sitting(), sitting(overall=11), sitting(reed="9-01", play_min=-1)])
    assert [(f.line, f.column) for f in err.value.faults] == [(2, "overall"), (3, "play_min"), (3, "reed")]
    assert "sittings, row 3: `reed`" in str(err.value)
    assert book.path.read_bytes() == before


def test_day_longer_than_a_day_is_refused(book: Logbook) -> None:
    book.add_many([sitting(play_min=720), sitting(reed="1-02", play_min=700)])
    with pytest.raises(EntryRefused, match="1440 minutes a day"):
        book.add(sitting(reed="1-03", play_min=21))
    book.add(sitting(reed="1-03", play_min=20))


def test_change_that_would_leave_other_rows_dangling_is_refused(book: Logbook) -> None:
    reeds = book.frame("reeds").set_index("reed")["entry_id"]
    with pytest.raises(EntryRefused, match="sittings 2026-03-05-1-01-1"):
        book.withdraw("reeds", int(reeds["1-01"]))
    with pytest.raises(EntryRefused, match="list of reeds"):
        book.correct("reeds", int(reeds["1-02"]), Reed(reed="1-22", box="1"))


def test_fault_that_was_there_before_does_not_stop_new_entries(book: Logbook, clock: Clock) -> None:
    clock.now = datetime(2026, 3, 6, 12)  # the computer's clock set back: some rows are now of the future
    book.add(sitting(date=date(2026, 3, 6)))
    assert any("up to today" in s for s in book.check())


def test_trial_is_frozen_with_its_fingerprint_and_read_back_equal(book: Logbook) -> None:
    plan = a_plan("again", start=date(2026, 3, 10))
    book.start_trial(plan)
    assert book.protocol("again") == plan
    assert book.frame("trials").set_index("trial")["protocol_sha256"]["again"] == plan.sha256


def test_trial_that_cannot_start_says_why(book: Logbook) -> None:
    with pytest.raises(EntryRefused, match="a second time"):
        book.start_trial(a_plan())
    with pytest.raises(EntryRefused, match="'7-01' in the plan"):
        book.start_trial(reed_plan("7-01", "1-02"))
    with pytest.raises(EntryRefused, match="it left on 2026-03-08"):
        book.start_trial(reed_plan("1-06", "1-02"))
    with pytest.raises(EntryRefused, match="one trial, one instrument"):
        book.start_trial(reed_plan("1-03", "1-02", instrument="alto saxophone"))


def reed_plan(a: str, b: str, **more: object) -> Protocol:
    from reedlab.trial.protocol import Unit

    return a_plan("lives", design="reed_by_reed", outcome="mean_rating", slots=(), start=date(2026, 3, 10),
                  units=(Unit(a, "b1", (a,)), Unit(b, "b1", (b,))),
                  habits=(Habit("lick", "wetting in the mouth"), Habit("soak", "soaking")), **more)


def test_trial_is_ended_once_and_stays(book: Logbook) -> None:
    row = book.frame("trials").iloc[0]
    assert (row["ended"], row["ended_why"]) == (pd.Timestamp("2026-03-06"), "school holidays")
    with pytest.raises(LogbookError, match="ended on 2026-03-06 already"):
        book.end_trial("wetting", date(2026, 3, 7), "again")
    with pytest.raises(LogbookError, match="stays in the logbook"):
        book.withdraw("trials", int(row["entry_id"]))
    with pytest.raises(LogbookError, match="It has 'wetting'"):
        book.protocol("weting")


def test_look_is_recorded_once_a_day_and_cannot_be_taken_back(book: Logbook) -> None:
    first = book.record_look("wetting", date(2026, 3, 6), "curious")
    assert book.record_look("wetting", date(2026, 3, 6), "still curious") == first
    with pytest.raises(LogbookError, match="cannot be unseen"):
        book.withdraw("looks", first)
    with pytest.raises(LogbookError, match="no trial 'x'"):
        book.record_look("x", date(2026, 3, 6), "curious")


def test_habit_is_free_outside_a_trial(book: Logbook) -> None:
    book.add_many([sitting(reed="1-03", habit="rinse", date=date(2026, 3, 5)), sitting(habit="rinse")])


def test_sound_logbook_has_nothing_to_report(book: Logbook) -> None:
    assert book.check() == []


def test_check_tells_of_rows_that_contradict_each_other(book: Logbook) -> None:
    """Such rows came in before a rule was there; `_rows.insert` asks for none."""
    with book.entries() as entries:
        rows = {t: next(iter(entries[t][0])) for t in ("sittings", "trials")}
    rows["sittings"] |= {"sitting": "late", "reed": "1-33", "setup": "none"}
    rows["trials"] |= {"trial": "other", "started": date(2026, 3, 5), "ended": None,
                       "protocol": rows["trials"]["protocol"].replace('"matters":1.0', '"matters":0.1')}
    for table, row in rows.items():
        _rows.insert(book._connection, table, row, entered_at="2026-03-19T20:00:00Z")
    with pytest.raises(LogbookError, match="no longer matches its fingerprint"):
        book.protocol("other")
    told = "\n".join(book.check())
    assert "fingerprint" in told
    assert "sittings late" in told
    assert "set-up" in told


def test_closed_and_read_only_logbooks_say_so(book: Logbook) -> None:
    book.close()
    book.close()
    with pytest.raises(LogbookError, match="closed"):
        book.frame("days")
    before = book.path.read_bytes()
    with Logbook.open(book.path, read_only=True) as again, pytest.raises(LogbookError, match="reading only"):
        again.add(sitting())
    assert book.path.read_bytes() == before


def test_another_writer_is_reported_and_nothing_is_lost(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "WAIT_S", 0.05)
    other = sqlite3.connect(book.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    n = len(book.frame("sittings"))
    with pytest.raises(LogbookError, match="Another program"):
        book.add(sitting())
    other.execute("ROLLBACK")
    other.close()
    book.add(sitting())
    assert len(book.frame("sittings")) == n + 1


def test_two_open_logbooks_see_each_others_entries(book: Logbook, clock: Clock) -> None:
    with Logbook.open(book.path, now=clock) as second:
        second.add(sitting())
        assert len(book.frame("sittings")) == len(second.frame("sittings"))
        with pytest.raises(EntryRefused, match="a second time"):
            book.add(sitting(sitting="2026-03-10-1-01-1"))


def test_failure_in_the_midst_of_writing_takes_all_of_it_back(
        book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    from reedlab.logbook import _rows

    real, calls = _rows.insert, []

    def failing(*args: object, **more: object) -> int:
        calls.append(1)
        if len(calls) == 2:
            raise RuntimeError("power cut")
        return real(*args, **more)  # type: ignore[arg-type]

    before = len(book.frame("sittings"))
    monkeypatch.setattr(_rows, "insert", failing)
    with pytest.raises(RuntimeError, match="power cut"):
        book.add_many([sitting(), sitting()])
    assert len(book.frame("sittings")) == before


def test_a_season_of_sittings_is_added_at_once_and_read_quickly(tmp_path: Path, clock: Clock) -> None:
    clock.now = datetime(2027, 1, 1, 12)
    with Logbook.create(tmp_path / "big.sqlite", now=clock) as book:
        book.add_many([Box(box="1", instrument="clarinet"),
                       *(Reed(reed=f"1-{n:02d}", box="1") for n in range(1, 11))])
        days = pd.date_range("2026-01-01", periods=300)
        book.add_many([Sitting(date=d.date(), reed=f"1-{n:02d}", play_min=12, overall=7)
                       for d in days for n in range(1, 8)])
        assert len(book.frames().sittings) == 2100


def test_together_is_all_or_nothing(book: Logbook) -> None:
    before = len(book.frame("sittings"))

    def half() -> None:
        with book.together():
            book.add(Sitting(date=date(2026, 3, 7), reed="1-01", play_min=5))
            book.put(Reed(reed="1-01", box="none"))

    with pytest.raises(EntryRefused):
        half()
    assert len(book.frame("sittings")) == before
    with book.together():
        book.add(Sitting(date=date(2026, 3, 7), reed="1-01", play_min=5))
        number = book.put(Reed(reed="1-01", box="1", first_play=5.0))
        assert len(book.frame("sittings")) == before + 1
    assert len(book.frame("sittings")) == before + 1
    assert number in set(book.frame("reeds")["entry_id"])


def test_a_frame_goes_in_whole_or_not_at_all(empty_book: Logbook) -> None:
    days = pd.DataFrame({"date": ["2026-03-02", "2026-03-03"], "humidity_pct": [40.0, 45.0]})
    assert len(empty_book.add_frame("days", days)) == 2
    with pytest.raises(EntryRefused) as refused:
        empty_book.add_frame("days", pd.DataFrame({"date": ["2026-03-04", "4.3.2026"], "humidity_pct": [140.0, 45.0]}))
    assert [(f.line, f.column) for f in refused.value.faults] == [(1, "humidity_pct"), (2, "date")]
    assert empty_book.frame("days")["humidity_pct"].tolist() == [40.0, 45.0]
