"""Twelve diaries of twelve shapes: each is taken in by answering what is asked, or refused with what is missing."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from reedlab.diaries.matching import LEFT_OUT, Matching, Scale
from reedlab.errands.take_diary import TakenIn, keep_matching, look_at, matching_for, read, take_diary
from reedlab.errors import ExchangeError, InputError
from reedlab.logbook import Logbook
from reedlab.rows.records import Sitting

from ._away import START, begun
from ._diaries import TODAY, big, csv, looked, ods, xlsx
from ._twelve import (
    APART,
    GERMAN,
    IN_A_TRIAL,
    INITIALS,
    MERGED,
    NAMES,
    ONCE_A_DAY,
    TWO_ORDERS,
    UNDATED,
    WIDE,
    WIDE_GROWN,
    odd_rows,
)


def clock() -> datetime:
    return datetime.combine(TODAY, datetime.min.time()).astimezone()


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "reeds.logbook"


def sittings(book: Path) -> list[dict[str, Any]]:
    with Logbook.open(book, read_only=True) as logbook:
        frame = logbook.frame("sittings").sort_values("entry_id")
    return [{k: (v.date() if k == "date" else v) for k, v in row.items() if v == v and v is not None}
            for row in frame[["date", "reed", "play_min", "overall", "habit", "remark"]].to_dict("records")]


def taken(content: bytes, file: str, book: Path, **says: Any) -> tuple[TakenIn, list[str], tuple[str, ...]]:
    diary, codes = looked(content, file, book, says)
    assert diary.understood.odd == ()
    done = take_diary(diary, book, now=clock)
    keep_matching(diary.matching, book.parent, file)
    return done, codes, diary.understood.told


def test_german_dates_commas_semicolons_and_school_marks(book: Path) -> None:
    done, codes, told = taken(GERMAN, "Übetagebuch.csv", book, instrument="clarinet",
                              ways={"wasser": "water", "mund": "mouth", "weiss nicht": ""})
    assert done.added == 4
    assert codes == ["scale", "ways", "instrument"]  # 13.02. says that the day stands first
    assert "Ratings are stretched to 0 to 10: 6 → 0, 5 → 2, 4 → 4, 3 → 6, 2 → 8, 1 → 10." in told
    assert sittings(book)[0] == {"date": date(2026, 2, 3), "reed": "1-01", "play_min": 25, "overall": 7,
                                 "habit": "water", "remark": "hell"}
    assert "habit" not in sittings(book)[3]


def test_where_day_and_month_both_fit_the_order_is_asked_and_never_assumed(book: Path) -> None:
    grid = read(TWO_ORDERS, "a.csv")
    matching = matching_for(grid, TODAY, book)
    assert matching.dates is None
    found = look_at(grid, "a.csv", matching.and_(instrument="clarinet"), book, today=TODAY).understood
    (ask,) = found.asks
    assert [words for words, _ in ask.options] == ["day, month, year: 1/2/2026 is 2026-02-01",
                                                   "month, day, year: 1/2/2026 is 2026-01-02"]
    assert ask.guess == "dmy"
    assert not found.ready
    for order, month in (("dmy", 2), ("mdy", 1)):
        said = matching.and_(dates=order, instrument="clarinet")
        rows = look_at(grid, "a.csv", said, book, today=TODAY).understood.rows
        assert rows[0].values["date"] == (date(2026, 2, 1) if month == 2 else date(2026, 1, 2))


def test_two_players_initials_in_the_reed_column(book: Path) -> None:
    diary, codes = looked(INITIALS, "both.csv", book, {"instrument": "clarinet", "reeds": {
        "kl 1": "KL-01", "kl 2": "KL-02", "mo 1": LEFT_OUT, "mo 2": LEFT_OUT}})
    assert codes == ["reeds", "instrument"]
    found = diary.understood
    assert found.left_out == {"left out by the reed": 2}
    assert take_diary(diary, book, now=clock).added == 3
    grid = read(INITIALS, "both.csv")
    ask = look_at(grid, "both.csv", matching_for(grid, TODAY, book.parent / "none" / "x"), book,
                  today=TODAY).understood.asks[0]
    assert "KL and MO" in ask.text
    assert "initials of players" in ask.text


def test_wide_with_a_column_a_reed_and_a_new_reed_next_month(book: Path) -> None:
    done, codes, _ = taken(WIDE, "wide.csv", book, instrument="clarinet", minutes=15.0)
    assert (done.added, done.reeds) == (6, 3)
    assert set(codes) == {"minutes", "instrument"}
    assert [(s["reed"], s["overall"], s["play_min"]) for s in sittings(book)][:3] == [
        ("1-01", 6, 15), ("1-02", 7, 15), ("1-02", 5.5, 15)]
    again, codes, _ = taken(WIDE_GROWN, "wide february.csv", book)
    assert codes == []
    assert (again.added, again.there, again.reeds) == (2, 6, 1)


def test_merged_cells_are_filled_and_said(book: Path) -> None:
    done, codes, told = taken(xlsx(MERGED, ["A1:D1", "A3:A5"]), "merged.xlsx", book, instrument="alto saxophone")
    assert done.added == 4
    assert codes == ["instrument"]
    assert "2 cells were filled from the merged cells they are part of." in told
    assert [s["date"].day for s in sittings(book)] == [1, 1, 1, 2]


def test_a_column_that_is_not_used_is_told_of(book: Path) -> None:
    text = csv("date,reed,minutes,rating,weather,humour,blank", "2026-03-01,1-01,20,0,rain,good,",
               "2026-03-02,1-01,20,7,sun,bad,", "2026-03-03,1-02,20,9,sun,good,")
    diary, _ = looked(text, "a.csv", book, {"instrument": "clarinet"})
    assert "The columns “weather” and “humour” are not used." in diary.understood.told
    found, codes = looked(text.replace(b"weather", b"Lage"), "b.csv", book, {
        "instrument": "clarinet", "ways": {"rain": "level", "sun": "lower"}})
    assert "ways" in codes
    assert "The column “humour” is not used." in found.understood.told


def test_three_thousand_rows_and_a_copy_that_grew(book: Path) -> None:
    done, codes, told = taken(big(3000), "years.csv", book, instrument="clarinet", scale=Scale(1, 5))
    assert (done.added, done.reeds) == (3000, 24)
    assert codes == ["scale", "instrument"]
    assert any(line.startswith("3000 entries, 3000 rated, from 2023-01-02 to 2025-09-27") for line in told)
    again, codes, _ = taken(big(3090), "years.csv", book)
    assert codes == []
    assert (again.added, again.there, again.reeds) == (90, 3000, 0)


def test_dates_written_once_a_day_without_a_year_and_hours(book: Path) -> None:
    done, codes, _ = taken(ONCE_A_DAY.encode("utf-16"), "Heft.txt", book, instrument="clarinet", year=2025, minutes="h")
    assert done.added == 3
    assert set(codes) == {"year", "day_once", "minutes", "scale", "box", "instrument"}
    assert [(s["date"], s["reed"], s["play_min"], s["overall"]) for s in sittings(book)] == [
        (date(2025, 12, 28), "1-03", 30, 7.5), (date(2025, 12, 28), "1-04", 45, 2), (date(2026, 1, 2), "1-03", 90, 9)]


def test_an_open_document_spreadsheet_with_times_and_box_and_number_apart(book: Path) -> None:
    done, codes, _ = taken(ods(APART), "Blätter.ods", book, instrument="clarinet",
                           ways={"offen": "open", "etui": "case"})
    assert done.added == 3
    assert codes == ["ways", "instrument"]
    assert [(s["reed"], s["play_min"], s["habit"]) for s in sittings(book)] == [
        ("4-07", 45, "open"), ("4-08", 65, "case"), ("4-07", 30, "case")]


def test_reeds_called_by_names_and_letters_for_marks(book: Path) -> None:
    done, codes, _ = taken(NAMES, "names.csv", book, instrument="clarinet", ways={"soaked": "water", "dry": LEFT_OUT})
    assert done.added == 2
    assert codes == ["scale", "ways", "reeds", "instrument"]
    assert [(s["reed"], s["overall"]) for s in sittings(book)] == [("old-02", 7.5), ("old-01", 5)]


def test_odd_rows_are_told_by_number_and_each_is_skipped_by_a_tick_only(book: Path) -> None:
    diary, _ = looked(odd_rows(), "odd.csv", book, {"instrument": "clarinet", "scale": Scale(0, 10)})
    odd = diary.understood.odd
    assert [(o.line, o.why) for o in odd] == [
        (4, "a rating of 77, off the scale"), (7, "'soon' is no date"), (10, "2026-09-09 is still to come"),
        (13, "2000 minutes"), (16, "the same as row 15")]
    with pytest.raises(InputError, match=r"Row 7: 'soon' is no date\. Mend it in the file, or have it skipped"):
        take_diary(diary, book, now=clock)
    assert not book.exists()
    said = diary.matching.and_(skipped=tuple(o.mark for o in odd))
    done = take_diary(look_at(diary.grid, "odd.csv", said, book, today=TODAY), book, now=clock)
    assert done.added == 22  # the same row twice has one fingerprint: skipped, it goes with its double
    assert done.reeds == 3


def test_entries_for_a_running_trial_pass_the_same_checks_as_any_import(book: Path) -> None:
    begun(book)
    ways = {"offen": "open", "zu": "case"}
    with Logbook.open(book, now=clock) as logbook:
        logbook.add(Sitting(date=START, reed="1-03", play_min=10, overall=6, habit="open"))
    says = {"ways": ways, "scale": Scale(0, 10), "dates": "dmy"}
    wrong, _ = looked(IN_A_TRIAL, "trial.csv", book, {**says, "ways": {**ways, "zu": "water"}})
    assert [o.line for o in wrong.understood.odd] == [3, 5, 7]
    assert "one of the trial's two habits" in wrong.understood.odd[0].why
    diary, codes = looked(IN_A_TRIAL, "trial.csv", book, says)
    assert codes == ["dates", "scale", "ways"]
    assert take_diary(diary, book, now=clock) == TakenIn(5, 1, 0)  # one was typed in at the desk


@pytest.mark.parametrize(("content", "file", "missing"), [
    (csv("2026-03-01,1-01,20,7", "2026-03-02,1-02,20,8"), "bare.csv", "no line with titles"),
    (UNDATED, "undated.csv", "Which column holds the day"),
    (csv("date,minutes,rating,notes", "2026-03-01,20,7,fine tone", "2026-03-02,20,8,also a fine tone",
         "2026-03-03,20,8,warm", "2026-03-04,20,8,bright"), "reedless.csv", "Which column says which reed"),
    (csv("date,reed,weather", "2026-03-01,1-01,sun", "2026-03-02,1-02,rain"), "idle.csv", "Which column holds the ra"),
    (b"PK\x03\x04 broken", "torn.xlsx", "cannot be read"), (b"\x00\x01", "noise.csv", "no text"),
    (b"", "empty.csv", "nothing in it"), (b"%PDF-1.7", "diary.pdf", "a file of another kind")])
def test_what_cannot_be_taken_in_is_refused_with_the_one_thing_missing(
        book: Path, content: bytes, file: str, missing: str) -> None:
    def take() -> None:
        grid = read(content, file)
        take_diary(look_at(grid, file, matching_for(grid, TODAY, book, file), book, today=TODAY), book)

    with pytest.raises((InputError, ExchangeError), match=missing):
        take()
    assert not book.exists()


def test_a_row_changed_since_is_odd_and_nothing_is_doubled(book: Path) -> None:
    taken(GERMAN, "a.csv", book, instrument="clarinet", ways={"wasser": "water", "mund": "mouth", "weiss nicht": ""})
    changed = GERMAN.replace(b"25;2,5", b"25;4")
    diary, codes = looked(changed, "a.csv", book)
    assert codes == []
    (odd,) = diary.understood.odd
    assert odd.line == 2
    assert "the logbook has 7" in odd.why


def test_a_matching_is_read_back_and_a_spoilt_one_named(tmp_path: Path) -> None:
    said = Matching(headers="0" * 16, header=1, columns={"date": "Datum"}, dates="dmy", minutes=20.0,
                    scale=Scale(6, 1, {"gut": 7.5}), ways={"nass": "water"}, reeds={"x": LEFT_OUT}, skipped=("ab",))
    assert Matching.from_json(said.to_json()) == said
    for old, new, place in (('"dmy"', '"ydm"', "dates"), ('"best": 1', '"best": 6', "scale"),
                            ('"x": "-"', '"x": "so"', "reeds"), ('"minutes": 20.0', '"minutes": "sec"', "minutes")):
        with pytest.raises(ExchangeError) as bad:
            Matching.from_json(said.to_json().replace(old, new))
        assert place in str(bad.value.faults[0].column)
