"""The page of one file in a real browser, from the disk, with no network: typed in, closed, handed back, read in."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.errands.away import Unsure, read_away, write_away
from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.screens import Entry, Written, save

from ..errands._away import PLAN, START, begun, opened
from .conftest import CHROMIUM, CUT_OFF, FAINT, FLAGS, PHONE, TOO_SMALL, TOO_WIDE

pytestmark = [pytest.mark.browser, pytest.mark.slow]

#: day of the trial, reed, points tapped, a half more
DAYS = [(0, "1-03", 7, False), (0, "1-04", 5, True), (1, "1-01", 6, False), (1, "1-02", 8, False),
        (2, "1-03", 4, False), (2, "1-04", 9, True), (3, "1-01", 6, True), (3, "1-02", 0, False)]


@contextmanager
def away(chromium: Any, profile: Path, **more: Any) -> Iterator[Any]:
    """A browser with its own profile on the disk and no network; leaving closes it."""
    context = chromium.browser_type.launch_persistent_context(
        str(profile), executable_path=CHROMIUM, args=FLAGS,
        viewport=PHONE, **more)
    context.set_offline(True)
    yield context
    context.close()


def show(context: Any, page: Path, on: date, troubles: list[str]) -> Any:
    """Open the page in a new tab on a day."""
    tab = context.new_page()
    tab.on("pageerror", lambda err: troubles.append(str(err)))
    tab.on("console", lambda line: troubles.append(line.text) if line.type == "error" else None)
    tab.on("request", lambda request: troubles.append(request.url) if request.url.startswith("http") else None)
    tab.clock.set_fixed_time(datetime.combine(on, datetime.min.time()).replace(hour=18))
    tab.goto(page.as_uri())
    tab.wait_for_selector("#lines")
    return tab


def rate(tab: Any, reed: str, points: int, half: bool) -> None:
    """Tap a rating for a reed and save it."""
    line = tab.locator("#lines > details").filter(has=tab.locator("summary b", has_text=reed))
    if line.get_attribute("open") is None:
        line.locator("summary").first.click()
    line.get_by_role("radio", name=str(points), exact=True).check(force=True)
    if half:
        line.get_by_label("and a half point").check()
    line.get_by_role("button", name="Save", exact=True).click()
    assert reed in tab.locator("#said").inner_text()


def rows(logbook: Logbook) -> list[dict[str, Any]]:
    frame = logbook.frame("sittings")
    frame = frame[frame["date"].dt.date >= START].sort_values(["date", "order"])
    kept = [c for c in frame.columns if c not in ("sitting", "entry_id", "entered_at")]
    return [{k: v for k, v in row.items() if v == v and v is not None} for row in frame[kept].to_dict("records")]


@pytest.fixture
def page(tmp_path: Path) -> Path:
    with opened(begun(tmp_path / "reeds.logbook"), START) as logbook:
        return write_away(logbook, tmp_path / "away.html", today=START).path


def test_four_days_without_a_network_are_the_same_as_four_days_at_the_desk(
        page: Path, chromium: Any, tmp_path: Path) -> None:
    troubles: list[str] = []
    for day in range(4):  # the browser is closed after each day
        with away(chromium, tmp_path / "profile") as context:
            tab = show(context, page, START + timedelta(days=day), troubles)
            for on, reed, points, half in DAYS:
                if on == day:
                    rate(tab, reed, points, half)
    last = START + timedelta(days=3)
    with away(chromium, tmp_path / "profile", accept_downloads=True) as context:
        tab = show(context, page, last, troubles)
        assert tab.locator("#fresh").inner_text() == "8 new things are not handed back yet."
        tab.get_by_role("button", name="Make the file to hand back").click()
        with tab.expect_download() as saved:
            tab.get_by_role("link", name="Save the file").click()
        assert saved.value.suggested_filename == f"page-{last.isoformat()}.json"
        saved.value.save_as(tmp_path / "back.json")
        pasted = tab.locator("#text").input_value()
        assert tab.locator("#fresh").inner_text() == "Nothing new since you last handed it back."
    assert troubles == []
    text = (tmp_path / "back.json").read_text(encoding="utf8")
    assert text == pasted

    desk = begun(tmp_path / "desk.logbook")
    ways = dict(zip((u.unit for u in PLAN.units), PLAN.dealt, strict=True))
    for on, reed, points, half in DAYS:
        with opened(desk, START + timedelta(days=on)) as there:
            assert isinstance(save(there, Entry({
                "date": START + timedelta(days=on), "reed": reed, "where": "practice", "play_min": 10,
                "overall": points + half / 2, "habit": ways[reed]})), Written)
    with opened(tmp_path / "reeds.logbook", last) as mine, opened(desk, last) as there:
        assert read_away(mine, text).added == 8
        assert rows(mine) == rows(there)
        again = read_away(mine, text)
        assert (again.added, again.there) == (0, 8)
        with pytest.raises(ExchangeError, match="changed"):
            read_away(mine, text.replace('"overall": "4"', '"overall": "10"'))
        assert rows(mine) == rows(there)


def test_everything_that_can_be_said_comes_along(page: Path, chromium: Any, tmp_path: Path) -> None:
    troubles: list[str] = []
    with away(chromium, tmp_path / "profile") as context:
        tab = show(context, page, START + timedelta(days=1), troubles)
        tab.get_by_role("button", name="The day before").click()
        line = tab.locator("#lines > details").first
        assert line.get_by_label("Written down later, from memory").is_checked()
        line.get_by_role("button", name="Save", exact=True).click()
        assert "Overall: tap how the reed played" in tab.locator("#said").inner_text()
        line.get_by_role("radio", name="6", exact=True).check(force=True)
        line.get_by_label("Minutes").fill("300")
        line.get_by_text("Something else?").click()
        line.get_by_label("Not sure which reed").check()
        line.get_by_label("Remark").fill("  dry,  “thin” ")
        line.get_by_label("Stiffness").select_option("-1.5")
        line.get_by_label("drying in the open").check()
        line.get_by_label("Is this reed done for?").select_option("Chipped or cracked")
        line.get_by_role("button", name="Save", exact=True).click()
        assert "300 minutes on 1-03 is a lot." in tab.locator("#said").inner_text()
        line.get_by_role("button", name="Save", exact=True).click()
        assert "Saved in this browser" in tab.locator("#said").inner_text()
        tab.get_by_text("A day off, the air of the room").click()
        tab.get_by_label("Humidity, %").fill("47,5")
        tab.get_by_label("Day off").check()
        tab.get_by_role("button", name="Save the day").click()
        tab.get_by_role("button", name="The day after").click()
        tab.get_by_text("Another reed or a rehearsal").click()
        own = tab.locator("#other")
        own.locator("select[name=reed]").select_option("1-04")
        own.get_by_label("Where").select_option("Rehearsal")
        own.get_by_label("Minutes").fill("90")
        own.get_by_role("button", name="Save", exact=True).click()
        tab.get_by_role("button", name="The day after").click()
        assert "still to come" in tab.locator("#note").inner_text()
        assert "Chipped or cracked" in tab.locator("#lines").inner_text()
        tab.get_by_role("button", name="Make the file to hand back").click()
        body = json.loads(tab.locator("#text").input_value())
    assert troubles == []
    first, second = body["sittings"]
    assert {k: v for k, v in first.items() if k != "sitting"} == {
        "date": "2026-03-09", "reed": "1-03", "where": "practice", "play_min": "300", "overall": "6", "habit": "open",
        "order": "1", "from_memory": "yes", "unsure_reed": "yes", "remark": "dry, “thin”",
        "stiffness": "-1.5"}
    assert {k: v for k, v in second.items() if k != "sitting"} == {
        "date": "2026-03-10", "reed": "1-04", "where": "rehearsal", "play_min": "90"}
    assert body["days"] == [{"date": "2026-03-09", "day_off": "yes", "humidity_pct": "47.5"}]
    assert body["gone"] == [{"reed": "1-03", "date": "2026-03-09", "reason": "damaged"}]
    with opened(tmp_path / "reeds.logbook", START + timedelta(days=2)) as logbook:
        text = json.dumps(body)
        with pytest.raises(Unsure) as odd:
            read_away(logbook, text)
        read_away(logbook, text, sure=odd.value.token)
        one, two = rows(logbook)
    assert (one["stiffness"], one["habit"], one["unsure_reed"], one["from_memory"]) == (-1.5, "open", True, True)
    assert (two["where"], two["play_min"]) == ("rehearsal", 90)


def test_half_typed_lines_are_kept_and_entries_can_be_changed_and_taken_back(
        page: Path, chromium: Any, tmp_path: Path) -> None:
    troubles: list[str] = []
    with away(chromium, tmp_path / "profile") as context:
        tab = show(context, page, START, troubles)
        tab.locator("#lines > details").first.get_by_role("radio", name="3", exact=True).check(force=True)
    with away(chromium, tmp_path / "profile") as context:
        tab = show(context, page, START, troubles)
        line = tab.locator("#lines > details").first
        assert line.get_by_role("radio", name="3", exact=True).is_checked()
        assert "not saved yet" in line.inner_text()
        rate(tab, "1-03", 3, False)
        line.locator("summary").first.click()
        line.get_by_role("radio", name="5", exact=True).check(force=True)
        line.get_by_role("button", name="Save the change").click()
        assert "✓ 5" in line.inner_text()
        line.locator("summary").first.click()
        line.get_by_text("Something else?").click()
        line.get_by_role("button", name="Take it back").click()
        line.get_by_role("button", name="Take it back").click()
        assert "Taken back" in tab.locator("#said").inner_text()
        tab.get_by_role("button", name="Make the file to hand back").click()
        (row,) = json.loads(tab.locator("#text").input_value())["sittings"]
        assert set(row) == {"sitting", "gone"}
    assert troubles == []


def test_a_browser_that_keeps_nothing_is_told_of(page: Path, chromium: Any, tmp_path: Path) -> None:
    context = chromium.new_context(viewport=PHONE, offline=True)
    context.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })")
    tab = show(context, page, START, [])
    assert "cannot keep what you type" in tab.get_by_role("alert").inner_text()
    rate(tab, "1-03", 7, False)
    assert "cannot keep it" in tab.locator("#said").inner_text()
    tab.get_by_role("button", name="Make the file to hand back").click()
    assert len(json.loads(tab.locator("#text").input_value())["sittings"]) == 1
    context.close()
    context = chromium.new_context(viewport=PHONE, java_script_enabled=False, offline=True)
    tab = context.new_page()
    tab.goto(page.as_uri())
    assert tab.get_by_text("This page does not run here.").is_visible()
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [(320, 800), (390, 844), (844, 390), (1280, 800)])
def test_it_fits_is_large_enough_and_can_be_read(
        page: Path, chromium: Any, scheme: Any, size: tuple[int, int]) -> None:
    context = chromium.new_context(viewport=dict(zip(("width", "height"), size, strict=True)), color_scheme=scheme,
                                   offline=True)
    tab = show(context, page, START, [])
    rows = {round(box.bounding_box()["y"]) for box in tab.locator("#lines .grid label").all() if box.is_visible()}
    assert len(rows) == {320: 3, 390: 2}.get(size[0], 1)
    rate(tab, "1-03", 7, False)
    tab.get_by_role("button", name="Make the file to hand back").click()
    tab.evaluate("document.querySelectorAll('details').forEach(d => { d.removeAttribute('name'); d.open = true; })")
    for big in ("100%", "200%"):
        tab.evaluate("big => { document.documentElement.style.fontSize = big; }", big)
        assert tab.evaluate(TOO_WIDE) == []
        assert tab.evaluate(CUT_OFF) == []
        assert tab.evaluate(FAINT) == []
        assert [x for x in tab.evaluate(TOO_SMALL) if "textarea" not in x] == []
    context.close()
