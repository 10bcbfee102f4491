"""A player's folder, empty, with ten reeds played, and with a trial begun."""

from __future__ import annotations

import importlib.util
import shutil
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab.demo import set_up_demo
from reedlab.forms import Book

_spec = importlib.util.spec_from_file_location("forms_playing", Path(__file__).with_name("_playing.py"))
assert _spec is not None
assert _spec.loader is not None
playing = importlib.util.module_from_spec(_spec)
sys.modules["forms_playing"] = playing
_spec.loader.exec_module(playing)
said = playing.said


@pytest.fixture
def clock() -> Any:
    return playing.Clock()


@pytest.fixture
def book(tmp_path: Path, clock: Any) -> Book:
    made: Book = playing.new_book(tmp_path, clock)
    return made


@pytest.fixture(scope="session")
def demo_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return set_up_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def demo(tmp_path: Path, demo_once: Path) -> Path:
    """The demo's logbook, in a folder of its own: made once, then copied."""
    shutil.copytree(demo_once.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / demo_once.name


@pytest.fixture(scope="session")
def played_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, date]:
    """A box of ten, all played, without and with a wetting trial on its first day: made once, then copied."""
    clock = playing.Clock()
    book = playing.new_book(tmp_path_factory.mktemp("played"), clock)
    playing.add_box(book)
    playing.play_all_first(book, clock)
    plain = shutil.copy(book.path, book.path.with_name("plain.logbook"))
    playing.start_trial(book)
    return Path(plain), book.path, clock.on


@pytest.fixture
def played(book: Book, clock: Any, played_once: tuple[Path, Path, date]) -> Book:
    shutil.copy(played_once[0], book.path)
    clock.on = played_once[2]
    return book


@pytest.fixture
def in_trial(book: Book, clock: Any, played_once: tuple[Path, Path, date]) -> Book:
    shutil.copy(played_once[1], book.path)
    clock.on = played_once[2]
    return book
