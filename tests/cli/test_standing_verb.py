"""The command for a standing trial: it shows, begins, deals and refuses in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedlab.cli.main import main
from reedlab.logbook import Logbook

from ..plan.test_standing import filled


@pytest.fixture
def path(tmp_path: Path) -> Path:
    filled(tmp_path / "a.logbook").close()
    return tmp_path / "a.logbook"


def test_from_what_it_can_show_to_the_second_box(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = path.read_bytes()
    assert main(["standing", str(path), "rinse", "--minutes", "60"]) == 0
    assert "half of all trials are settled by box" in " ".join(capsys.readouterr().out.split())
    assert path.read_bytes() == before
    assert main(["standing", str(path), "rinse", "--begin", "--box", "1", "--trial", "R"]) == 0
    said = capsys.readouterr().out
    assert "Begun: R." in said
    assert "1-10" in said  # set aside
    assert main(["standing", str(path), "--box", "2"]) == 0
    assert "the trial's box 2" in capsys.readouterr().out
    with Logbook.open(path, read_only=True) as book:
        assert len(book.protocol("R").units) == 18
        assert book.check() == []
    assert main(["result", str(path), "--trial", "R"]) == 0
    assert "odds of 20 to 1" in " ".join(capsys.readouterr().out.split())
    assert main(["check", str(path)]) == 0
    assert "2 boxes have been dealt" in capsys.readouterr().out


def test_refusals_are_told_in_words(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for args, said in ((["--box", "1"], "No standing trial is running"), (["position"], "not asked of how long reeds"),
                       ([], "Name a question"), (["rinse", "--begin", "--box", "9"], "box of reeds first")):
        assert main(["standing", str(path), *args]) == 2
        assert said in capsys.readouterr().err
    assert main(["standing", str(path), "rinse", "--begin", "--box", "1"]) == 0
    assert main(["standing", str(path), "--box", "1"]) == 2
    assert "Box 1 has 0 reeds" in capsys.readouterr().err
