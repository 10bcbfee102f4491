"""A good file is never lost: not to a full disk, not to a program that is stopped, not to a failure half-way."""

from __future__ import annotations

import ast
import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

import reedlab
from reedlab.errors import InputError
from reedlab.folder.filing import write_file, write_folder
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder
from reedlab.logbook.workbook_out import export_workbook
from reedlab.rows.records import Box

PACKAGE = Path(reedlab.__file__).parent

# What stops the writer in the middle: killed while the file goes to the disk, or just before it gets its name.
KILLED = {
    "fsync": "os.fsync = lambda handle: os.kill(os.getpid(), signal.SIGKILL)",
    "replace": "os.replace = lambda a, b: os.kill(os.getpid(), signal.SIGKILL)",
}


def run(code: str, *args: object) -> int:
    head = "import os, signal, sys\nfrom pathlib import Path\n"
    return subprocess.run([sys.executable, "-c", head + code, *map(str, args)], check=False,
                          capture_output=True).returncode


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*"))
            if p.is_file() and not p.name.startswith(".")}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "home" / "reeds.logbook"
    path.parent.mkdir()
    with Logbook.create(path) as logbook:
        logbook.add(Box(box="1", instrument="clarinet", remark="invented"))
    return path


@pytest.mark.parametrize("where", KILLED)
def test_a_writer_that_is_killed_leaves_the_old_file_whole(where: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text("good")
    code = f"{KILLED[where]}\nfrom reedlab.folder.filing import write_file\nwrite_file(sys.argv[1], 'x' * 100_000)"
    assert run(code, page) == -signal.SIGKILL
    assert page.read_text() == "good"


def test_what_a_killed_writer_left_is_swept_away_later(tmp_path: Path) -> None:
    code = f"{KILLED['fsync']}\nfrom reedlab.folder.filing import write_file\nwrite_file(sys.argv[1], 'x')"
    run(code, tmp_path / "page.html")
    (half,) = tmp_path.iterdir()
    write_file(tmp_path / "page.html", "one")
    assert half.exists(), "another program may be writing it just now"
    long_ago = time.time() - 7200
    os.utime(half, (long_ago, long_ago))
    write_file(tmp_path / "page.html", "two")
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


WRITERS = {
    "page": """
from reedlab.folder.filing import write_file
write_file(there / 'a.html', 'x' * 100_000)""",
    "sheet": """
from reedlab.errands.papers import write_page
write_page(there / 'sheet.html', '<meta charset="utf-8">' * 999)""",
    "xlsx": """
from reedlab.logbook import Logbook
from reedlab.logbook.workbook_out import export_workbook
export_workbook(Logbook.open(book, read_only=True), there / 'all.xlsx')""",
    "csv": """
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder
export_folder(Logbook.open(book, read_only=True), there / 'out')""",
    "pages": """
from reedlab.desk.home import prepare_folder
prepare_folder(there)""",
    "class plan": """
from reedlab.classes.class_plan import class_plan
from reedlab.logbook.class_files import write_plan_file
write_plan_file(there / 'plan.json', class_plan('wetting'))""",
}
CAUGHT = """
import resource, sys
from pathlib import Path
from reedlab.errors import ReedlabError
there, book = map(Path, sys.argv[1:])
resource.setrlimit(resource.RLIMIT_FSIZE, (400, 400))  # no file can grow beyond 400 bytes
try:
    exec(sys.stdin.read())
except ReedlabError as err:
    sys.exit(f"told: {err}")
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
@pytest.mark.parametrize("what", WRITERS)
def test_a_disk_without_room_leaves_every_file_as_it_was(what: str, book: Path, tmp_path: Path) -> None:
    there = tmp_path / "there"
    there.mkdir()
    (there / "a.html").write_text("good")
    (there / "sheet.html").write_text('<meta name="generator" content="reedlab"> good')
    (there / "start.ipynb").write_text('{"cells": [{"source": "mine"}]}')
    with Logbook.open(book, read_only=True) as logbook:
        export_folder(logbook, there / "out")
    before = contents(there)
    done = subprocess.run([sys.executable, "-c", CAUGHT, str(there), str(book)], input=WRITERS[what],
                          capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith("told: ")
    assert "written" in done.stderr
    after = contents(there)
    assert {name: after.get(name) for name in before} == before
    assert b"" not in after.values()
    assert not list(there.rglob("*.part"))


@pytest.mark.parametrize("replacing", [False, True])
def test_a_new_file_is_never_put_in_the_place_of_another(replacing: bool, tmp_path: Path,
                                                         monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "all.xlsx"

    def meanwhile(*args: object) -> None:
        path.write_text("another's")
        raise FileExistsError if not replacing else OSError("no links on this disk")

    monkeypatch.setattr(os, "link", meanwhile)
    with pytest.raises(InputError, match="is there already"):
        write_file(path, "ours", new=True)
    assert contents(tmp_path) == {"all.xlsx": b"another's"}
    assert len(list(tmp_path.iterdir())) == 1


def test_permissions_stay_and_private_files_are_the_owner_s_alone(tmp_path: Path) -> None:
    def mode(name: str) -> int:
        return stat.S_IMODE((tmp_path / name).stat().st_mode)

    mask = os.umask(0o022)
    try:
        (tmp_path / "old").write_text("x")
        (tmp_path / "old").chmod(0o640)
        write_file(tmp_path / "old", "y", private=True)
        write_file(tmp_path / "new", "y")
        write_file(tmp_path / "own", "y", private=True)
        write_file(tmp_path / "go", "y", run=True)
    finally:
        os.umask(mask)
    assert [mode(n) for n in ("old", "new", "own", "go")] == [0o640, 0o644, 0o600, 0o755]


def test_an_export_can_be_read_by_its_owner_alone(book: Path, tmp_path: Path) -> None:
    with Logbook.open(book, read_only=True) as logbook:
        export_folder(logbook, tmp_path / "out")
        export_workbook(logbook, tmp_path / "all.xlsx")
    assert stat.S_IMODE((tmp_path / "out").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "all.xlsx").stat().st_mode) == 0o600


def test_a_link_is_followed_and_a_pipe_is_written_to(tmp_path: Path) -> None:
    real = tmp_path / "real"
    real.write_text("old")
    (tmp_path / "link").symlink_to(real)
    write_file(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert real.read_text() == "new"
    write_file(os.devnull, "gone")
    assert not Path(os.devnull).is_file()


@pytest.mark.parametrize("name", ["a\0b", "x" * 300, "nowhere/file", "a/" + "\udcff" * 200])
def test_a_name_that_no_file_can_have_is_said_in_words(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="could not be written"):
        write_file(tmp_path / name, "x")


def test_a_folder_is_swapped_whole(tmp_path: Path) -> None:
    folder = tmp_path / "out"

    def fill(text: str, names: str) -> Callable[[Path], None]:
        def write(made: Path) -> None:
            for name in names:
                (made / name).write_text(text)
        return write

    write_folder(folder, fill("one", "ab"), ours="ab".__contains__)
    (folder / "mine").write_text("kept")

    def fails(made: Path) -> None:
        fill("two", "a")(made)
        raise OSError(28, "No space left on device")

    with pytest.raises(InputError, match=r"the disk is full. Nothing was changed"):
        write_folder(folder, fails, ours="ab".__contains__)
    assert contents(folder) == {"a": b"one", "b": b"one", "mine": b"kept"}
    write_folder(folder, fill("two", "a"), ours="ab".__contains__)
    assert contents(folder) == {"a": b"two", "mine": b"kept"}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_killed_between_the_two_renames_nothing_is_lost(book: Path, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    with Logbook.open(book, read_only=True) as logbook:
        export_folder(logbook, folder)
    whole = contents(folder)
    code = """
real = Path.rename
def once(self, to):
    real(self, to)
    os.kill(os.getpid(), signal.SIGKILL)
Path.rename = once
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder
export_folder(Logbook.open(Path(sys.argv[1]), read_only=True), Path(sys.argv[2]))
"""
    assert run(code, book, folder) == -signal.SIGKILL
    assert contents(tmp_path / "out (before)") == whole
    with Logbook.open(book, read_only=True) as logbook:
        export_folder(logbook, folder)
    assert contents(folder) == whole
    assert sorted(p.name for p in tmp_path.iterdir() if not p.name.startswith(".")) == ["home", "out"]


def test_the_folder_one_works_in_is_not_taken_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="Name a new folder inside it"):
        write_folder(Path(), lambda made: None, ours=lambda name: True)


# Who may write without `filing`: itself; the logbook and its copies, which have ways of their own; what goes into a
# scratch folder and is brought into place whole.
OTHER_WAYS = {"folder/filing.py", "logbook/opening.py", "logbook/backup.py", "logbook/csv_files.py",
              "logbook/restoring.py", "cli/main.py"}


def test_every_file_is_written_by_way_of_filing() -> None:
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.relative_to(PACKAGE).as_posix() in OTHER_WAYS:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            modes = [a.value for a in [*node.args, *(k.value for k in node.keywords)]
                     if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            if called in ("write_text", "write_bytes", "copyfile", "to_csv", "to_excel") or (
                    called == "open" and {"w", "wb", "a", "x", "xb"} & set(modes)):
                wrong.append(f"{path.relative_to(PACKAGE)}:{node.lineno} {called}")
    assert not wrong
