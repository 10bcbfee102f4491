"""The daily commands start without the libraries that they have no use for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from reedlab.demo import set_up_demo

HEAVY = ("statsmodels", "pingouin", "scipy.stats", "matplotlib", "seaborn", "jinja2", "openpyxl", "IPython")


@pytest.mark.parametrize("verb", ["today", "check"])
def test_daily_commands_import_no_heavy_library(tmp_path: Path, verb: str) -> None:
    """A finished trial of ratings, one of lives and a running one stand in the demo."""
    code = ("import sys; from reedlab.cli.main import main; done = main(sys.argv[1:]); "
            f"print([m for m in {HEAVY!r} if m in sys.modules], done)")
    logbook = set_up_demo(tmp_path / "demo")
    run = subprocess.run([sys.executable, "-c", code, verb, str(logbook)], capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "[] 0"
