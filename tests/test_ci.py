"""What continuous integration runs: the pins of the oldest lane, and what may be run once more."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import re
import tomllib
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]


def program(name: str) -> Any:
    loader = importlib.machinery.SourceFileLoader(name, str(ROOT / ".ci" / name))
    spec = importlib.util.spec_from_loader(name, loader)
    assert spec is not None
    made = importlib.util.module_from_spec(spec)
    loader.exec_module(made)
    return made


def lowest() -> list[str]:
    made = program("lowest")
    found: list[str] = made.pins((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    with pytest.raises(SystemExit, match="needs a lowest version"):
        made.pins('[project]\ndependencies = ["numpy"]')
    return found


def test_each_dependency_has_a_lowest_version_no_newer_than_what_is_installed() -> None:
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    pins = lowest()
    assert len(pins) == len(needed)
    for pin in pins:
        name, _, version = pin.partition("==")
        here = [int(n) for n in re.findall(r"\d+", metadata.version(name))[:3]]
        assert [int(n) for n in version.split(".")] <= here, pin


def test_xml_of_spreadsheets_is_read_by_a_guarded_reader() -> None:
    assert any(pin.startswith("defusedxml==") for pin in lowest())


@pytest.mark.parametrize(("failed", "again"), [
    ([], False),
    (["tests/browser/test_phone.py::test_it[light]"], True),
    (["tests/browser/test_phone.py::test_it[light]", "tests/rows/test_values.py::test_a_number"], False),
    (["tests/browser/test_phone.py"], False),
])
def test_only_browser_tests_may_be_run_once_more(failed: list[str], again: bool) -> None:
    assert program("browser_alone").may_be_repeated(failed) is again
