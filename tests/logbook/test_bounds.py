"""Files that are small outside and huge inside are refused in words, and at once."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedlab.errors import EntryRefused, ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.logbook.layout import bare, guarded
from reedlab.rows.records import Box, Reed
from reedlab.rows.tables import TABLES
from reedlab.rows.values import read_row

Hand = Callable[..., Path]


@contextmanager
def soon() -> Iterator[None]:
    """Far less than it took, and enough for a slow machine."""
    start = time.perf_counter()
    yield
    assert time.perf_counter() - start < 8


def spreadsheet(path: Path, **cells: object) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "days"
    sheet.append(["date", "humidity_pct"])
    sheet.append([date(2026, 3, 1), 45])
    for place, value in cells.items():
        sheet[place] = value
    book.save(path)
    return path


def changed(path: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    """Rewrite one part of a spreadsheet."""
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    parts[part] = change(parts[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for name, content in parts.items():
            new.writestr(name, content)
    return path


SHEET = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize(("place", "found"), [
    ("XFD1048576", r"cell XFD1048576: found a value far to the right"), ("A900000", "with cells down to line 900000"),
    ("XFD2", r"cell XFD2: found a value far to the right \('stray'\)")])
def test_a_stray_cell_far_away_is_named_at_once(place: str, found: str, empty_book: Logbook, tmp_path: Path) -> None:
    path = spreadsheet(tmp_path / "days.xlsx", **{place: "stray"})
    with soon(), pytest.raises(ExchangeError, match=found):
        import_folder(path, empty_book)


def test_the_size_that_a_sheet_states_is_not_believed(empty_book: Logbook, tmp_path: Path) -> None:
    path = changed(spreadsheet(tmp_path / "days.xlsx"), SHEET, lambda xml: xml.replace(
        b'<dimension ref="A1:B2"', b'<dimension ref="A1:XFD1048576"'))
    with soon():
        assert import_folder(path, empty_book).added["days"] == 1


def test_a_line_number_beyond_any_sheet_is_refused_at_once(empty_book: Logbook, tmp_path: Path) -> None:
    path = changed(spreadsheet(tmp_path / "days.xlsx"), SHEET,
                   lambda xml: xml.replace(b'r="A2"', b'r="A999999999"').replace(b'<row r="2"', b'<row r="999999999"'))
    with soon(), pytest.raises(ExchangeError, match="lines"):
        import_folder(path, empty_book)


@pytest.mark.parametrize("part", [SHEET, "xl/styles.xml", "xl/extra.bin"])
def test_a_file_that_unpacks_to_far_more_is_not_opened(part: str, empty_book: Logbook, tmp_path: Path) -> None:
    path = spreadsheet(tmp_path / "days.xlsx")
    if part.endswith("bin"):
        with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as book:
            book.writestr(part, b" " * 60_000_000)
    else:
        changed(path, part, lambda xml: xml + b" " * 60_000_000)
    assert path.stat().st_size < 200_000
    with soon(), pytest.raises(ExchangeError, match="unpacks to 60 MB"):
        import_folder(path, empty_book)


def test_a_part_that_lies_about_its_size_gives_no_more_than_it_states(empty_book: Logbook, tmp_path: Path) -> None:
    path = changed(spreadsheet(tmp_path / "days.xlsx"), SHEET, lambda xml: xml + b" " * 30_000_000)
    raw, whole = path.read_bytes(), 30_000_000
    with zipfile.ZipFile(path) as book:
        whole = book.getinfo(SHEET).file_size
    path.write_bytes(raw.replace(whole.to_bytes(4, "little"), (1000).to_bytes(4, "little")))
    with soon(), pytest.raises(ExchangeError, match="cannot be read"):
        import_folder(path, empty_book)


def test_many_small_parts_are_refused(empty_book: Logbook, tmp_path: Path) -> None:
    path = spreadsheet(tmp_path / "days.xlsx")
    with zipfile.ZipFile(path, "a") as book:
        for n in range(2001):
            book.writestr(f"x/{n}", b"")
    with soon(), pytest.raises(ExchangeError, match="parts"):
        import_folder(path, empty_book)


def test_texts_that_stand_for_themselves_a_thousand_times_are_not_read(empty_book: Logbook, tmp_path: Path) -> None:
    """Entities within entities ("billion laughs"): openpyxl reads with defusedxml where that is installed."""
    assert openpyxl.DEFUSEDXML
    laughs = b'<!DOCTYPE x [<!ENTITY a "ha">' + b"".join(
        b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9)) + b"]>"
    path = changed(spreadsheet(tmp_path / "days.xlsx"), SHEET, lambda xml: laughs + xml.replace(b"45", b"&j;"))
    with soon(), pytest.raises(ExchangeError, match=r"cannot be read \(EntitiesForbidden\)"):
        import_folder(path, empty_book)


def test_empty_lines_below_and_between_do_no_harm(empty_book: Logbook, tmp_path: Path) -> None:
    path = spreadsheet(tmp_path / "days.xlsx", A5=date(2026, 3, 2), B5=50)
    book = openpyxl.load_workbook(path)
    book["days"]["A500000"].number_format = "0.00"  # a format alone, as some programs leave it
    book.save(path)
    with soon():
        assert import_folder(path, empty_book).added["days"] == 2
    for old, new in ((b'r="A5"', b'r="A6"'), (b'r="B5"', b'r="B6"'), (b'<row r="5"', b'<row r="6"')):
        changed(path, SHEET, lambda xml, old=old, new=new: xml.replace(old, new))  # type: ignore[misc]
    with soon():
        assert import_folder(path, empty_book).skipped["days"] == 2


def test_a_csv_file_beyond_all_bounds_is_refused(hand: Hand, empty_book: Logbook,
                                                 monkeypatch: pytest.MonkeyPatch) -> None:
    from reedlab.logbook import csv_files

    folder = hand(days="date," + ",".join(f"c{n}" for n in range(500)) + "\n")
    with pytest.raises(ExchangeError, match="found 501 columns; wanted at most 200"):
        import_folder(folder, empty_book)
    monkeypatch.setattr(csv_files, "_LINES", 2)
    (folder / "days.csv").write_text("date\n2026-03-01\n2026-03-02\n")
    with pytest.raises(ExchangeError, match="line 3: found more lines; wanted at most 2"):
        import_folder(folder, empty_book)
    monkeypatch.setattr(csv_files, "_BYTES", 10)
    with pytest.raises(ExchangeError, match="split it and read in one part after another"):
        import_folder(folder, empty_book)


def test_two_hundred_faults_are_named_and_the_others_counted(hand: Hand, empty_book: Logbook) -> None:
    folder = hand(days="date\n" + "x\n" * 1000)
    with pytest.raises(ExchangeError) as caught:
        import_folder(folder, empty_book)
    assert len(caught.value.faults) >= 1000
    assert str(caught.value).count("\n") == 201
    assert "and 800 more" in str(caught.value)


@pytest.mark.parametrize(("table", "column"), [
    (t.name, f.name) for t in TABLES.values() for f in t.fields if f.kind == "text" and f.name != "protocol"])
def test_every_text_has_a_longest_length(table: str, column: str) -> None:
    row = {column: "x" * 2001}
    assert any(f.column == column for f in read_row(table, row)[1])


def test_a_remark_that_is_too_long_is_said_so(empty_book: Logbook) -> None:
    empty_book.add(Box(box="1", instrument="clarinet", remark="x" * 2000))
    with pytest.raises(EntryRefused, match="at most 2000 characters"):
        empty_book.add(Box(box="2", instrument="clarinet", remark="x" * 2001))


FORMULAS = ["=1+1", "+49", "-3 is what I felt", "@home", "=HYPERLINK(\"http://x\")", "'=1", "''=1", "'tis", "'", "-",
            "=", "a=b", "−3"]


def test_no_text_of_an_export_is_a_formula_and_all_come_back(empty_book: Logbook, empty_file: Path,
                                                            tmp_path: Path) -> None:
    empty_book.add_many([Box(box=f"b{n}", instrument="clarinet", remark=text) for n, text in enumerate(FORMULAS)])
    empty_book.add(Reed(reed="b0-1", box="b0", first_stiffness=-3.0, first_play=1))
    export_folder(empty_book, tmp_path / "out")
    for file in (tmp_path / "out").glob("*.csv"):
        for line in file.read_text(encoding="utf-8").splitlines()[1:]:
            assert not line.startswith(tuple("=+-@"))
            assert ',"=' not in line
            assert not any(cell.startswith(("=", "+", "@")) for cell in line.split(","))
    assert ",-3," in (tmp_path / "out" / "reeds.csv").read_text(), "a number stays a number"
    with Logbook.create(tmp_path / "again.logbook") as again:
        import_folder(tmp_path / "out", again)
        assert list(again.frame("boxes")["remark"]) == FORMULAS


@given(st.text(alphabet="'=+-@\t\rax ", max_size=6) | st.text(max_size=20))
def test_every_text_comes_back_as_it_was(text: str) -> None:
    assert bare(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r"))


@pytest.mark.parametrize("name", ["DAYS.CSV", "Days.csv", "days.XLSX"])
def test_endings_in_capitals_count(name: str, empty_book: Logbook, tmp_path: Path) -> None:
    if name.endswith("XLSX"):
        source = spreadsheet(tmp_path / name)
    else:
        source = tmp_path
        (tmp_path / name).write_text("date\n2026-03-01\n")
    assert import_folder(source, empty_book).added["days"] == 1
    assert import_folder(tmp_path / name, empty_book).skipped["days"] == 1


def test_two_files_for_one_table_are_named(empty_book: Logbook, tmp_path: Path) -> None:
    (tmp_path / "days.csv").write_text("date\n2026-03-01\n")
    (tmp_path / "DAYS.CSV").write_text("date\n2026-03-02\n")
    with pytest.raises(ExchangeError, match=r"found a second file days.csv; wanted one file of this name"):
        import_folder(tmp_path, empty_book)
