"""What waits for a page has loaded all that the page needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

CODE = """
import os, sys, tempfile
from reedlab import forms
forms.get_ready()
loaded = {m.split(".")[0] for m in sys.modules}
book = forms.here(sys.argv[1])
for name in sys.argv[2:]:
    getattr(forms, name)(book)
print(sorted({m.split(".")[0] for m in sys.modules} - loaded - set(sys.stdlib_module_names)))
"""


@pytest.mark.slow
def test_no_page_loads_a_library_when_it_is_opened(demo: Path) -> None:
    pages = ["start", "today", "case", "plan", "paper", "sheet", "result", "class_plan", "class_together", "ear"]
    run = subprocess.run([sys.executable, "-c", CODE, str(demo), *pages], capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "[]"
