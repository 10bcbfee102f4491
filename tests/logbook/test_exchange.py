"""Out and in again loses nothing; by hand, only what the player has is needed."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from reedlab.errors import ExchangeError, LogbookError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.rows.records import Day, Sitting
from reedlab.rows.tables import TABLES

from .conftest import HAND, Clock

Hand = Callable[..., Path]


def contents(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_export_import_export_gives_the_same_bytes(book: Logbook, empty_book: Logbook, tmp_path: Path,
                                                   clock: Clock) -> None:
    export_folder(book, tmp_path / "one")
    clock.now = clock.now.replace(month=9)  # reading in later must not change when things were entered
    import_folder(tmp_path / "one", empty_book)
    export_folder(empty_book, tmp_path / "two")
    one = contents(tmp_path / "one")
    assert one == contents(tmp_path / "two")
    assert set(one) == {*(f"{t}.csv" for t in TABLES), "datapackage.json", "protocols/wetting.json",
                        "history/days.csv", "history/sittings.csv", "history/trials.csv"}


def test_frames_and_history_survive_the_round_trip(book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    import_folder(tmp_path / "one", empty_book)
    for table in TABLES:
        pd.testing.assert_frame_equal(book.frame(table), empty_book.frame(table))
        for entry in book.frame(table)["entry_id"]:
            pd.testing.assert_frame_equal(book.history(table, entry), empty_book.history(table, entry))
    assert empty_book.protocol("wetting") == book.protocol("wetting")
    assert empty_book.check() == []


def test_awkward_texts_and_numbers_are_exact(book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    import_folder(tmp_path / "one", empty_book)
    assert empty_book.frame("reeds")["remark"].iloc[-1] == "first line\nsecond line"
    assert empty_book.frame("setups")["ligature"].iloc[0] == 'the "old" one'
    assert 1 / 3 in empty_book.frame("sittings")["play_min"].tolist()


def test_own_export_read_into_the_same_logbook_adds_nothing(book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    before = book.path.read_bytes()
    report = import_folder(tmp_path / "one", book)
    assert sum(report.added.values()) == report.history == 0
    assert sum(report.skipped.values()) == sum(len(book.frame(t)) for t in TABLES)
    assert "Nothing new" in str(report)
    assert book.path.read_bytes() == before


def test_an_export_from_before_week_concerts_and_guesses_still_goes_in(
        book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    for new in ("week", "concerts", "guesses"):
        (tmp_path / "one" / f"{new}.csv").unlink()
    for file in (tmp_path / "one" / "sittings.csv", tmp_path / "one" / "history" / "sittings.csv"):
        pd.read_csv(file, dtype=str).drop(columns="confirmed").to_csv(file, index=False)
    import_folder(tmp_path / "one", empty_book)
    assert not empty_book.frame("sittings")["confirmed"].any()
    pd.testing.assert_frame_equal(empty_book.frame("sittings"), book.frame("sittings"))
    assert len(empty_book.frame("week")) == len(empty_book.frame("concerts")) == len(empty_book.frame("guesses")) == 0


def test_a_week_and_concerts_by_hand_go_in_with_every_fault_named(hand: Hand, empty_book: Logbook) -> None:
    folder = hand(week="weekday,play_min\nMonday,60\nsunday,0\n", concerts="date\n2030-05-01\n")
    import_folder(folder, empty_book)
    assert empty_book.frame("week").set_index("weekday")["play_min"].to_dict() == {"monday": 60, "sunday": 0}
    assert empty_book.frame("concerts")["date"].dt.date.tolist() == [date(2030, 5, 1)]
    (folder / "week.csv").write_text("weekday,play_min\nmonday,90\nsonday,30\ntuesday,721\n", encoding="utf-8")
    with pytest.raises(ExchangeError) as told:
        import_folder(folder, empty_book)
    faults = {(f.file, f.line, f.column) for f in told.value.faults}
    assert faults == {("week.csv", 2, "play_min"), ("week.csv", 3, "weekday"), ("week.csv", 4, "play_min")}


def test_older_export_read_in_again_brings_nothing_back(book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    sittings = book.frame("sittings").set_index("sitting")["entry_id"]
    book.withdraw("sittings", int(sittings["2026-03-06-1-05-1"]))
    n = len(book.frame("sittings"))
    import_folder(tmp_path / "one", book)
    assert len(book.frame("sittings")) == n


def test_export_of_one_logbook_goes_into_another_with_its_history(
        book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    empty_book.add(Day(date=date(2026, 3, 1), humidity_pct=30))
    export_folder(book, tmp_path / "one")
    report = import_folder(tmp_path / "one", empty_book)
    assert report.added["days"] == 2
    days = empty_book.frame("days").set_index("date")
    chain = empty_book.history("days", int(days.loc["2026-03-05", "entry_id"]))
    assert chain["humidity_pct"].tolist() == [41.5, 42]
    assert empty_book.check() == []


def test_line_ends_byte_order_mark_and_other_truth_words_are_accepted(hand: Hand, empty_book: Logbook) -> None:
    text = "date,day_off,pause\r\n2026-03-05,yes,0\r\n2026-03-06,1,NO\r\n"
    import_folder(hand(days=b"\xef\xbb\xbf" + text.encode()), empty_book)
    assert empty_book.frame("days")["day_off"].tolist() == [True, True]
    assert empty_book.frame("days")["pause"].tolist() == [False, False]


def test_few_files_and_columns_are_enough_by_hand(hand: Hand, empty_book: Logbook) -> None:
    report = import_folder(hand(trials=None, dealt=None), empty_book)
    assert report.added["sittings"] == 3
    assert str(report) == "Read in: 1 box, 4 reeds, 3 sittings."
    assert empty_book.frame("sittings")["sitting"].tolist() == [
        "2026-03-05-1-01-1", "2026-03-05-1-02-1", "2026-03-06-1-01-1"]


def test_folder_grown_by_hand_adds_only_the_new_rows(hand: Hand, empty_book: Logbook) -> None:
    folder = hand()
    import_folder(folder, empty_book)
    (folder / "sittings.csv").write_text(str(HAND["sittings"]) + "2026-03-06,1-01,25,8,\n")
    report = import_folder(folder, empty_book)
    assert report.added["sittings"] == 1
    assert report.skipped["sittings"] == 3
    assert "4 rows" not in str(report)
    assert empty_book.frame("sittings")["sitting"].tolist()[-1] == "2026-03-06-1-01-2"


def test_columns_the_file_does_not_have_do_not_contradict_the_logbook(hand: Hand, empty_book: Logbook) -> None:
    folder = hand()
    import_folder(folder, empty_book)
    (folder / "reeds.csv").write_text("reed,box\n1-01,1\n")
    assert import_folder(folder, empty_book).skipped["reeds"] == 1


def test_imported_file_is_enough_when_the_logbook_has_the_rest(
        hand: Hand, empty_book: Logbook, tmp_path: Path) -> None:
    import_folder(hand(), empty_book)
    more = tmp_path / "more"
    more.mkdir()
    (more / "sittings.csv").write_text("date,reed,play_min\n2026-03-07,1-03,5\n")
    assert import_folder(more, empty_book).added["sittings"] == 1


def test_days_copy_is_made_before_an_import_into_a_used_logbook(hand: Hand, book: Logbook, tmp_path: Path) -> None:
    more = tmp_path / "more"
    more.mkdir()
    (more / "days.csv").write_text("date\n2026-03-01\n")
    n = len(book.frame("days"))
    import_folder(more, book)
    with Logbook.open(tmp_path / "backups" / "reeds-2026-03-20.sqlite", read_only=True) as copy:
        assert len(copy.frame("days")) == n


def test_failure_in_the_midst_of_an_import_leaves_nothing(
        hand: Hand, empty_book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    from reedlab.logbook import _rows

    real = _rows.insert

    def failing(connection: sqlite3.Connection, table: str, *args: object, **more: object) -> int:
        if table == "sittings":
            raise sqlite3.OperationalError("database or disk is full")
        return real(connection, table, *args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(_rows, "insert", failing)
    with pytest.raises(LogbookError, match="disk is full"):
        import_folder(hand(), empty_book)
    assert len(empty_book.frame("boxes")) == 0


def test_export_replaces_an_earlier_one_and_leaves_other_files(book: Logbook, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    export_folder(book, folder)
    (folder / "mine.txt").write_text("kept")
    book.add(Sitting(date=date(2026, 3, 10), reed="1-01", play_min=10))
    export_folder(book, folder)
    assert "2026-03-10" in (folder / "sittings.csv").read_text()
    assert (folder / "mine.txt").read_text() == "kept"
    assert not list(tmp_path.glob(".export*"))


def test_export_never_writes_among_other_things(book: Logbook, tmp_path: Path) -> None:
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "sittings.csv").write_text("precious")
    with pytest.raises(LogbookError, match="holds other things"):
        export_folder(book, folder)
    with pytest.raises(LogbookError, match="is a file"):
        export_folder(book, folder / "sittings.csv")
    assert contents(folder) == {"sittings.csv": b"precious"}


def test_export_only_reads(full_file: Path, tmp_path: Path) -> None:
    before = full_file.read_bytes()
    with Logbook.open(full_file, read_only=True) as book:
        export_folder(book, tmp_path / "deep" / "out")
    assert full_file.read_bytes() == before


def test_plans_with_names_alike_get_files_of_their_own(empty_book: Logbook, tmp_path: Path, book: Logbook) -> None:
    from .conftest import a_plan

    for n, name in enumerate(("Wetting", "wet ting", "wet-ting")):
        book.start_trial(a_plan(name, start=date(2026, 3, 10 + 2 * n)))
    export_folder(book, tmp_path / "one")
    names = [p.name for p in (tmp_path / "one" / "protocols").iterdir()]
    assert len({n.casefold() for n in names}) == 4
    import_folder(tmp_path / "one", empty_book)
    assert empty_book.protocol("wet ting") == book.protocol("wet ting")


def test_a_file_changed_since_its_export_is_named_and_taken_as_it_stands(
        book: Logbook, empty_book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    place = tmp_path / "one" / "boxes.csv"
    text = place.read_text(encoding="utf-8")
    assert ",31.9," in text
    place.write_text(text.replace(",31.9,", ",41.9,"), encoding="utf-8")
    (tmp_path / "one" / "week.csv").unlink()
    report = import_folder(tmp_path / "one", empty_book)
    assert report.changed == ("boxes.csv", "week.csv (it is not there any more)")
    assert "Changed since the export, by hand or on the way: boxes.csv, week.csv" in str(report)
    assert 41.9 in set(empty_book.frame("boxes")["price"])


def test_an_untouched_export_and_one_with_other_line_ends_say_nothing_of_changes(
        book: Logbook, tmp_path: Path) -> None:
    export_folder(book, tmp_path / "one")
    assert import_folder(tmp_path / "one", book).changed == ()
    for place in (tmp_path / "one").rglob("*.csv"):
        place.write_bytes(place.read_bytes().replace(b"\n", b"\r\n"))
    assert import_folder(tmp_path / "one", book).changed == ()


@pytest.mark.parametrize("package", ["", "[" * 5000, "[]", '{"name": 3}', '{"name": "reedlab-logbook"}',
                                     '{"name": "reedlab-logbook", "resources": 7}',
                                     '{"name": "reedlab-logbook", "resources": [7, {"path": ["x"], "hash": "y"}]}',
                                     '{"name": "reedlab-logbook", "resources": [{"path": "../x.csv", "hash": "y"}]}'])
def test_a_description_that_says_nothing_of_hashes_is_passed_over(
        book: Logbook, tmp_path: Path, package: str) -> None:
    export_folder(book, tmp_path / "one")
    (tmp_path / "one" / "datapackage.json").write_text(package, encoding="utf-8")
    assert import_folder(tmp_path / "one", book).changed == ()
