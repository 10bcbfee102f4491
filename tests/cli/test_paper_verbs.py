"""The commands for paper, calendar and spreadsheet, run as a player would."""

from __future__ import annotations

import hashlib
from datetime import date, timedelta
from pathlib import Path

import icalendar
import openpyxl
import pytest

from reedlab.cli import main
from reedlab.logbook import Logbook
from reedlab.logbook.layout import named
from reedlab.rows.records import Box, Concert, Day, Reed, Sitting, Weekday
from reedlab.rows.tables import WEEKDAYS
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
REEDS = ("1-01", "1-02", "1-03", "1-04")


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An invented logbook with a running trial on its third day."""
    monkeypatch.setenv("REEDLAB_TODAY", "2026-03-04")
    path = tmp_path / "reeds.logbook"
    plan = Protocol(
        trial="Open or not", question="drying", ask="?", instrument="clarinet",
        habits=(Habit("case", "straight into the case"), Habit("open", "drying in the open")),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=14,
        units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(REEDS)),
        dealt=("case", "open", "open", "case"),
        slots=tuple(Slot(d, k + 1, REEDS[(2 * d + k) % 4]) for d in range(1, 15) for k in range(2)), seed=2)
    with Logbook.create(path) as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=r, box="1", first_play=6) for r in REEDS),
                          *(Sitting(date=date(2026, 2, d), reed=r, play_min=25)
                            for r in REEDS for d in (24, 25, 26))])
        logbook.start_trial(plan)
        logbook.add(Sitting(date=START, reed="1-03", play_min=10, overall=7, habit="open"))
    return path


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def starts(path: Path) -> dict[str, object]:
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    return {str(e["uid"]): e.decoded("dtstart") for e in events}


def test_sheet_and_labels_are_written_and_written_anew(
        book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "new" / "sheet.html"
    assert main(["paper", "sheet", str(book), "-o", str(out)]) == 0
    assert "print it" in capsys.readouterr().out
    first = out.read_text(encoding="utf8")
    assert "week 1 of 2" in first
    assert "size: A4" in first
    assert main(["paper", "sheet", str(book), "-o", str(out), "--week", "2", "--paper", "letter"]) == 0
    second = out.read_text(encoding="utf8")
    assert "week 2 of 2" in second
    assert "size: letter" in second
    assert main(["paper", "labels", str(book), "-o", str(tmp_path / "labels.html")]) == 0
    assert all(f">{r}<" in (tmp_path / "labels.html").read_text(encoding="utf8") for r in REEDS)


def test_what_cannot_be_had_is_said(book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["paper", "calendar", str(book), "-o", str(tmp_path / "s.ics"), "--reeds-at-most", "1"]) == 0
    assert "cannot be made up" in " ".join(capsys.readouterr().out.split())


def test_calendar_written_again_after_a_pause_moves_its_entries(book: Path, tmp_path: Path) -> None:
    out = tmp_path / "plan.ics"
    ask = ["paper", "calendar", str(book), "-o", str(out), "--at", "18:00", "--zone", "Europe/Vienna"]
    assert main(ask) == 0
    before = starts(out)
    assert len(before) == 12
    with Logbook.open(book) as logbook:
        logbook.add(Day(date=date(2026, 3, 5), pause=True))
    assert main(ask) == 0
    after = starts(out)
    assert after.keys() == before.keys()
    assert sum(after[u] != before[u] for u in before) == 11


def test_spreadsheet_filled_in_comes_back_and_can_be_filled_in_further(
        book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "fill.xlsx"
    assert main(["paper", "spreadsheet", str(book), "-o", str(out)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    offered = int(said.split(" planned rows")[0].split()[-1])
    assert offered == 27  # two weeks of two a day, one entered already; a missed one stands once
    assert "missed ratings are planned anew on a later day" in said
    made = openpyxl.load_workbook(out)
    sheet = made["sittings"]
    titles = [named(c.value) for c in sheet[1]]
    on, reed = sheet.cell(2, 1).value.date(), sheet.cell(2, titles.index("reed") + 1).value
    assert on <= START + timedelta(days=2)
    for name, value in {"play_min": 11, "overall": 6.5}.items():
        sheet.cell(2, titles.index(name) + 1).value = value
    made.save(out)
    assert main(["import", str(out), "--into", str(book)]) == 0
    told = capsys.readouterr().out
    assert "1 sitting." in told
    assert f"{offered - 1} planned rows were not filled in" in told
    with Logbook.open(book, read_only=True) as logbook:
        rows = logbook.frame("sittings")
    new = rows[rows["overall"] == 6.5].iloc[0]
    assert (new["date"].date(), new["reed"], new["play_min"]) == (on, reed, 11)


def test_a_whole_logbook_goes_out_and_in_as_a_spreadsheet(book: Path, tmp_path: Path) -> None:
    out, other = tmp_path / "all.xlsx", tmp_path / "other.logbook"
    assert main(["export", str(book), str(out)]) == 0
    assert main(["import", str(out), "--into", str(other)]) == 0
    with Logbook.open(book, read_only=True) as one, Logbook.open(other, read_only=True) as two:
        for table in ("sittings", "reeds", "trials"):
            assert one.frame(table).equals(two.frame(table))


def test_decimal_commas_are_read_when_asked(
        book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "days.csv").write_text("date;humidity_pct\n03.03.2026;45,5\n", encoding="utf8")
    assert main(["import", str(tmp_path / "days.csv"), "--into", str(book)]) == 2
    assert "--decimal-comma" in capsys.readouterr().err
    assert main(["import", str(tmp_path / "days.csv"), "--into", str(book), "--decimal-comma"]) == 0


@pytest.mark.parametrize(("words", "says"), [
    (["paper", "sheet", "{book}", "-o", "{taken}"], "something else"),
    (["paper", "labels", "{book}", "-o", "{taken}"], "something else"),
    (["paper", "calendar", "{book}", "-o", "{taken}"], "another calendar"),
    (["paper", "spreadsheet", "{book}", "-o", "{taken}"], "may hold entries"),
    (["export", "{book}", "{xlsx}"], "there already"),
    (["paper", "sheet", "{book}", "-o", "{new}", "--week", "9"], "weeks 1 to 2"),
    (["paper", "sheet", "{book}", "-o", "{new}", "--trial", "none"], "There is: Open or not"),
    (["paper", "sheet", "{book}", "-o", "{new}", "--day-off", "someday"], "weekday"),
    (["paper", "sheet", "{book}", "-o", "{new}", "--minutes", "9999"], "0 to 720"),
    (["paper", "calendar", "{book}", "-o", "{new}", "--at", "noon"], "18:00"),
    (["paper", "calendar", "{book}", "-o", "{new}", "--zone", "Europe/Vienna"], "time of day"),
    (["paper", "spreadsheet", "{book}", "-o", "{new}", "--weeks", "0"], "1 to 104"),
    (["paper", "sheet", "{book}", "-o", "{folder}"], "something else"),
])
def test_bad_input_ends_with_2_and_harms_nothing(words: list[str], says: str, book: Path, tmp_path: Path,
                                                 capsys: pytest.CaptureFixture[str]) -> None:
    taken, xlsx, new = tmp_path / "mine.txt", tmp_path / "mine.xlsx", tmp_path / "new.file"
    for path in (taken, xlsx):
        path.write_text("my own words")
    before = digest(book)
    paths = {"book": book, "taken": taken, "xlsx": xlsx, "new": new, "folder": tmp_path}
    assert main([w.format(**paths) for w in words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("reedlab: ")
    assert says in err
    assert "Traceback" not in err
    assert not new.exists()
    assert (taken.read_text(), xlsx.read_text(), digest(book)) == ("my own words", "my own words", before)


def test_sheet_calendar_and_spreadsheet_take_the_week_and_concerts_of_the_logbook(
        book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "plan.ics"
    assert main(["paper", "calendar", str(book), "-o", str(out)]) == 0
    assert "60 minutes a day" in " ".join(capsys.readouterr().out.split())
    days = set(starts(out).values())
    assert {date(2026, 3, 6), date(2026, 3, 8)} <= days
    with Logbook.open(book) as logbook:
        logbook.add_many([Weekday(weekday=d, play_min=0 if d in ("friday", "sunday") else 40) for d in WEEKDAYS])
        logbook.add(Concert(date=date(2026, 3, 7), play_min=45))
    assert main(["paper", "calendar", str(book), "-o", str(tmp_path / "new.ics")]) == 0
    assert "60 minutes a day" not in " ".join(capsys.readouterr().out.split())
    now = set(starts(tmp_path / "new.ics").values())
    assert not {date(2026, 3, 6), date(2026, 3, 8), date(2026, 3, 13)} & now
    assert main(["paper", "sheet", str(book), "-o", str(tmp_path / "s.html")]) == 0
    page = (tmp_path / "s.html").read_text(encoding="utf8")
    assert "concert" in page
    assert main(["paper", "spreadsheet", str(book), "-o", str(tmp_path / "s.xlsx"), "--weeks", "2"]) == 0
    rows = openpyxl.load_workbook(tmp_path / "s.xlsx")["sittings"].iter_rows(min_row=2, values_only=True)
    planned = {r[0].date() for r in rows if r[0] is not None}
    assert date(2026, 3, 5) in planned
    assert date(2026, 3, 6) not in planned


def test_minutes_on_the_command_line_override_the_week_but_not_its_days_off(book: Path, tmp_path: Path) -> None:
    with Logbook.open(book) as logbook:
        logbook.add_many([Weekday(weekday=d, play_min=0 if d == "friday" else 10) for d in WEEKDAYS])
    few, more = tmp_path / "few.ics", tmp_path / "more.ics"
    assert main(["paper", "calendar", str(book), "-o", str(few)]) == 0
    assert main(["paper", "calendar", str(book), "-o", str(more), "--minutes", "60"]) == 0
    assert date(2026, 3, 6) not in set(starts(more).values())
    assert more.read_text(encoding="utf8").count("1-0") > few.read_text(encoding="utf8").count("1-0")


def test_a_page_to_take_along_and_what_it_hands_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from ..errands._away import START, begun, handed, sitting

    book = begun(tmp_path / "reeds.logbook")
    assert main(["paper", "away", str(book), "-o", str(tmp_path / "away.html"), "--today", START.isoformat()]) == 0
    assert f"reedlab import FILE.json --into {book}" in capsys.readouterr().out
    back = tmp_path / "back.json"
    back.write_text(handed([sitting(1, START, "1-03", play_min="300")]), encoding="utf8")
    assert main(["import", str(back), "--into", str(book)]) == 2
    assert "say it again with --yes" in capsys.readouterr().err
    assert main(["import", str(back), "--into", str(book), "--yes"]) == 0
    assert main(["import", str(back), "--into", str(book)]) == 0
    assert "1 was in the logbook already" in capsys.readouterr().out
