"""The command that writes an answer as a page."""

from __future__ import annotations

from pathlib import Path

import pytest

from reedlab.cli import main


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("player") / "demo"
    assert main(["demo", str(folder)]) == 0
    return folder / "reeds.logbook"


def test_the_page_and_the_report_are_written(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page, report = tmp_path / "page.html", tmp_path / "report.html"
    ask = ["page", str(demo), "--trial", "Water or mouth"]
    assert main([*ask, "-o", str(page)]) == 0
    assert main([*ask, "--report", "-o", str(report)]) == 0
    assert str(report) in capsys.readouterr().out
    assert "With wetting in water, your reeds rated" in page.read_text(encoding="utf8")
    assert "CENT 2015" not in page.read_text(encoding="utf8")
    assert "CENT 2015" in report.read_text(encoding="utf8")


def test_the_page_of_a_running_trial_stays_sealed(demo: Path, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert main(["page", str(demo), "--trial", "High or low", "-o", str(page)]) == 0
    assert "stays sealed" in page.read_text(encoding="utf8")


@pytest.mark.parametrize("name", ["page.pdf", "no-such-folder/page.html"])
def test_a_file_that_cannot_be_written_is_told_plainly(
    demo: Path, tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["page", str(demo), "--trial", "Water or mouth", "-o", str(tmp_path / name)]) == 2
    told = capsys.readouterr().err
    assert "wanted a file whose name ends in .html" in told or "could not be written" in told
    assert not (tmp_path / name).exists()
