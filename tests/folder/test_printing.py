"""A page printed to PDF by a browser that is found; where there is none, how to do it by hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reedlab.errors import InputError
from reedlab.folder import printing

PAGE = "<!doctype html><title>One</title><p>A page of one line.</p>"


@pytest.mark.browser
@pytest.mark.skipif(printing.find_browser() is None, reason="needs a browser that prints")
def test_a_page_becomes_a_pdf(tmp_path: Path) -> None:
    made = printing.write_pdf(PAGE, tmp_path / "one.pdf")
    assert len(re.findall(rb"/Type\s*/Page\b", made.read_bytes())) == 1


@pytest.mark.parametrize("browser", [None, "breaks"])
def test_without_a_browser_that_prints_it_says_how(
        tmp_path: Path, browser: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    if browser:
        broken = tmp_path / "browser"
        broken.write_text("#!/bin/sh\nexit 3\n")
        broken.chmod(0o755)
        browser = str(broken)
    monkeypatch.setattr(printing, "find_browser", lambda: browser)
    with pytest.raises(InputError, match="open it in a browser, choose Print"):
        printing.write_pdf(PAGE, tmp_path / "one.pdf")
    assert not (tmp_path / "one.pdf").exists()


def test_a_name_that_is_no_pdf_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ends in \.pdf"):
        printing.write_pdf(PAGE, tmp_path / "one.html")
