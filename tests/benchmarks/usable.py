"""How long until a page can be used: the first and each later one, beside an empty notebook's printed line.

One server as `reedlab open` starts it, on the demo's folder; a fresh browser for every round. The empty notebook is
opened on the same server, and its one cell is run as soon as it can be.

    python tests/benchmarks/usable.py [ROUNDS]
"""

from __future__ import annotations

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psutil

from reedlab.demo import set_up_demo
from reedlab.desk import home

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync"]
TOKEN = "only-for-this-benchmark"
LATER = ("today", "case", "plan", "paper", "result", "class")
#: The heading of each page.
HEADINGS = {"start": "My reeds", "today": "Today", "case": "The reed case", "plan": "New reeds", "paper": "On paper",
            "result": "The answer", "class": "A class", "ear": "Know your own ear", "why": "Why not just try it?"}
#: A page can be used once something of its form in sight can be pressed or typed in.
USABLE = """heading => [...document.querySelectorAll('.jp-NotebookPanel')].some(page => page.offsetParent !== null &&
  [...page.querySelectorAll('h1')].some(h => h.textContent.startsWith(heading)) &&
  [...page.querySelectorAll('.reedlab :is(button, input, select, a)')].some(
    e => e.offsetParent !== null && !e.disabled && e.getBoundingClientRect().height > 0))"""
PRINTED = "() => [...document.querySelectorAll('.jp-OutputArea-output')].some(o => o.innerText.includes('ready 1'))"
EMPTY = {"cells": [{"cell_type": "code", "id": "one", "execution_count": None, "metadata": {}, "outputs": [],
                    "source": "print('ready', 1)"}],
         "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
         "nbformat": 4, "nbformat_minor": 5}


@contextmanager
def lab(folder: Path, base: Path) -> Iterator[tuple[int, psutil.Process]]:
    """JupyterLab on a folder, as `reedlab open` starts it; gives its port and process."""
    port = home._free_port(9500)
    env = home.lab_environment({**os.environ, "JUPYTER_DATA_DIR": str(base / "data"),
                                "IPYTHONDIR": str(base / "ipython")}, token=TOKEN)
    server = subprocess.Popen(home.lab_command(folder, port=port, browser=False), cwd=folder, env=env,
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        while not home._answers(port):
            time.sleep(0.1)
        time.sleep(15)  # all that it does at its start is done
        yield port, psutil.Process(server.pid)
    finally:
        server.terminate()
        server.wait(20)


def opened(tab: Any, address: str, seen: str, arg: str | None = None) -> float:
    """Open an address and return the seconds until something is seen."""
    begun = time.perf_counter()
    tab.goto(address, wait_until="commit")
    tab.wait_for_function(seen, arg=arg, timeout=120_000)
    return time.perf_counter() - begun


def printed(tab: Any, port: int) -> float:
    """Return the seconds from opening an empty notebook to its printed line."""
    begun = time.perf_counter()
    tab.goto(f"http://127.0.0.1:{port}/lab/tree/empty.ipynb?token={TOKEN}", wait_until="commit")
    cell = tab.locator(".jp-CodeCell .cm-content")
    cell.first.wait_for(timeout=60_000)
    while not tab.evaluate(PRINTED):  # a cell that is run before there is a kernel says nothing
        cell.first.click()
        tab.keyboard.press("Shift+Enter")
        tab.wait_for_timeout(50)
    return time.perf_counter() - begun


def followed(tab: Any, name: str) -> float:
    """Follow the link to another page and return the seconds until it can be used."""
    tab.wait_for_timeout(2500)  # a player reads
    link = tab.locator(f"a[href$='{name}.ipynb']:visible").first
    if not link.count():
        return float("nan")
    begun = time.perf_counter()
    link.click()
    tab.wait_for_function(USABLE, arg=HEADINGS[name], timeout=120_000)
    return time.perf_counter() - begun


def memory(server: psutil.Process) -> tuple[int, float]:
    """Return how many kernels run below this server, and their own memory in MB with what they are forked from."""
    found: dict[psutil.Process, float] = {}
    for process in server.children(recursive=True):
        with suppress(psutil.Error):  # one that is just being stopped
            if any(word in str(process.cmdline()) for word in ("ipykernel_launcher", "forkserver")):
                found[process] = process.memory_full_info().uss / 1e6
    return len(found) - len({p.ppid() for p in found} & {p.pid for p in found}), sum(found.values())


def round_of(browser: Any, port: int, server: psutil.Process) -> dict[str, float]:
    """Return the seconds of one round by what was opened."""
    out = {}
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    out["empty notebook, printed line"] = printed(context.new_page(), port)
    context.close()
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    tab = context.new_page()
    first = f"http://127.0.0.1:{port}/lab/tree/start.ipynb?token={TOKEN}"
    out["start (first)"] = opened(tab, first, USABLE, HEADINGS["start"])
    for name in LATER:
        out[name] = followed(tab, name)
    out["back to today"] = followed(tab, "today")
    out["kernels"], out["MB of kernels"] = memory(server)
    context.close()
    return out


def main(rounds: int = 3) -> None:
    """Print the table."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        base = Path(made)
        folder = set_up_demo(base / "my reeds").parent
        home.prepare_folder(folder)
        (folder / "empty.ipynb").write_text(json.dumps(EMPTY), encoding="utf8")
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        with lab(folder, base) as (port, server):
            found = [round_of(browser, port, server) for _ in range(rounds)]
        browser.close()
    print(f"load before: {os.getloadavg()[0]:.1f}")
    for what in found[0]:
        times = [f[what] for f in found]
        print(f"{what:32} {statistics.median(times):8.2f}   ({min(times):.2f} to {max(times):.2f})")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
