"""A known constant gap through every allowed adjustment (in full: tests/benchmarks/constant_gap.py)."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

_FILE = Path(__file__).parents[1] / "benchmarks" / "constant_gap.py"
_SPEC = importlib.util.spec_from_file_location("constant_gap_benchmark", _FILE)
assert _SPEC is not None
assert _SPEC.loader is not None
gap = importlib.util.module_from_spec(_SPEC)
sys.modules[_SPEC.name] = gap
_SPEC.loader.exec_module(gap)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(gap.DESIGNS))
def test_the_estimate_is_unbiased_and_the_range_covers(name: str) -> None:
    """80 trials: the bias is within four errors; 94 % cover lies inside the 95 % range of the cover seen."""
    o = gap.run(gap.DESIGNS[name], 80)
    assert abs(o.bias) <= 4 * o.error
    assert o.cover_high >= 0.94
