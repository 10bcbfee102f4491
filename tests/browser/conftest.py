"""JupyterLab as `reedlab open --phone` starts it, one server for all tests, and a fresh browser tab on it for each.

The phone's door is opened at a second loopback address, so that nothing is seen on any network.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import psutil
import pytest

from reedlab.desk import home
from reedlab.folder.clock import TODAY_FILE
from reedlab.phone import keys, page_address

from ..benchmarks.stopwatch import four_reeds

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
         "--disable-sync"]
TOKEN = "only-for-this-test"
PHONE_AT = "127.0.0.2"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
BUSY_GONE = "() => ![...document.querySelectorAll('.jp-InputPrompt')].some(p => p.textContent.includes('*'))"
#: The page of this name that is open in the tab, if it is; a link to it on the page in sight.
PAGE = """name => [...document.querySelectorAll('.reedlab-page')].find(p => p.querySelector(
  `.reedlab-line-of-pages [aria-current=page][href*="${name}"]`))"""
SHOWN = f"""name => {{ const page = ({PAGE})(name);
  return page && page.matches('.reedlab-ready') && [...page.querySelectorAll('.reedlab')].some(f => f.offsetParent);
}}"""
LINK = """name => [...document.querySelectorAll(`.reedlab-line-of-pages a[href*="${name}"]`)].find(
  a => a.offsetParent)"""
PATIENCE = int(os.environ.get("REEDLAB_PATIENCE_MS", 60_000))  # a busy machine starts a kernel slowly

TOO_SMALL = """() => [...document.querySelectorAll(
    '.reedlab :is(button, input, select), #page :is(button, input, select, summary)')]
  .filter(e => e.offsetParent !== null && e.type !== 'checkbox' && !e.closest('.tick') &&
               e.getBoundingClientRect().height < 44)
  .map(e => e.innerText || e.outerHTML)"""
TOO_WIDE = """() => [...document.querySelectorAll('.reedlab *, #page *, #said *')].filter(
  e => e.offsetParent !== null && e.getBoundingClientRect().right > window.innerWidth + 1).map(e => e.outerHTML)"""
CUT_OFF = """() => [...document.querySelectorAll('.reedlab label, .reedlab button, #page :is(label, button, summary)')]
  .filter(e => e.offsetParent !== null && e.scrollWidth > e.clientWidth + 1).map(e => e.innerText)"""
FAINT = r"""() => {
  const rgb = c => c.match(/[\d.]+/g).map(Number);
  const light = c => rgb(c).slice(0, 3).map(v => v / 255)
    .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const behind = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (c.startsWith('rgb') && (rgb(c)[3] ?? 1) > 0.99) { return c; }
    }
    return 'rgb(255, 255, 255)';
  };
  const out = [];
  for (const e of document.querySelectorAll(':is(.reedlab, #page, #said, .jp-RenderedMarkdown) *, #said, #bar')) {
    const said = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!said || !e.getClientRects().length || ['STYLE', 'SCRIPT', 'TITLE'].includes(e.tagName)) { continue; }
    const style = getComputedStyle(e), svg = e.closest('svg');
    const [a, b] = [light(svg ? style.fill : style.color), light(behind(e))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) { out.push([Math.round(ratio * 100) / 100, e.textContent.trim().slice(0, 40)]); }
  }
  return out;
}"""


@dataclass
class Player:
    """A browser page on a running folder."""

    folder: Path
    port: int
    tab: Any
    chromium: Any
    token: str = TOKEN
    troubles: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)

    @property
    def address(self) -> str:
        """Where JupyterLab answers."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def phone_address(self) -> str:
        """Where the phone is answered."""
        return f"http://{PHONE_AT}:{self.port}"

    def day(self, on: date) -> None:
        """Make it this day for the pages."""
        (self.folder / TODAY_FILE).write_text(on.isoformat(), encoding="utf8")

    def open(self, page: str) -> None:
        """Open a page afresh and wait until its forms are ready, without pressing anything: by its link where there is
        one and the page was not open before, else with all of JupyterLab."""
        link = self.tab.evaluate_handle(f"name => ({PAGE})(name) ? null : ({LINK})(name)", page).as_element()
        if link:
            link.click()
        else:
            self.tab.goto(f"{self.address}/lab/tree/{page}.ipynb?token={TOKEN}")
        self.tab.wait_for_function(SHOWN, arg=page, timeout=PATIENCE)
        self.tab.wait_for_function(BUSY_GONE, timeout=PATIENCE)

    def open_on_phone(self) -> None:
        """Scan the code with a phone."""
        key = keys.read(self.folder)
        assert key is not None
        self.tab.set_viewport_size(PHONE)
        self.tab.goto(page_address(PHONE_AT, self.port, key.key))
        self.tab.wait_for_selector("#page")

    def too_small(self) -> Any:
        """Controls in sight that are lower than 44 px."""
        return self.tab.evaluate(TOO_SMALL)

    def too_wide(self) -> Any:
        """What stands out of the page on the right."""
        return self.tab.evaluate(TOO_WIDE)

    def cut_off(self) -> Any:
        """Labels and buttons whose words do not fit."""
        return self.tab.evaluate(CUT_OFF)

    def faint(self) -> Any:
        """Text with a contrast below 4.5 to 1 (WCAG 2.1, 1.4.3), with its ratio."""
        return self.tab.evaluate(FAINT)

    def kill_kernels(self) -> None:
        """Kill what runs behind the pages, as a crash would."""
        found = [self.behind(kernel["id"]) for kernel in asked(self.port, "/api/kernels")]
        assert found
        for process in found:
            process.kill()

    def behind(self, kernel: str) -> psutil.Process:
        """Return the process of a kernel: the one that listens where its clients are told to ask."""
        runtime = self.folder.parent / "data" / "runtime"
        port = json.loads((runtime / f"kernel-{kernel}.json").read_text(encoding="utf8"))["shell_port"]
        return next(psutil.Process(c.pid) for c in psutil.net_connections("tcp")
                    if c.laddr and c.laddr.port == port and c.status == psutil.CONN_LISTEN)

    def form(self, text: str) -> Any:
        """Return the form in sight in which this text stands."""
        return self.tab.locator(".reedlab:visible").filter(has_text=text).first


@dataclass
class Running:
    """The server of this run."""

    folder: Path
    port: int
    workspaces: Path


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The one browser of this run."""
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


def free_port() -> int:
    """A port that is free at both addresses, so that several runs never meet."""
    with socket.socket() as here:
        here.bind(("127.0.0.1", 0))
        port: int = here.getsockname()[1]
        with socket.socket() as there:
            there.bind((PHONE_AT, port))
    return port


@pytest.fixture(scope="session")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The one server of this run."""
    base = tmp_path_factory.mktemp("browser")
    home.prepare_folder(base / "my reeds")
    with serving(base) as server:
        yield server


@contextmanager
def serving(base: Path, **more: str) -> Iterator[Running]:
    """Open the folder "my reeds" in this one, with `more` in the environment."""
    folder, port = base / "my reeds", free_port()
    env = home.lab_environment({**os.environ, "JUPYTER_DATA_DIR": str(base / "data"),
                                "IPYTHONDIR": str(base / "ipython"), **more}, token=TOKEN, phone_at=PHONE_AT)
    with (base / "lab.log").open("w", encoding="utf8") as log:
        server = subprocess.Popen(home.lab_command(folder, port=port, browser=False), cwd=folder,
                                  env=env, stdout=log, stderr=log)
        try:
            deadline = time.monotonic() + PATIENCE / 1000
            while not (home._answers(port) and home._answers(port, PHONE_AT)):
                assert server.poll() is None, (base / "lab.log").read_text(encoding="utf8")
                assert time.monotonic() < deadline, (base / "lab.log").read_text(encoding="utf8")
                time.sleep(0.2)
            yield Running(folder, port, Path(env["JUPYTERLAB_WORKSPACES_DIR"]))
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


@pytest.fixture(scope="session")
def profile(chromium: Any) -> Iterator[Any]:
    """One profile for all tests: JupyterLab's scripts are fetched and compiled once."""
    context = chromium.new_context(viewport=DESK)
    yield context
    context.close()


@pytest.fixture
def player(running: Running, profile: Any, chromium: Any) -> Iterator[Player]:
    """A fresh tab on an empty folder; the server is the same, and what the profile keeps of a site is thrown away."""
    for old in running.folder.iterdir():
        if old.is_dir():
            shutil.rmtree(old)
        else:
            old.unlink()
    home.prepare_folder(running.folder)
    keys.begin(running.folder, host=PHONE_AT, port=running.port)
    shutil.rmtree(running.workspaces, ignore_errors=True)
    tab = profile.new_page()
    tab.set_default_timeout(PATIENCE)
    player = Player(running.folder, running.port, tab, chromium)
    tab.on("pageerror", lambda err: player.troubles.append(f"{err}\n{err.stack}"))
    tab.on("dialog", lambda dialog: (player.troubles.append(dialog.message), dialog.accept()))
    tab.on("request", lambda request: player.outside.append(request.url) if "//127.0.0." not in request.url and
           request.url.startswith(("http", "ws")) else None)
    yield player
    forget(profile, (player.address, player.phone_address))
    stop_kernels(running.port)


@pytest.fixture
def in_trial(player: Player) -> Player:
    """A trial on its first day, with four reeds a day."""
    four_reeds(player.folder)
    return player


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Tell with a failure what stood on the page, and what the server has said."""
    player = getattr(item, "funcargs", {}).get("player")
    if call.when == "call" and call.excinfo is not None and player is not None and not player.tab.is_closed():
        log = player.folder.parent / "lab.log"
        for name, text in (("address", player.tab.url), ("page", player.tab.inner_text("body")),
                           ("kernels", json.dumps(asked(player.port, "/api/kernels"), indent=1)),
                           ("troubles", "\n".join(player.troubles)), ("server", log.read_text(encoding="utf8"))):
            item.add_report_section("call", name, text[-3000:])
    return (yield)


def forget(profile: Any, sites: tuple[str, ...]) -> None:
    """Close all tabs of a profile and throw away what it keeps of these sites but for what it has fetched."""
    for tab in profile.pages:
        tab.close()
    profile.clear_cookies()
    tab = profile.new_page()
    session = profile.new_cdp_session(tab)
    for site in sites:
        session.send("Storage.clearDataForOrigin", {"origin": site, "storageTypes": "local_storage,indexeddb"})
    tab.close()


def asked(port: int, path: str, method: str = "GET") -> Any:
    """Ask the server's own interface, with the token."""
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", method=method,
                                     headers={"Authorization": f"token {TOKEN}"})
    with urllib.request.urlopen(request) as answer:
        text = answer.read()
    return json.loads(text) if text else None


def stop_kernels(port: int) -> None:
    """Have the server stop the pages that the last test left open."""
    for session in asked(port, "/api/sessions"):
        asked(port, f"/api/sessions/{session['id']}", "DELETE")
    for kernel in asked(port, "/api/kernels"):
        asked(port, f"/api/kernels/{kernel['id']}", "DELETE")
