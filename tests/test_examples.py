"""The examples in the docstrings of what a person who scripts calls are run as they stand."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

import reedlab

PUBLIC = sorted({importlib.import_module(f"reedlab.{home}").__name__ for home in reedlab._HOMES.values()})


@pytest.mark.parametrize("module", PUBLIC)
def test_examples_run(module: str) -> None:
    failed, _ = doctest.testmod(importlib.import_module(module))
    assert failed == 0


@pytest.mark.parametrize("name", ["compare", "compare_lives", "Frames"])
def test_public_functions_have_an_example(name: str) -> None:
    found = getattr(reedlab, name)
    text = found.of.__doc__ if name == "Frames" else found.__doc__
    assert ">>> " in text


def test_the_package_says_that_it_is_typed() -> None:
    assert Path(reedlab.__file__).with_name("py.typed").is_file()
