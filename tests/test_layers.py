"""The rules of the house, room by room: who may import whom, and that numbers know no file, clock, widget or figure."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import reedlab

PACKAGE = Path(reedlab.__file__).parent
NUMERIC = {"numpy", "scipy", "pandas", "statsmodels", "pingouin", "joblib", "tqdm"}
HTML = {"jinja2", "markupsafe"}
PLAIN_STDLIB = set(sys.stdlib_module_names) - {
    "sqlite3", "os", "pathlib", "shutil", "tempfile", "io", "time", "random", "subprocess", "socket", "urllib",
}
DISK = set(sys.stdlib_module_names)
EVERYWHERE = {"wording"}  # what every room speaks in
WORDS = {"errors", "rows", "trial"}  # what every room may speak of
UNITS = WORDS | {"analysis.units"}
ANALYSIS = {"analysis.units", "analysis.shuffling", "analysis.verdicts", "analysis.remarks"}

# What each room may import: rooms of reedlab (itself always), libraries, and parts of the standard library.
ROOMS: dict[str, tuple[set[str], set[str], set[str]]] = {
    "wording": (set(), set(), DISK),
    "errors": (set(), set(), PLAIN_STDLIB),
    "threads": (set(), set(), PLAIN_STDLIB),
    "look": (set(), HTML, PLAIN_STDLIB | {"pathlib"}),
    "rows": ({"errors"}, {"numpy", "pandas"}, PLAIN_STDLIB),
    "trial": ({"errors", "rows"}, {"numpy", "pandas"}, PLAIN_STDLIB),
    "questions": ({"errors", "trial"}, NUMERIC, PLAIN_STDLIB),
    "analysis.shuffling": ({"errors", "trial"}, NUMERIC, PLAIN_STDLIB),
    "analysis.units": (WORDS, NUMERIC, PLAIN_STDLIB),
    "analysis.verdicts": (UNITS | {"analysis.shuffling"}, NUMERIC, PLAIN_STDLIB),
    "analysis.remarks": (UNITS | {"analysis.shuffling", "analysis.verdicts", "questions"}, NUMERIC, PLAIN_STDLIB),
    "analysis.beside": (UNITS | {"analysis.shuffling", "analysis.verdicts"}, NUMERIC, PLAIN_STDLIB),
    "analysis.player": (UNITS, NUMERIC, PLAIN_STDLIB),
    "analysis.together": (WORDS | ANALYSIS, NUMERIC, PLAIN_STDLIB),
    "analysis.batch": (WORDS | ANALYSIS, NUMERIC, PLAIN_STDLIB),
    "analysis.standing_trial": (WORDS | ANALYSIS | {"analysis.beside"}, NUMERIC, PLAIN_STDLIB),
    "analysis.trial": (WORDS | ANALYSIS | {"analysis.beside", "analysis.standing_trial"}, NUMERIC, PLAIN_STDLIB),
    "worlds": (WORDS | {"analysis.batch"}, NUMERIC, PLAIN_STDLIB),
    "plan": (WORDS | ANALYSIS | {"analysis.batch", "analysis.player", "questions", "worlds"}, NUMERIC, PLAIN_STDLIB),
    "schedule": (UNITS, NUMERIC, PLAIN_STDLIB),
    "reedcase": (UNITS | {"analysis.player", "schedule"}, NUMERIC, PLAIN_STDLIB),
    "screens": (UNITS | {"plan", "questions", "reedcase", "schedule"}, NUMERIC, PLAIN_STDLIB),
    "summary": ({"errors", "look", "trial", "questions"}, NUMERIC | HTML | {"matplotlib", "seaborn"},
                PLAIN_STDLIB | {"pathlib", "io"}),
    "handout": (UNITS | {"look", "schedule"}, NUMERIC | HTML | {"icalendar"}, PLAIN_STDLIB | {"pathlib", "io"}),
    "classes": (UNITS | {"analysis.together", "analysis.verdicts", "plan", "questions", "worlds"}, NUMERIC,
                PLAIN_STDLIB),
    "diaries": ({"errors", "rows"}, set(), PLAIN_STDLIB | {"io"}),
    "folder": ({"errors", "rows"}, set(), DISK),
    "logbook": (WORDS | {"classes", "diaries", "folder"}, NUMERIC | {"openpyxl", "defusedxml"}, DISK),
    "errands": (WORDS | ANALYSIS | {
        "analysis.batch", "analysis.beside", "analysis.player", "analysis.together", "analysis.trial", "classes",
        "diaries", "folder", "handout", "logbook", "plan", "questions", "schedule", "screens", "summary", "worlds"},
        NUMERIC | {"matplotlib"}, DISK),
    "phone": (WORDS | {"errands", "folder", "look", "screens"},
              HTML | {"tornado", "segno", "jupyter_server", "pandas"}, DISK),
    "desk": ({"errors", "folder", "look", "phone", "threads"},
             {"ipykernel", "jinja2", "jupyter_client", "jupyter_core", "jupyter_server", "tornado", "traitlets"}, DISK),
}
#: Rooms that touch the user: they may use everything above.
FACES = {"cli", "demo", "forms"}
PURE = [r for r in ROOMS
        if r not in ("wording", "folder", "logbook", "errands", "phone", "desk", "summary", "handout", "look")]


def room_of(parts: tuple[str, ...]) -> str:
    """The room of a module, given without the leading `reedlab`."""
    return ".".join(parts[:2]) if parts[0] == "analysis" and len(parts) > 1 else parts[0]


@cache
def rooms() -> dict[str, list[Path]]:
    found: dict[str, list[Path]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        if parts not in (("__init__",), ("__main__",), ("analysis", "__init__")):
            found.setdefault(room_of(parts), []).append(path)
    return found


def imports_of(path: Path) -> set[tuple[str, str | None]]:
    """Return (library, room of reedlab or None) for every import in a file, function bodies included."""
    found: set[tuple[str, str | None]] = set()
    here = path.relative_to(PACKAGE.parent).with_suffix("").parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
        if isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = list(here[: len(here) - node.level]) if node.level else []
            stem = ".".join([*base, *([node.module] if node.module else [])])
            inside = PACKAGE.parent.joinpath(*stem.split(".")).is_dir()
            names = [f"{stem}.{a.name}" for a in node.names] if inside else [stem]
        else:
            continue
        for name in names:
            parts = tuple(name.split("."))
            found.add((parts[0], room_of(parts[1:]) if parts[0] == "reedlab" and len(parts) > 1 else None))
    return found


def test_every_room_has_its_rule_and_every_rule_its_room() -> None:
    assert set(rooms()) == set(ROOMS) | FACES


@pytest.mark.parametrize("room", sorted(ROOMS))
def test_a_room_imports_only_what_its_rule_allows(room: str) -> None:
    own, libraries, standard = ROOMS[room]
    wrong = [
        f"{path.relative_to(PACKAGE)}: {library}{'.' + inner if inner else ''}"
        for path in rooms()[room]
        for library, inner in imports_of(path)
        if (library == "reedlab" and inner not in own | EVERYWHERE | {room, "__version__"})
        or (library != "reedlab" and library not in libraries | standard)
    ]
    assert not wrong


def test_no_room_stands_in_a_circle() -> None:
    """Rules alone could allow it: each room must come after all it may import."""
    placed: set[str] = set()
    left = {room: (own | EVERYWHERE) - {room} for room, (own, _, _) in ROOMS.items()}
    while left:
        free = {room for room, own in left.items() if own <= placed}
        assert free, f"in a circle: {sorted(left)}"
        placed |= free
        left = {room: own for room, own in left.items() if room not in free}


def test_no_file_stands_in_a_circle() -> None:
    """Imports within functions and for type checkers count too; graphlib names the circle it finds."""
    names = {path: path.relative_to(PACKAGE.parent).with_suffix("").parts for path in PACKAGE.rglob("*.py")}
    files = {".".join(p[:-1] if p[-1] == "__init__" else p): path for path, p in names.items()}
    after: dict[str, set[str]] = {}
    for name, path in files.items():
        after[name] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
            if isinstance(node, ast.ImportFrom):
                base = list(names[path][: len(names[path]) - node.level]) if node.level else []
                stem = ".".join([*base, *([node.module] if node.module else [])])
                after[name] |= {inner if (inner := f"{stem}.{a.name}") in files else stem for a in node.names}
    after["reedlab.rows.tables"].discard("reedlab.rows.values")  # `Frames.of` checks what it is given when called
    TopologicalSorter({name: (own & set(files)) - {name} for name, own in after.items()}).prepare()


@pytest.mark.parametrize("room", PURE)
def test_numbers_read_no_clock_and_no_global_random_state(room: str) -> None:
    banned = ("date.today", "datetime.now", "time.time", "np.random.seed", "np.random.rand", "np.random.normal",
              "open(")
    wrong = [
        f"{path.name}: {word}"
        for path in rooms()[room]
        for word in banned
        for line in path.read_text(encoding="utf8").splitlines()
        if word in line and not line.lstrip().startswith("#") and f"_{word}" not in line and f".{word}" not in line
    ]
    assert not wrong


def test_the_now_of_the_command_line_is_numbers_too() -> None:
    found = {room for library, room in imports_of(PACKAGE / "cli" / "now.py") if library == "reedlab"}
    assert found <= WORDS | EVERYWHERE | {"cli", "reedcase", "schedule"}


def test_importing_reedlab_loads_no_heavy_library() -> None:
    code = ("import sys, reedlab; "
            "print([m for m in ('pandas','scipy','matplotlib','statsmodels','ipywidgets') if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_can_be_loaded() -> None:
    assert all(getattr(reedlab, name) is not None for name in reedlab.__all__)


@pytest.mark.parametrize("room", sorted(FACES | {"phone", "screens", "summary"}))
def test_no_markup_is_made_outside_the_templates(room: str) -> None:
    tag = re.compile(r"</?(p|ul|ol|li|h[1-6]|b|div|table|t[rdh]|a|code|details|br)[ >/]")
    wrong = [f"{path.relative_to(PACKAGE)}:{node.lineno}" for path in rooms()[room]
             for node in ast.walk(ast.parse(path.read_text(encoding="utf8")))
             if isinstance(node, ast.Constant) and isinstance(node.value, str) and tag.search(node.value)]
    assert not wrong
