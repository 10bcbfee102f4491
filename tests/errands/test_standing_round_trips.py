"""A standing trial goes each way out and in again; months later the next box is dealt as if nothing had happened."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from reedlab.cli.main import main
from reedlab.forms import Book
from reedlab.handout.away import FORMAT, VERSION
from reedlab.logbook import Logbook
from reedlab.logbook.layout import named
from reedlab.rows.tables import Frames

from ..forms._playing import typing_in
from ..plan.test_standing import START, drawn, filled

LATER = date(2026, 9, 4)
#: (day of the week, reed, minutes): what an invented player played in the first week, and the reeds that ended.
PLAYED = [(0, "1-01", 40), (0, "1-02", 20), (1, "1-01", 45), (1, "1-05", 30), (2, "1-02", 25), (4, "1-05", 35)]
ENDED = {"1-01": (1, "damaged"), "1-05": (4, "worn_out")}
_ON = START + timedelta(days=6)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A logbook with three boxes, the first of them dealt."""
    with filled(tmp_path / "reeds.logbook") as book:
        book.start_trial(drawn(book, trial="R").protocol)
    monkeypatch.setenv("REEDLAB_TODAY", _ON.isoformat())
    return tmp_path / "reeds.logbook"


def by_sheet(path: Path) -> None:
    """Type the paper sheet back: cells, ticks, one save."""
    form = typing_in(Book(path, lambda: _ON))
    for line in form.lines:
        for day, reed, minutes in PLAYED:
            if line.week.reed == reed:
                line.cells[START + timedelta(days=day)].put(minutes)
        if line.week.reed in ENDED:
            line.done.put(ENDED[line.week.reed][1])
    form.save.click()
    assert "Saved: 6 rows and 2 reeds done." in form.message.value


def by_spreadsheet(path: Path) -> None:
    """Fill in the spreadsheet's own rows and its sheet of reeds that left."""
    file = path.with_name("fill-in.xlsx")
    assert main(["paper", "spreadsheet", str(path), "-o", str(file)]) == 0
    book = openpyxl.load_workbook(file)
    sheet = book["sittings"]
    at = {named(c.value): c.column for c in sheet[1]}
    assert sheet.column_dimensions[sheet.cell(1, at["plan_min"]).column_letter].hidden
    todo = {(START + timedelta(days=d), r): m for d, r, m in PLAYED}
    for row in range(2, sheet.max_row + 1):
        key = (sheet.cell(row, at["date"]).value.date(), sheet.cell(row, at["reed"]).value)
        if key in todo:
            sheet.cell(row, at["play_min"]).value = todo.pop(key)
    assert not todo
    left = book["retirements"]
    at = {named(c.value): c.column for c in left[1]}
    for row, (reed, (day, why)) in enumerate(ENDED.items(), start=2):
        for name, value in (("reed", reed), ("date", START + timedelta(days=day)), ("reason", why)):
            left.cell(row, at[name]).value = value
    book.save(file)
    assert main(["import", str(file), "--into", str(path)]) == 0
    assert main(["import", str(file), "--into", str(path)]) == 0  # a second time brings nothing


def by_page(path: Path) -> None:
    """Make the page of one file and read in what it hands back."""
    page = path.with_name("away.html")
    assert main(["paper", "away", str(path), "-o", str(page)]) == 0
    held = page.read_text(encoding="utf8")
    plan = json.loads(held.split('<script type="application/json" id="plan">')[1].split("</script>")[0])
    ways = {x["r"]: x["w"] for x in plan["days"][0]["lines"]}
    assert len(ways) == 9
    assert not any(x["ask"] for d in plan["days"] for x in d["lines"])
    sittings = [{"sitting": f"away-mmawxm{n}-rns4p{n}", "date": str(START + timedelta(days=d)), "reed": r,
                 "where": "practice", "play_min": str(m), "habit": ways[r]} for n, (d, r, m) in enumerate(PLAYED)]
    gone = [{"reed": r, "date": str(START + timedelta(days=d)), "reason": why} for r, (d, why) in ENDED.items()]
    body = {**plan["head"], "format": FORMAT, "version": VERSION, "sittings": sittings, "days": [], "gone": gone}
    plain = json.dumps(body, separators=(",", ":"), ensure_ascii=False)
    back = path.with_name("back.json")
    back.write_text(json.dumps({**body, "check": f"{zlib.crc32(plain.encode()):08x}"}), encoding="utf8")
    assert main(["import", str(back), "--into", str(path)]) == 0


def told(frames: Frames) -> tuple[Any, ...]:
    rows = frames.sittings.sort_values(["date", "reed"])
    return (list(zip(rows["date"].dt.date, rows["reed"], rows["play_min"], rows["habit"], strict=True)),
            sorted(zip(frames.retirements["reed"], frames.retirements["date"].dt.date, frames.retirements["reason"],
                       strict=True)))


def answer(path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    capsys.readouterr()
    assert main(["result", str(path), "--trial", "R", "--json"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def months_later(path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Deal the second box, and read what it was dealt and what the answer says."""
    monkeypatch.setenv("REEDLAB_TODAY", LATER.isoformat())
    assert main(["standing", str(path), "--box", "2"]) == 0
    with Logbook.open(path, read_only=True) as book:
        assert book.check() == []
        plan = book.protocol("R")
    assert main(["paper", "sheet", str(path), "-o", str(path.with_name("later.html"))]) == 0
    page = path.with_name("later.html").read_text(encoding="utf8")
    assert all(f">{r}<" in page for r in plan.reeds if r not in ENDED)
    assert not any(f">{r}<" in page for r in ENDED)
    return {"plan": plan, "answer": answer(path, capsys)}


@pytest.mark.parametrize("way", [by_sheet, by_spreadsheet, by_page])
def test_a_week_comes_back_by_every_way_and_months_later_a_box_is_dealt(
        path: Path, way: Callable[[Path], None], monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    way(path)
    with Logbook.open(path, read_only=True) as book:
        plan = book.protocol("R")
        assert told(book.frames()) == (
            sorted((START + timedelta(days=d), r, float(m), plan.habit_for(r, 1).key) for d, r, m in PLAYED),  # type: ignore[union-attr]
            sorted((r, START + timedelta(days=d), why) for r, (d, why) in ENDED.items()))
    found = answer(path, capsys)
    assert sum(found["events"]) == 1
    later = months_later(path, monkeypatch, capsys)
    assert len(later["plan"].units) == 18
    assert later["plan"].sha256 == plan.sha256


@pytest.mark.parametrize("name", ["folder", "book.xlsx"])
def test_a_logbook_exported_and_read_in_elsewhere_goes_on_as_the_first(
        path: Path, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str]) -> None:
    by_sheet(path)
    assert main(["export", str(path), str(tmp_path / name)]) == 0
    other = tmp_path / "elsewhere" / "reeds.logbook"
    other.parent.mkdir()
    assert main(["import", str(tmp_path / name), "--into", str(other)]) == 0
    there, here = (months_later(p, monkeypatch, capsys) for p in (other, path))
    assert there == here
    assert main(["export", str(path), str(tmp_path / f"second-{name}")]) == 0  # both boxes, and once more
    assert main(["import", str(tmp_path / f"second-{name}"), "--into", str(other)]) == 0
    with Logbook.open(other, read_only=True) as book:
        assert book.check() == []
        assert len(book.protocol("R").units) == 18


def test_copy_page_and_report_say_the_same_before_and_after_the_second_box(
        path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    by_sheet(path)
    for k, on in enumerate((_ON, LATER)):
        if k:
            months_later(path, monkeypatch, capsys)
        for out in ("copy.json", "page.html"):
            assert main(["page", str(path), "--trial", "R", "-o", str(path.with_name(out))]) == 0
        assert main(["page", str(path), "--trial", "R", "--report", "-o", str(path.with_name("report.html"))]) == 0
        assert answer(path.with_name("copy.json"), capsys) == answer(path, capsys), on
        for out in ("page.html", "report.html"):
            assert f"{9 * (k + 1)} reeds" in " ".join(path.with_name(out).read_text(encoding="utf8").split())


def test_what_a_standing_trial_has_not_is_refused_in_words(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for args, said in ((["paper", "calendar", str(path), "-o", str(path.with_name("c.ics"))], "it has no calendar"),
                       (["class", "share", str(path), "--code", "P07", "-o", str(path.with_name("p.json"))],
                        "can't be put together with others"),
                       (["paper", "sheet", str(path), "--helper", "-o", str(path.with_name("h.html"))],
                        "No helper hides anything")):
        assert main(args) == 2
        assert said in " ".join(capsys.readouterr().err.split())
        assert not Path(args[-1]).exists()


def test_today_and_the_spreadsheet_speak_of_no_minutes_that_a_plan_reckons_with(
        path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["today", str(path)]) == 0
    assert main(["paper", "spreadsheet", str(path), "-o", str(path.with_name("s.xlsx"))]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "reckons with" not in said
    assert "planned anew" not in said
    assert "one for each reed in service on each day" in said
