"""Odd command lines end with exit code 2 and one clear message, and nothing is made."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.demo import set_up_demo
from reedlab.errors import InputError
from reedlab.folder import clock
from reedlab.folder.clock import day_called, today_in
from reedlab.logbook import Logbook
from reedlab.rows import values as checks
from reedlab.rows.records import Box

ODD_DATES = ("9999-12-31", "0001-01-01", "2026-02-30", "20260301", "2026-W01-1", "١٢٣٤-٠١-٠١", "today", "", " ")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "reeds.logbook"
    with Logbook.create(path) as logbook:
        logbook.add(Box(box="1", instrument="clarinet"))
    return path


LINES = [
    *(["today", "BOOK", "--today", day] for day in ODD_DATES),
    *(["check", "BOOK", "--today", d] for d in ODD_DATES[:3]),
    ["paper", "sheet", "BOOK", "-o", "HERE/s.html", "--day-off", "9999-12-31"],
    ["paper", "sheet", "BOOK", "-o", "HERE/s.html", "--concert", "9999-12-31"],
    ["paper", "spreadsheet", "BOOK", "-o", "HERE/s.xlsx", "--weeks", "1000000000"],
    ["paper", "spreadsheet", "BOOK", "-o", "HERE/s.xlsx", "--minutes", "nan"],
    ["paper", "spreadsheet", "BOOK", "-o", "HERE/s.xlsx", "--minutes", "1e999"],
    ["paper", "labels", "BOOK", "-o", "HERE/a\0b.html"], ["paper", "labels", "BOOK", "-o", "HERE/" + "x" * 300],
    ["paper", "labels", "BOOK", "-o", ""],
    ["export", "BOOK", "HERE/\0"], ["today", "HERE/\0"], ["today", "HERE/" + "x" * 5000], ["today", "HERE/nothing"],
    ["import", "HERE/\0", "--into", "BOOK"], ["import", "HERE/none", "--into", "HERE/" + "é" * 200],
    ["result", "BOOK", "--trial", "a\0b"], ["result", "BOOK", "--trial", "\udcff"],
    ["result", "BOOK", "--trial", "x" * 5000],
    ["result", "BOOK", "--open-early", "\ud800"], ["class", "share", "BOOK", "--code", "P\0", "-o", "HERE/x.json"],
    ["class", "plan", "wetting", "-o", "HERE/p.json", "--days", "9" * 30],
    ["class", "plan", "wetting", "-o", "HERE/p.json", "--matters", "nan"],
    ["class", "plan", "\ud800", "-o", "HERE/p.json"], ["class", "plan", "wetting", "-o", "HERE/none/p.json"],
    ["class", "deal", "HERE/none.json", "BOOK", "--start", "9999-12-31"],
    ["class", "together", "HERE/none.json", "--matters", "inf"],
    ["class", "together", "HERE/none.json"], ["demo", "HERE/\0"], ["page", "BOOK", "-o", "HERE/" + "x" * 300 + ".html"],
    ["diary", "BOOK", "--question", "\0"], ["nonsense"], ["today"], [],
]


@pytest.mark.parametrize("line", LINES, ids=range(len(LINES)))
def test_an_odd_command_line_ends_with_words(line: list[str], book: Path, tmp_path: Path,
                                             capsys: pytest.CaptureFixture[str]) -> None:
    before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    try:
        code = main([a.replace("BOOK", str(book)).replace("HERE", str(tmp_path)) for a in line])
    except SystemExit as stop:  # argparse, of its own
        code = int(str(stop.code))
    told = capsys.readouterr().err
    assert code == 2, told
    assert "Traceback" not in told
    assert "not your fault" not in told
    assert sum(line.startswith("reedlab") for line in told.splitlines()) == 1
    assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before


def test_a_file_that_may_not_be_read_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                              monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(self: Path, *args: object, **more: object) -> str:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "iterdir", refuse)
    assert main(["import", str(tmp_path), "--into", str(tmp_path / "new.logbook")]) == 2
    assert f"{tmp_path}: Permission denied" in capsys.readouterr().err


def test_a_day_is_read_in_one_place_and_within_the_years_of_the_logbook(tmp_path: Path,
                                                                       monkeypatch: pytest.MonkeyPatch) -> None:
    assert clock.read_value is checks.read_value
    assert day_called("2026-03-01").isoformat() == "2026-03-01"
    (tmp_path / clock.TODAY_FILE).write_bytes(b"\xff\xfe" * 1000)
    with pytest.raises(InputError, match="demo_today"):
        today_in(tmp_path)
    monkeypatch.setenv("REEDLAB_TODAY", "9999-12-31")
    with pytest.raises(InputError, match="REEDLAB_TODAY"):
        today_in()


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="there, names are texts")
def test_a_folder_of_any_name_serves(tmp_path: Path) -> None:
    names = [b"\xff\xfe", "Blätter ü 簧".encode(), "Blätter".encode("latin-1"), b"a b'c\"d%20?#&", b"-dash"]
    lines = []
    for name in names:
        folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name))
        folder.mkdir()
        (folder / "days.csv").write_text("date\n2026-03-01\n")
        lines += [["import", folder, "--into", folder / "reeds.logbook"], ["today", folder / "reeds.logbook"],
                  ["export", folder / "reeds.logbook", folder / "out"]]
    raw = [[os.fsencode(part) for part in line] for line in lines]
    code = (f"import os\nfrom reedlab.cli import main\nfor line in {raw!a}:\n"
            "    assert main([os.fsdecode(a) for a in line]) == 0, line\n")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False,
                          env={**os.environ, "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "LC_ALL": "C"})
    assert done.returncode == 0, done.stderr
    assert all((line[-1] / "days.csv").is_file() for line in lines if line[0] == "export")  # type: ignore[attr-defined]


def test_the_players_folder_does_where_a_logbook_is_wanted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    logbook = set_up_demo(tmp_path)
    said = []
    for wanted in (logbook, tmp_path):
        assert main(["check", str(wanted)]) == 0
        assert main(["result", str(wanted), "--json"]) == 0
        assert main(["export", str(wanted), str(tmp_path / f"out-{len(said)}")]) == 0
        said.append(capsys.readouterr().out.replace("out-1", "out-0"))
    assert said[0] == said[1]
    assert main(["import", str(tmp_path / "out-0"), "--into", str(tmp_path)]) == 0
