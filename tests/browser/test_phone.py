"""The phone's page in a browser: a day rated, nothing lost while the computer is away, readable by everyone."""

from __future__ import annotations

import http.client
import json
import os
import signal
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest
from playwright.sync_api import Error

from reedlab.logbook import Logbook
from reedlab.phone import keys, page_address
from reedlab.rows.records import Sitting

from ..benchmarks.stopwatch import DAY as START
from ..benchmarks.stopwatch import four_reeds, phone_and_desk, serving, until
from .conftest import PHONE, PHONE_AT

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def sittings(player: Any) -> Any:
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        return logbook.frame("sittings")


def seen(player: Any, name: str) -> None:
    """Keep a picture, where a folder for them is named."""
    folder = os.environ.get("REEDLAB_PICTURES")
    if folder:
        player.tab.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def rate(tab: Any, points: int) -> None:
    tab.locator("details[open] .grid label", has_text=str(points)).first.click()


def save(tab: Any) -> None:
    tab.locator("details[open] .last button").first.click()


@pytest.fixture
def asleep(player: Any) -> Iterator[Any]:
    """The computer can be put to sleep, and is awake at the end."""
    port = f"--ServerApp.port={player.port}"
    server = next(p for p in psutil.process_iter(["cmdline"]) if port in (p.info["cmdline"] or []))
    yield server
    server.send_signal(signal.SIGCONT)


def test_four_reeds_are_rated_in_eight_taps_on_one_screen_with_nothing_fetched_from_outside(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    player.open_on_phone()
    assert asked[1:] == [f"{player.phone_address}/"]  # after the code's own address one request, and no key in it
    lines = tab.locator("details.line:has(form) > summary b")
    due = lines.count()
    assert due == 4
    assert tab.evaluate("[...document.querySelectorAll('details.line')].every("
                        "e => e.getBoundingClientRect().bottom <= innerHeight)")
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    assert (player.too_wide(), player.too_small(), player.faint(), player.cut_off()) == ([], [], [], [])
    taps, slowest, tall = 0, 0.0, 0
    for n in range(due):
        tall = max(tall, tab.evaluate("Math.round(document.querySelector('.lines').getBoundingClientRect().bottom)"))
        rate(tab, 7 - n)
        begun = time.monotonic()
        save(tab)
        tab.locator("#said.written").filter(has_text=f"overall {7 - n}").wait_for()
        slowest = max(slowest, time.monotonic() - begun)
        taps += 2
    print(f"{taps} taps, all on the first {tall} of {PHONE['height']} px, slowest Save confirmed in {slowest:.2f} s")
    assert tall <= PHONE["height"]
    assert taps <= 8
    assert sorted(sittings(player)["overall"]) == [4.0, 5.0, 6.0, 7.0]
    assert tab.get_by_text("all done for today").count() == 1
    assert tab.evaluate("Object.keys(localStorage)") == []
    assert (player.too_wide(), player.faint()) == ([], [])
    assert player.outside == []
    assert player.troubles == []


def test_without_script_a_rating_is_saved_changed_and_taken_back(in_trial: Any) -> None:
    player = in_trial
    key = keys.read(player.folder)
    context = player.chromium.new_context(viewport={"width": 390, "height": 844}, java_script_enabled=False)
    tab = context.new_page()
    tab.goto(f"{player.phone_address}/in/{key.key}")
    rate(tab, 8)
    save(tab)
    tab.get_by_text("Saved: 1-").wait_for()
    assert "saved=" in tab.url
    tab.reload()
    assert sittings(player)["overall"].tolist() == [8.0]
    tab.locator("details.done summary").first.click()
    rate(tab, 5)
    tab.get_by_role("button", name="Save the change").click()
    tab.get_by_text("overall 5").wait_for()
    tab.locator("details.done summary").first.click()
    tab.get_by_role("button", name="Take it back").click()
    tab.get_by_role("button", name="Yes, take it back").click()
    tab.get_by_text("Taken back").wait_for()
    assert len(sittings(player)) == 0
    context.close()


@pytest.mark.parametrize("reload", [False, True])
@pytest.mark.parametrize("lost", ["the form", "the answer"])
def test_what_is_typed_while_the_line_is_gone_arrives_once(in_trial: Any, reload: bool, lost: str) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    tab.route("**/save", lambda route: (route.fetch() if lost == "the answer" else None, route.abort()))
    rate(tab, 7)
    save(tab)
    bar = tab.locator("#bar")
    bar.get_by_text("The computer does not answer").wait_for()
    assert tab.get_by_text("waits on this phone").count() == 1
    second = tab.locator("details.line").nth(1)
    second.locator("summary").first.click()
    rate(tab, 6)
    save(tab)
    bar.get_by_text(",").wait_for()
    assert player.faint() == []
    seen(player, "phone_away")
    assert sittings(player)["overall"].tolist() == ([7.0] if lost == "the answer" else [])
    if reload:
        tab.reload()
        bar.get_by_text("The computer does not answer").wait_for()
        assert tab.locator("details.line").first.locator("input[name=overall]:checked").get_attribute("value") == "7"
    tab.unroute_all(behavior="wait")
    until(tab, "document.getElementById('bar').hidden && !localStorage.length")
    assert sorted(sittings(player)["overall"]) == [6.0, 7.0]


@pytest.mark.parametrize("reload", [False, True])
def test_what_is_typed_while_the_server_is_down_arrives_once_after_it_is_back(
        chromium: Any, tmp_path: Path, reload: bool) -> None:
    folder = tmp_path / "my reeds"
    four_reeds(folder)
    tab = chromium.new_context(viewport=PHONE).new_page()
    with phone_and_desk(folder, tmp_path, settled_s=0) as port:
        key = keys.read(folder)
        tab.goto(page_address(PHONE_AT, port, key.key))
        tab.locator("#page").wait_for()
    for points in (7, 6):  # the server is gone
        rate(tab, points)
        save(tab)
        save(tab)  # again, since nothing seems to happen
        tab.locator("#bar").get_by_text("The computer does not answer").wait_for()
        tab.locator("details.line").nth(8 - points).locator("summary").first.click()
    assert tab.get_by_text("waits on this phone").count() == 2
    if reload:
        with pytest.raises(Error, match="ERR_CONNECTION_REFUSED"):
            tab.reload()
    with serving(folder, tmp_path, port):
        if reload:
            tab.goto(f"http://{PHONE_AT}:{port}/")
        until(tab, "document.getElementById('bar').hidden && !localStorage.length")
        tab.reload()
        assert tab.locator("details.line.done").count() == 2
    tab.context.close()
    with Logbook.open(folder / "reeds.logbook", read_only=True) as logbook:
        assert sorted(logbook.frame("sittings")["overall"]) == [6.0, 7.0]
        assert len(set(logbook.frame("sittings")["reed"])) == 2


def test_an_entry_whose_answer_is_lost_while_the_computer_sleeps_is_in_the_book_once(in_trial: Any,
                                                                                     asleep: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    rate(tab, 7)
    asleep.send_signal(signal.SIGSTOP)
    save(tab)
    tab.get_by_text("waits on this phone").wait_for()
    save(tab)  # again, since nothing seems to happen
    tab.locator("#bar").get_by_text("The computer does not answer").wait_for(timeout=40_000)
    asleep.send_signal(signal.SIGCONT)
    until(tab, "document.getElementById('bar').hidden && !localStorage.length")
    assert sittings(player)["overall"].tolist() == [7.0]


def test_a_phone_locked_out_keeps_what_was_typed_and_sends_it_after_the_new_code(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    rate(tab, 7)
    keys.lock_out(player.folder)
    save(tab)
    tab.locator("#bar").get_by_text("locked out").wait_for()
    tab.reload()
    tab.get_by_text("This phone is not let in").wait_for()
    assert len(sittings(player)) == 0
    player.open_on_phone()
    until(tab, "!localStorage.length")
    assert sittings(player)["overall"].tolist() == [7.0]


def test_the_page_stays_current_and_what_is_typed_stays_typed(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    first = tab.locator("details.line > summary b").first.inner_text()
    with Logbook.open(player.folder / "reeds.logbook") as logbook:
        logbook.add(Sitting(date=START, reed=first, play_min=10, overall=9))
    tab.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    tab.locator("details.done summary").filter(has_text="✓ 9").wait_for()
    rate(tab, 3)
    tab.reload()
    assert tab.locator("details[open] input[name=overall]:checked").first.get_attribute("value") == "3"
    assert tab.get_by_text("not saved yet").count() == 1


def test_a_page_in_sight_shows_what_the_desk_writes_and_not_playing_moves_the_trial(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    first = tab.locator("details.line > summary b").first.inner_text()
    tab.wait_for_timeout(3500)  # it has looked once
    with Logbook.open(player.folder / "reeds.logbook") as logbook:
        number = logbook.add(Sitting(date=START, reed=first, play_min=10, overall=9))
    tab.locator("details.done summary").filter(has_text="✓ 9").wait_for()
    with Logbook.open(player.folder / "reeds.logbook") as logbook:
        logbook.withdraw("sittings", number)
    tab.locator("details.done").wait_for(state="detached")
    tab.get_by_text("Not playing today", exact=True).click()
    tab.get_by_role("button", name="Save: not playing today").click()
    tab.locator("#said.written").filter(has_text="Saved: not playing today.").wait_for()
    tab.get_by_text("the rest moves along").wait_for()
    tab.wait_for_timeout(3500)
    assert tab.locator("#said.written").inner_text() != ""  # its own writing is no news
    tab.get_by_text("Playing after all?").click()
    tab.get_by_role("button", name="I do play today").click()
    tab.locator("details.line:has(form) > summary b").nth(3).wait_for()
    assert player.troubles == []


def test_names_roles_and_states_are_told_and_the_day_works_by_keyboard(in_trial: Any) -> None:
    player, tab = in_trial, in_trial.tab
    player.open_on_phone()
    reed = tab.locator("details.line > summary b").first.inner_text()
    group = tab.get_by_role("group", name=f"Overall for {reed}, 0 to 10")
    assert group.get_by_role("radio").count() == 11
    assert tab.get_by_role("textbox", name="Minutes").first.get_attribute("inputmode") == "numeric"
    assert tab.locator("#said").get_attribute("aria-live") == "polite"
    keyboard = tab.keyboard
    group.get_by_role("radio", name="0", exact=True).focus()
    keyboard.press("ArrowRight")
    keyboard.press("ArrowRight")
    assert group.get_by_role("radio", name="2", exact=True).is_checked()
    keyboard.press("Enter")
    tab.get_by_text("overall 2").wait_for()
    assert tab.evaluate("document.activeElement.id") == "said"
    assert sittings(player)["overall"].tolist() == [2.0]


@pytest.mark.parametrize(("width", "height", "text", "scheme"), [
    (390, 844, 100, "light"), (390, 844, 100, "dark"), (320, 568, 100, "light"), (320, 568, 200, "dark"),
    (844, 390, 100, "light"), (320, 568, 200, "light")])
def test_it_holds_in_every_size_and_light(in_trial: Any, width: int, height: int, text: int, scheme: str) -> None:
    player, tab = in_trial, in_trial.tab
    tab.emulate_media(color_scheme=scheme)
    player.open_on_phone()
    tab.set_viewport_size({"width": width, "height": height})
    session = tab.context.new_cdp_session(tab)
    session.send("Emulation.setDeviceMetricsOverride", {"width": width, "height": height, "deviceScaleFactor": 2,
                                                        "mobile": True})
    tab.evaluate(f"""() => {{ const sheet = new CSSStyleSheet(); sheet.replaceSync('html {{ font-size: {text}% }}');
                 document.adoptedStyleSheets = [sheet]; }}""")
    for fold in tab.locator("details[open] .more > summary").all():
        fold.click()
    wide = "document.documentElement.scrollWidth"
    for step in ("shown", "refused"):
        seen(player, f"phone_{width}_{text}_{scheme}_{step}")
        assert tab.evaluate(wide) <= width
        assert (player.too_wide(), player.too_small(), player.faint()) == ([], [], [])
        tab.locator("details[open] .last button").first.click()
        tab.locator("#said.refused").wait_for()


def test_the_computers_page_shows_the_code_and_locks_all_phones_out(player: Any) -> None:
    player.open("start")
    start = player.form("Your logbook")
    start.get_by_role("button", name="On your phone").click()
    before = keys.read(player.folder)
    start.get_by_text(f"/in/{before.key}").wait_for()
    assert start.locator("svg.segno").bounding_box()["width"] > 150
    seen(player, "phone_code_on_start")
    start.get_by_role("button", name="Lock out all phones").click()
    start.get_by_text("All phones are locked out").wait_for()
    after = keys.read(player.folder)
    assert after.key != before.key
    start.get_by_text(f"/in/{after.key}").wait_for()
    assert player.troubles == []


def test_no_key_stands_in_any_command_line(player: Any) -> None:
    key = keys.read(player.folder)
    player.open("start")
    words = " ".join(" ".join(p.info["cmdline"] or []) for p in psutil.process_iter(["cmdline"])
                     if "playwright" not in " ".join(p.info["cmdline"] or []))
    assert f"--ServerApp.port={player.port}" in words
    assert not [secret for secret in (player.token, key.key, key.secret) if secret in words]


def status(address: str, **headers: str) -> int:
    """Return how an address answers, without following it anywhere."""
    host, _, path = address.removeprefix("http://").partition("/")
    line = http.client.HTTPConnection(host, timeout=30)
    line.request("GET", f"/{path}", headers={k.replace("_", "-"): v for k, v in headers.items()})
    answer = line.getresponse()
    line.close()
    return answer.status


def test_each_key_opens_its_own_door_alone(player: Any) -> None:
    key = keys.read(player.folder)
    desk = ("lab", "api/kernels", "api/contents", "api/sessions", "api/terminals", "files/today.ipynb",
            "reedlab/pages", "lab/api/settings", "api/kernels/1-2-3-4-5/channels")
    for path in desk:
        at = f"{player.address}/{path}"
        cookie = f"reedlab_phone_{player.port}={key.cookie()}"
        for more in ({}, {"Authorization": f"token {key.key}"}, {"Cookie": cookie}, {"Authorization": "token wrong"}):
            assert status(at, **more) in (302, 403, 404), path
            assert status(at, **more) != 404 or "terminals" in path, path
        assert status(f"{at}?token={key.key}") in (302, 403, 404), path
        there = f"{player.phone_address}/{path}"
        assert status(f"{there}?token={player.token}") == 404, path
        assert status(there, Authorization=f"token {player.token}") == 404, path
    assert status(f"{player.phone_address}/in/{player.token}") == 403
    assert status(f"{player.phone_address}/in/{key.key}") == 303
    assert status(f"{player.address}/in/{key.key}") in (302, 404)
    assert status(f"{player.address}/reedlab/pages", Authorization=f"token {player.token}") == 200
    kernel = asked(player, "POST", "api/kernels")["id"]
    upgrade = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec_WebSocket_Version": "13",
               "Sec_WebSocket_Key": "dGhlIHNhbXBsZSBub25jZQ==", "Authorization": f"token {player.token}"}
    channels = f"{player.address}/api/kernels/{kernel}/channels"
    assert status(channels, **{**upgrade, "Authorization": f"token {key.key}"}) == 403
    assert status(channels, **{**upgrade, "Origin": "http://strange.example", "Authorization": ""}) == 403
    assert status(channels, **upgrade) == 101


def asked(player: Any, method: str, path: str) -> Any:
    """Ask the desk with its own key."""
    request = urllib.request.Request(f"{player.address}/{path}", method=method, data=b"{}",
                                     headers={"Authorization": f"token {player.token}"})
    with urllib.request.urlopen(request) as answer:
        return json.loads(answer.read())


FORGED = "from pathlib import Path; Path('it ran').write_text('x')"


@pytest.mark.parametrize("name", ["start.ipynb", "from a friend.ipynb"])
def test_a_forged_page_does_not_run_by_itself_and_ours_does(player: Any, name: str) -> None:
    page = json.loads((player.folder / "start.ipynb").read_text(encoding="utf8"))
    (player.folder / "start.ipynb").rename(player.folder / "mine.ipynb")  # ours under another name waits, too
    code = next(c for c in page["cells"] if c["cell_type"] == "code")
    code["source"] = [FORGED]
    (player.folder / name).write_text(json.dumps(page), encoding="utf8")
    tab = player.tab
    for shown in (name, "mine.ipynb"):
        tab.goto(f"{player.address}/lab/tree/{shown}?token={player.token}")
        tab.locator(".jp-NotebookPanel:visible .jp-Notebook").wait_for()
        tab.wait_for_function("document.querySelector('.jp-Notebook-ExecutionIndicator[data-status=idle]') !== null")
        tab.wait_for_timeout(3000)
        assert not (player.folder / "it ran").exists()
        assert tab.locator(".reedlab-page").count() == 0
        assert tab.locator(".jp-OutputArea-output:visible").count() == 0
    player.open("today")
