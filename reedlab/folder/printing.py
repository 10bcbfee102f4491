"""A page printed to PDF by a browser that is found on this computer."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from ..errors import InputError
from ..wording import tr
from .filing import write_file

__all__ = ["find_browser", "write_pdf"]

_NAMES: Final = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge",
                 "microsoft-edge-stable", "msedge")
_PLACES: Final = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
    "C:\\Program Files (x86)\\Microsoft\\Edge\\Application\\msedge.exe",
)
_SECONDS: Final = 120
_BY_HAND: Final = tr("Write the page with -o FILE.html, open it in a browser, choose Print, and there Save as PDF.")


def find_browser() -> str | None:
    """Return a browser that prints without a window: on the path, or in its usual place; None if there is none."""
    found = next((at for name in _NAMES if (at := shutil.which(name))), None)
    return found or next((at for at in _PLACES if Path(at).is_file()), None)


def write_pdf(html: str, path: Path) -> Path:
    """Print a page that stands alone to a PDF file, and return its path.

    Raises
    ------
    InputError
        If the name does not end in .pdf, there is no browser for it, or it could not print; says how to do it by hand.
    """
    if path.suffix.lower() != ".pdf":
        raise InputError(tr("`--pdf` is {path!r}; wanted a file whose name ends in .pdf.").format(path=str(path)))
    browser = find_browser()
    if browser is None:
        raise InputError(tr("No Chromium, Chrome or Edge was found to print with. {by_hand}").format(by_hand=_BY_HAND))
    with tempfile.TemporaryDirectory(prefix="reedlab-print-", ignore_cleanup_errors=True) as folder:
        page, made = Path(folder) / "page.html", Path(folder) / "page.pdf"
        write_file(page, html.encode("utf8"))
        command = [browser, "--headless", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer",
                   f"--user-data-dir={Path(folder) / 'profile'}", f"--print-to-pdf={made}", page.as_uri()]
        if getattr(os, "geteuid", lambda: 1)() == 0:  # Chromium runs for the system's own user only so
            command.insert(1, "--no-sandbox")
        try:
            subprocess.run(command, check=True, capture_output=True, timeout=_SECONDS)
            write_file(path, made.read_bytes())
        except (subprocess.SubprocessError, FileNotFoundError) as err:
            raise InputError(tr("The browser could not print it ({name}). {by_hand}").format(
                                 name=Path(browser).name, by_hand=_BY_HAND)) from err
    return path
