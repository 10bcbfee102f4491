"""Faults are put in where they are said to be, one at a time, and a test that should notice one does."""

from __future__ import annotations

import ast
import subprocess
import sys

import pytest

from tests.benchmarks.mutants import ROOT
from tests.benchmarks.spoiling import spoilt, spots

SOURCE = '''
"""A docstring with 1 < 2."""
LIMIT: int = 3

def least(x: int, lowest: int = 0) -> bool:
    """Another."""
    if not x < LIMIT and x != lowest:
        return x + 1 > 2
    return -x == 1
'''


def test_every_spot_changes_the_source_in_one_line_only() -> None:
    plain = ast.unparse(ast.parse(SOURCE)).splitlines()
    found = spots(SOURCE)
    assert len({(s.line, s.column, s.end_column, s.kind, s.order) for s in found}) == len(found)
    for spot in found:
        changed = ast.unparse(spoilt(SOURCE, spot)).splitlines()
        assert sum(a != b for a, b in zip(plain, changed, strict=True)) == 1, spot
    assert {s.kind for s in found} == {"comparison", "and/or", "constant", "arithmetic", "sign lost", "condition",
                                       "returned"}
    assert not [s for s in found if s.line == 2]  # a docstring
    assert {s.within for s in found if s.line in (3, 5)} == {"<module>"}  # a default is set when the file is read
    assert {s.within for s in found if s.line > 5} == {"least"}


def test_a_spot_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="no such place"):
        spoilt("x = 1", spots(SOURCE)[0])


def test_a_fault_in_dealing_is_noticed_by_its_tests_and_the_true_source_is_not() -> None:
    ask = ("from tests.benchmarks.mutants import *\n"
           "spot = next(s for s in spots((ROOT / 'reedlab/trial/dealing.py').read_text()) if s.kind == 'constant'\n"
           "            and s.within == 'least_p')\n"
           "os.environ['PYTEST_DISABLE_PLUGIN_AUTOLOAD'] = '1'\n"
           "files = ['tests/trial/test_dealing.py']\n"
           "print(run(files, 60.0)[0], run(files, 60.0, ('reedlab/trial/dealing.py', spot))[0])\n")
    told = subprocess.run([sys.executable, "-c", ask], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout.startswith(" tests/trial/test_dealing.py::test_"), told
