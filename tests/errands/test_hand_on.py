"""A trial in one file: read on another computer, it gives the same answer, and what was changed is refused."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from reedlab.errands.hand_on import write_copy
from reedlab.errands.handed import read_copy
from reedlab.errands.read_trial import read_trial
from reedlab.errors import InputError

from ..analysis._players import after
from .test_read_trial import SECOND, logbook

TODAY = after(SECOND) + timedelta(days=30)


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, object]]:
    """The copy of a repeated trial, and the answer where it was made."""
    folder = tmp_path_factory.mktemp("player")
    with logbook(folder / "reeds.logbook", SECOND) as book:
        write_copy(book, "second", folder / "second.json", today=TODAY, player="P07")
        return folder / "second.json", read_trial(book, "second", today=TODAY).to_dict()


def test_the_copy_gives_the_same_answer_without_the_logbook(
        copy: tuple[Path, dict[str, object]], tmp_path: Path) -> None:
    """A repeat, too, which is read together with the trial before it; every number to the last digit."""
    path, there = copy
    elsewhere = tmp_path / "elsewhere.json"
    elsewhere.write_bytes(path.read_bytes())
    handed = read_copy(elsewhere)
    found = read_trial(handed, today=TODAY)
    assert found.to_dict() == there
    assert found.result.together is not None
    assert found.about.player == "P07"
    write_copy(handed, None, tmp_path / "again.json", today=TODAY)
    again = json.loads((tmp_path / "again.json").read_text(encoding="utf8"))
    held = json.loads(path.read_text(encoding="utf8"))
    assert again["tables"] == held["tables"]


def test_it_holds_plan_entries_answer_versions_and_seed(copy: tuple[Path, dict[str, object]]) -> None:
    path, there = copy
    held = json.loads(path.read_text(encoding="utf8"))
    assert held["plan_sha256"] == SECOND.sha256
    assert held["seed"] == SECOND.seed
    assert held["result"] == json.loads(json.dumps(there))
    assert {"reedlab", "python", "numpy", "scipy", "pandas"} <= set(held["made_with"])
    assert set(held["tables"]) == {"first", "second"}


@pytest.mark.parametrize("wrong", ["rating", "not ours", "no JSON", "gone"])
def test_what_was_changed_or_is_no_copy_is_refused(
        copy: tuple[Path, dict[str, object]], tmp_path: Path, wrong: str) -> None:
    path, _ = copy
    bad = tmp_path / "bad.json"
    text = path.read_text(encoding="utf8")
    if wrong == "rating":
        held = json.loads(text)
        held["tables"]["second"]["sittings"][3]["overall"] = 9.5
        bad.write_text(json.dumps(held), encoding="utf8")
    elif wrong != "gone":
        bad.write_text("{}" if wrong == "not ours" else "[" * 100_000, encoding="utf8")
    with pytest.raises(InputError, match=r"changed after it was made|not a copy|can't be read"):
        read_copy(bad)


def test_a_copy_is_not_opened_early(copy: tuple[Path, dict[str, object]]) -> None:
    with pytest.raises(InputError, match="can't be opened early"):
        read_trial(read_copy(copy[0]), today=SECOND.start + timedelta(days=3), open_early_why="to see")
