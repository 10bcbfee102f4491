"""JupyterLab on the player's folder, as `reedlab open` starts it, and a fresh browser on it."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab import home
from reedlab.clock import TODAY_FILE

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync"]
TOKEN = "only-for-this-test"
BUSY_GONE = "() => ![...document.querySelectorAll('.jp-InputPrompt')].some(p => p.textContent.includes('*'))"
PATIENCE = 60_000  # ms: a busy machine starts a kernel slowly


@dataclass
class Player:
    """A browser page on a running folder."""

    folder: Path
    address: str
    tab: Any
    troubles: list[str]

    def day(self, on: date) -> None:
        """Make it this day for the pages."""
        (self.folder / TODAY_FILE).write_text(on.isoformat(), encoding="utf8")

    def open(self, page: str) -> None:
        """Open a page afresh and wait until its forms are ready, without pressing anything."""
        self.tab.goto(f"{self.address}/lab/tree/{page}.ipynb?token={TOKEN}")
        self.tab.wait_for_selector(".reedlab-page .reedlab >> visible=true", timeout=PATIENCE)
        self.tab.wait_for_function(BUSY_GONE, timeout=PATIENCE)

    def form(self, text: str) -> Any:
        """Return the form in sight in which this text stands."""
        return self.tab.locator(".reedlab:visible").filter(has_text=text).first


@pytest.fixture
def player(tmp_path: Path) -> Iterator[Player]:
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    from playwright.sync_api import sync_playwright

    folder = tmp_path / "my reeds"
    home.prepare_folder(folder)
    port = home._free_port(9411)
    env = home.lab_environment({**os.environ, "JUPYTER_DATA_DIR": str(tmp_path / "data"),
                                "IPYTHONDIR": str(tmp_path / "ipython")})
    with (tmp_path / "lab.log").open("w", encoding="utf8") as log:
        server = subprocess.Popen(home.lab_command(folder, port=port, token=TOKEN, browser=False), cwd=folder,
                                  env=env, stdout=log, stderr=log)
        try:
            deadline = time.monotonic() + PATIENCE / 1000
            while not home._answers(port):
                assert server.poll() is None, (tmp_path / "lab.log").read_text(encoding="utf8")
                assert time.monotonic() < deadline
                time.sleep(0.2)
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
                tab = browser.new_page(viewport={"width": 1280, "height": 900})
                tab.set_default_timeout(PATIENCE)
                troubles: list[str] = []
                tab.on("pageerror", lambda err: troubles.append(str(err)))
                tab.on("dialog", lambda dialog: (troubles.append(dialog.message), dialog.accept()))
                yield Player(folder, f"http://127.0.0.1:{port}", tab, troubles)
                browser.close()
        finally:
            server.terminate()
            server.wait()
