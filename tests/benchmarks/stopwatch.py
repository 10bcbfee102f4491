"""The phone and an ordinary day by the stopwatch: how soon a Save is confirmed, how soon the phone's page can be used,
at home and over a slow line, and how long a day of four reeds takes at the desk and on the phone.

A press takes as long as a player takes for it: making up one's mind, pointing and pressing, with the times of the
keystroke-level model (Card, Moran & Newell 1980, Communications of the ACM 23:396-410). The playing is left out.

    python -m tests.benchmarks.stopwatch [SAVES]
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from reedlab.demo import set_up_demo
from reedlab.desk import home
from reedlab.folder.clock import TODAY_FILE
from reedlab.phone import keys, page_address

from .usable import FLAGS, TOKEN

#: Seconds of the keystroke-level model: preparing in mind, pointing, and one key by the average non-secretary typist.
MIND_S, POINT_S, PRESS_S = 1.35, 1.10, 0.28
PHONE: Final = {"width": 390, "height": 844}
PHONE_AT: Final = "127.0.0.2"
#: A slow line: 50 KB a second, 400 ms until anything comes back.
SLOW: Final = {"offline": False, "latency": 400, "downloadThroughput": 50_000, "uploadThroughput": 50_000}
#: The first day of the invented trial.
DAY: Final = date(2026, 3, 9)

#: Notes when a button that sends a form was pressed and when the answer stood on the page.
_CLOCK: Final = """
addEventListener('click', e => { if (e.target.closest('button')) { window.pressed = performance.now(); } }, true);
addEventListener('DOMContentLoaded', () => {
  const said = document.getElementById('said');
  said && new MutationObserver(() => { if (said.className === 'written' && window.pressed) {
    window.confirmed = performance.now() - window.pressed; window.pressed = 0; } })
    .observe(said, { attributes: true, childList: true, subtree: true });
});"""
_CAN_BE_USED: Final = "!!document.querySelector('#page details[open] button') && document.readyState !== 'loading'"


@dataclass
class Hand:
    """A player's hand: presses what is in sight, at a player's pace; scrolls where it must, and counts both.

    With `waits` False the player's own time is reckoned, not waited for.
    """

    tab: Any
    waits: bool = True
    mind_s: float = MIND_S
    reckoned_s: float = 0.0
    presses: int = 0
    scrolls: int = 0

    def press(self, target: Any) -> None:
        """Make up one's mind, point and press."""
        target.wait_for()
        if self.waits:
            time.sleep(self.mind_s + POINT_S)
        else:
            self.reckoned_s += self.mind_s + POINT_S
        box, seen = target.bounding_box(), self.tab.viewport_size
        if (box["y"] < 0 or box["y"] + box["height"] > seen["height"]
                or box["x"] < 0 or box["x"] + box["width"] > seen["width"]):
            self.scrolls += 1
            target.scroll_into_view_if_needed()
            box = target.bounding_box()
        self.tab.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, delay=1000 * PRESS_S)
        self.presses += 1


@dataclass(frozen=True)
class Timed:
    """What a day took: seconds from the first look to the last answer, presses, scrolls."""

    seconds: float
    presses: int
    scrolls: int


def until(tab: Any, true: str, patience_s: float = 60) -> None:
    """Wait for something on the phone's page, whose own rules forbid what the browser's driver would use."""
    deadline = time.monotonic() + patience_s
    while not tab.evaluate(true):
        if time.monotonic() > deadline:
            raise TimeoutError(true)
        tab.wait_for_timeout(10)


def day_on_phone(tab: Any, ratings: Sequence[int], *, waits: bool = True) -> Timed:
    """Rate the day's reeds on the phone's page as it stands open."""
    hand, begun = Hand(tab, waits), time.perf_counter()
    for points in ratings:
        hand.press(tab.locator("details[open] .grid label", has_text=str(points)).first)
        hand.press(tab.locator("details[open] .last button").first)
        tab.locator("#said.written").filter(has_text=f"overall {points}").wait_for()
    return Timed(time.perf_counter() - begun + hand.reckoned_s, hand.presses, hand.scrolls)


def day_at_desk(tab: Any, ratings: Sequence[int], *, waits: bool = True) -> Timed:
    """Rate the day's reeds on the page Today as it stands open."""
    hand, begun = Hand(tab, waits), time.perf_counter()
    for n, points in enumerate(ratings):
        line = tab.locator(".reedlab-line:visible").nth(n)
        hand.press(line.locator("button:visible").filter(has_text=str(points)).first)
        hand.press(line.locator("button.mod-primary:visible"))
        line.get_by_text(f"✓ {points}").wait_for()
    return Timed(time.perf_counter() - begun + hand.reckoned_s, hand.presses, hand.scrolls)


def can_be_used(tab: Any, address: str) -> float:
    """Open the phone's page and return the seconds until something in it can be pressed."""
    begun = time.perf_counter()
    tab.goto(address, wait_until="commit")
    until(tab, _CAN_BE_USED)
    return time.perf_counter() - begun


def over(tab: Any, line: dict[str, Any]) -> None:
    """Put the page on a line of this kind."""
    session = tab.context.new_cdp_session(tab)
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", line)


def saves(tab: Any, next_day: Callable[[], None], wanted: int) -> list[float]:
    """Save ratings day by day, change each once, and return for each the milliseconds until it was confirmed."""
    tab.add_init_script(_CLOCK)
    out: list[float] = []

    def save(points: int) -> None:
        tab.evaluate("window.confirmed = 0")
        tab.locator("details[open] .grid label", has_text=str(points)).first.click()
        tab.locator("details[open] .last button").first.click()
        until(tab, "!!window.confirmed")
        out.append(tab.evaluate("window.confirmed"))

    while len(out) < wanted:
        next_day()
        tab.reload()
        for n in range(tab.locator("details.line:not(.done):has(input[name=reed][type=hidden])").count()):
            save(7)
            tab.locator("details.done > summary").nth(n).click()
            save(5)
            tab.locator("details.done[open]").evaluate_all("all => all.forEach(e => { e.open = false; })")
            tab.reload()
    return out[:wanted]


@contextmanager
def phone_and_desk(folder: Path, base: Path, settled_s: float = 15) -> Iterator[int]:
    """The server as `reedlab open --phone` starts it; gives its port, once all that it does at its start is done."""
    port = home._free_port(9600)
    keys.begin(folder, host=PHONE_AT, port=port)
    with serving(folder, base, port):
        time.sleep(settled_s)
        yield port


@contextmanager
def serving(folder: Path, base: Path, port: int) -> Iterator[subprocess.Popen[bytes]]:
    """The server on a port, with the key of the phone that there is already; gives its process."""
    env = home.lab_environment({**os.environ, "JUPYTER_DATA_DIR": str(base / "data"),
                                "IPYTHONDIR": str(base / "ipython")}, token=TOKEN, phone_at=PHONE_AT)
    server = subprocess.Popen(home.lab_command(folder, port=port, browser=False), cwd=folder, env=env,
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        while not (home._answers(port) and home._answers(port, PHONE_AT)):
            time.sleep(0.1)
        yield server
    finally:
        server.terminate()
        server.wait(20)


def spread(values: Sequence[float]) -> str:
    """Return the middle value, the one that 95 in 100 stay under, and the largest."""
    ordered = sorted(values)
    return (f"{statistics.median(ordered):6.0f}  95 in 100 under {ordered[int(0.95 * (len(ordered) - 1))]:.0f}, "
            f"largest {ordered[-1]:.0f}")


def four_reeds(folder: Path, trial: str | None = None) -> None:
    """A logbook with a trial of this name on its first day, with four reeds a day; all of it invented."""
    from reedlab.logbook import Logbook
    from reedlab.plan import draw_up
    from reedlab.rows.records import Box, Reed

    home.prepare_folder(folder)
    (folder / TODAY_FILE).write_text(DAY.isoformat(), encoding="utf8")
    with Logbook.create(folder / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=DAY - timedelta(days=5)) for n in range(1, 11))
        draft = draw_up("wetting", logbook.frame("reeds"), start=DAY, seed=1, instrument="clarinet",
                        expected="same", simulations=100, reeds_a_day=4, trial=trial)
        logbook.start_trial(draft.protocol)


def _phone_tab(browser: Any, **more: Any) -> Any:
    return browser.new_context(viewport=PHONE, **more).new_page()


def _measure_demo(browser: Any, base: Path, wanted: int) -> None:
    folder = set_up_demo(base / "demo").parent
    home.prepare_folder(folder)
    with phone_and_desk(folder, base) as port:
        key = keys.read(folder)
        assert key is not None
        address = page_address(PHONE_AT, port, key.key)
        first = can_be_used(_phone_tab(browser), address)
        times: list[float] = []
        for line in (None, SLOW):
            found = []
            for _ in range(5):
                tab = _phone_tab(browser)
                if line:
                    over(tab, line)
                found.append(1000 * can_be_used(tab, address))
                tab.context.close()
            print(f"phone's page, {'slow line' if line else 'at home':10} ms until it can be used {spread(found)}")
        print(f"the very first opening: {1000 * first:.0f} ms")
        tab = _phone_tab(browser)
        can_be_used(tab, address)
        clock = folder / TODAY_FILE

        def next_day() -> None:
            if times:
                on = date.fromisoformat(clock.read_text(encoding="utf8").strip())
                clock.write_text((on + timedelta(days=1)).isoformat(), encoding="utf8")
            times.append(0)

        print(f"Save on the phone, the demo's logbook, ms until confirmed {spread(saves(tab, next_day, wanted))}")


def _measure_day(browser: Any, base: Path) -> None:
    folder = base / "four reeds"
    four_reeds(folder)
    with phone_and_desk(folder, base) as port:
        key = keys.read(folder)
        assert key is not None
        tab = _phone_tab(browser)
        can_be_used(tab, page_address(PHONE_AT, port, key.key))
        print("day of four reeds, phone:", day_on_phone(tab, (7, 6, 5, 4)))
        (folder / TODAY_FILE).write_text((DAY + timedelta(days=1)).isoformat(), encoding="utf8")
        tab = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
        tab.goto(f"http://127.0.0.1:{port}/lab/tree/today.ipynb?token={TOKEN}")
        tab.locator(".reedlab-line:visible").nth(3).wait_for(timeout=60_000)
        print("day of four reeds, desk: ", day_at_desk(tab, (7, 6, 5, 4)))


def main(wanted: int = 30) -> None:
    """Print the table."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    print(f"load before: {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        _measure_demo(browser, Path(made), wanted)
        _measure_day(browser, Path(made))
        browser.close()


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
