"""The rule of the house: numbers know nothing of files, clocks, widgets or figures."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import reedlab

PACKAGE = Path(reedlab.__file__).parent
CORE = {"errors", "practice", "tables", "records", "protocol", "result", "outlook", "dealing", "questions", "trial"}
NUMERIC_LIBRARIES = {"numpy", "scipy", "pandas", "statsmodels", "pingouin", "joblib", "tqdm"}
PLAIN_STDLIB = set(sys.stdlib_module_names) - {
    "sqlite3", "os", "pathlib", "shutil", "tempfile", "io", "time", "random", "subprocess", "socket", "urllib",
}

# What each part may import from reedlab (itself always), and which libraries beyond the standard one.
ALLOWED: dict[str, tuple[set[str], set[str]]] = {
    "analysis": (CORE, NUMERIC_LIBRARIES),
    "plan": (CORE | {"analysis", "worlds"}, NUMERIC_LIBRARIES),
    "schedule": (CORE | {"analysis", "plan"}, NUMERIC_LIBRARIES),
    "reedcase": (CORE | {"analysis", "schedule"}, NUMERIC_LIBRARIES),
    "screens": (CORE | {"analysis", "checks", "planned", "schedule", "trial"}, NUMERIC_LIBRARIES),
    "cli/now": (CORE | {"reedcase", "schedule"}, set()),
    "handout": (CORE | {"analysis", "checks", "planned", "schedule"},
                NUMERIC_LIBRARIES | {"jinja2", "markupsafe", "icalendar"}),
    "worlds": (CORE | {"analysis"}, NUMERIC_LIBRARIES),
    "dealing": (CORE, NUMERIC_LIBRARIES),
    "trial": (CORE, {"numpy", "pandas"}),
    "questions": (CORE, NUMERIC_LIBRARIES),
    "summary": (CORE, NUMERIC_LIBRARIES | {"matplotlib", "seaborn", "jinja2", "markupsafe"}),
}


def imports_of(path: Path) -> set[tuple[str, str | None]]:
    """Return (library, reedlab part or None) for every import in a file, function bodies included."""
    found: set[tuple[str, str | None]] = set()
    here = path.relative_to(PACKAGE.parent).with_suffix("").parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
        if isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = list(here[: len(here) - node.level]) if node.level else []
            stem = ".".join([*base, *([node.module] if node.module else [])])
            names = [f"{stem}.{a.name}" for a in node.names] if stem == "reedlab" else [stem]
        else:
            continue
        for name in names:
            parts = name.split(".")
            found.add((parts[0], parts[1] if parts[0] == "reedlab" and len(parts) > 1 else None))
    return found


def files_of(part: str) -> list[Path]:
    folder = PACKAGE / part
    return sorted(folder.rglob("*.py")) if folder.is_dir() else [PACKAGE / f"{part}.py"]


@pytest.mark.parametrize("part", sorted(ALLOWED))
def test_part_imports_only_what_its_layer_allows(part: str) -> None:
    own, libraries = ALLOWED[part]
    files = files_of(part)
    assert files
    stdlib = PLAIN_STDLIB | ({"pathlib", "io"} if part in ("summary", "handout") else set())
    wrong = [
        f"{path.name}: {library}{'.' + inner if inner else ''}"
        for path in files
        for library, inner in imports_of(path)
        if (library == "reedlab" and inner not in own | {part, "__version__"})
        or (library != "reedlab" and library not in libraries | stdlib)
    ]
    assert not wrong


@pytest.mark.parametrize("part", ["analysis", "plan", "schedule", "reedcase", "screens", "cli/now", "worlds",
                                  "dealing", "trial"])
def test_numbers_read_no_clock_and_no_global_random_state(part: str) -> None:
    banned = ("date.today", "datetime.now", "time.time", "np.random.seed", "np.random.rand", "np.random.normal",
              "open(")
    wrong = [
        f"{path.name}: {word}"
        for path in files_of(part)
        for word in banned
        for line in path.read_text(encoding="utf8").splitlines()
        if word in line and not line.lstrip().startswith("#") and f"_{word}" not in line and f".{word}" not in line
    ]
    assert not wrong


def test_importing_reedlab_loads_no_heavy_library() -> None:
    code = ("import sys, reedlab; "
            "print([m for m in ('pandas','scipy','matplotlib','statsmodels','ipywidgets') if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_can_be_loaded() -> None:
    assert all(getattr(reedlab, name) is not None for name in reedlab.__all__)
