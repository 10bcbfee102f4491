"""The pages run, and say what to do when the buttons are missing."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reedlab.desk import home
from reedlab.demo import set_up_demo
from reedlab.folder.resources import notebooks_dir

SCRIPTING = "scripting.ipynb"  # no page: for people who write code
SHIPPED = sorted(p.name for p in notebooks_dir().glob("*.ipynb") if p.name != SCRIPTING)


def cells(name: str) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads((notebooks_dir() / name).read_text(encoding="utf8"))["cells"]
    return found


def text(cell: dict[str, object]) -> str:
    return "".join(cell["source"])  # type: ignore[arg-type]


def test_every_shipped_page_is_put_into_the_players_folder() -> None:
    assert set(SHIPPED) == set(home.PAGES)


@pytest.mark.parametrize("name", SHIPPED)
def test_page_says_what_to_do_without_buttons(name: str) -> None:
    said = " ".join(text(c) for c in cells(name) if c["cell_type"] == "markdown")
    assert "No buttons? Menu Run, then Run All Cells" in said


@pytest.mark.parametrize("name", SHIPPED)
def test_code_is_short_folded_and_without_functions_or_outputs(name: str) -> None:
    for cell in cells(name):
        if cell["cell_type"] != "code":
            continue
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
        assert cell["metadata"]["jupyter"]["source_hidden"] is True  # type: ignore[index]
        assert len(text(cell).splitlines()) <= 6
        assert not re.search(r"^\s*(def|class|lambda)\b", text(cell), re.MULTILINE)


@pytest.mark.parametrize("name", SHIPPED)
def test_links_between_pages_lead_somewhere(name: str) -> None:
    for cell in cells(name):
        for target in re.findall(r"\]\(([^)]+\.ipynb)\)", text(cell)):
            assert (notebooks_dir() / target).is_file()


def run_all(folder: Path, names: list[str], how: str = "--nbval-lax") -> None:
    """Run notebooks with nbval in `folder`, away from the repository."""
    env = home.lab_environment({**os.environ, "IPYTHONDIR": str(folder / ".ipython"), "MPLBACKEND": "agg"})
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", how,
         "--nbval-cell-timeout=120", "-c", os.devnull, "--rootdir", str(folder), *names],
        cwd=folder, env={k: v for k, v in env.items() if not k.startswith("PYTEST_")}, capture_output=True,
        text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-2000:]


@pytest.mark.slow
def test_all_pages_run_on_the_demo_and_leave_its_logbook_as_it_was(tmp_path: Path) -> None:
    logbook = set_up_demo(tmp_path)
    before = shutil.copy(logbook, tmp_path / "before")
    run_all(tmp_path, list(home.PAGES))
    assert logbook.read_bytes() == Path(before).read_bytes()


@pytest.mark.slow
def test_the_scripting_notebook_gives_what_it_shows(tmp_path: Path) -> None:
    shutil.copy(notebooks_dir() / SCRIPTING, tmp_path)
    run_all(tmp_path, [SCRIPTING], "--nbval")


def test_the_scripting_notebook_has_ten_short_cells() -> None:
    code = [text(c) for c in cells(SCRIPTING) if c["cell_type"] == "code"]
    assert len(code) == 10
    assert all(len(c.splitlines()) <= 8 for c in code)
