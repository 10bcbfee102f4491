"""Plan, start, log three days (one with a typo corrected, one filled in late), retire a reed, read the answer."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)


@pytest.fixture
def with_reeds(player: Any) -> Any:
    """A box of ten reeds, all with their first play behind them."""
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 11))
    player.day(START)
    return player


def start_trial(player: Any) -> None:
    player.open("plan")
    form = player.form("What it can show")
    form.get_by_role("button", name="Water or mouth").click()
    form.get_by_role("button", name="No difference").click()
    form.get_by_role("button", name="Show me the plan").click()
    form.get_by_role("button", name="Start this trial").click()
    form.get_by_text("Started. This now stands in your logbook").wait_for()


def sittings(player: Any) -> Any:
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        return logbook.frame("sittings")


def line(player: Any, n: int) -> Any:
    """The n-th line of Today."""
    return player.tab.locator(".reedlab-line:visible").nth(n)


def rate(form: Any, points: int) -> None:
    form.get_by_role("button", name=re.compile(rf"^{points}\b")).first.click()


def save_line(player: Any, n: int, points: int) -> None:
    rate(line(player, n), points)
    line(player, n).get_by_role("button", name=re.compile("^Save")).click()
    line(player, n).get_by_text(f"✓ {points}").wait_for()


def something_else(player: Any, choice: str, has: str) -> Any:
    """Open a sheet behind "Something else?" and return its form, known by a text on it."""
    page = player.tab
    if not page.get_by_role("button", name=choice, exact=True).is_visible():
        page.get_by_role("button", name="Something else?").click()
    page.get_by_role("button", name=choice, exact=True).click()
    sheet = page.locator(".reedlab .reedlab:visible").filter(has_text=has)
    sheet.first.wait_for()
    return sheet.first


def test_three_days_a_correction_a_late_entry_a_retirement_and_the_answer(with_reeds: Any) -> None:
    player = with_reeds
    start_trial(player)

    # Day 1: the link in the form leads to Today; a press for the rating, one to save.
    player.form("Started.").get_by_role("link", name="Today").click()
    player.tab.get_by_text("day 1 of 28").wait_for()
    save_line(player, 0, 7)
    assert sittings(player)["overall"].tolist() == [7.0]

    # A typo: 7 should have been 6. It is corrected in its line, not overwritten.
    line(player, 0).get_by_role("button", name="Change the entry").click()
    rate(line(player, 0), 6)
    line(player, 0).get_by_role("button", name="Save").click()
    line(player, 0).get_by_text("✓ 6").wait_for()
    assert sittings(player)["overall"].tolist() == [6.0]

    # Day 2 begins.
    player.day(START + timedelta(days=1))
    player.open("today")
    player.tab.get_by_text("day 2 of 28").wait_for()
    save_line(player, 0, 8)

    # Day 3: yesterday's other reed was forgotten; it is written down late and marked as such.
    player.day(START + timedelta(days=2))
    player.open("today")
    player.tab.get_by_text("Not in the book:").wait_for()
    entry = something_else(player, "Yesterday", "Minutes played")
    entry.get_by_text("You are writing up Tuesday 10 March").wait_for()
    entry.get_by_label("Written down later, from memory").check()
    rate(entry, 5)
    entry.get_by_role("button", name="Save", exact=True).click()
    entry.get_by_text("Saved: ").wait_for()
    rows = sittings(player)
    assert len(rows) == 3
    assert rows["from_memory"].tolist() == [False, False, True]
    assert rows["date"].dt.date.tolist()[-1] == START + timedelta(days=1)

    # A reed chips.
    retire = something_else(player, "A reed is done with", "it leaves service")
    retire.get_by_label("Reed", exact=True).select_option("1-01")
    retire.get_by_role("button", name="Chipped or cracked").click()
    retire.get_by_role("button", name="Save: it leaves service").click()
    retire.get_by_text("Saved. This now stands in your logbook").wait_for()

    # A rehearsal is one line.
    outing = something_else(player, "Rehearsal or concert", "Save this line")
    outing.get_by_role("button", name="Rehearsal").click()
    outing.get_by_label("Reed", exact=True).select_option("1-09")
    outing.get_by_label("Minutes played").fill("45")
    outing.get_by_role("button", name="Save this line").click()
    outing.get_by_text("Saved. This now stands in your logbook").wait_for()
    assert sittings(player)["where"].tolist()[-1] == "rehearsal"

    # The case shows every reed that is left, and keeps the trial's ratings sealed.
    player.open("case")
    case = player.form("likely life")
    case.get_by_role("row").filter(has_text="sealed until").first.wait_for()
    case.get_by_role("button", name="what reeds die of").click()
    case.get_by_text("Chipped or cracked").first.wait_for()

    # While it runs the answer is sealed; after the last day it is there.
    player.open("result")
    player.form("Trial").get_by_text("sealed until").wait_for()
    player.day(START + timedelta(days=40))
    player.open("result")
    player.form("Trial").get_by_text("and what limits this answer").wait_for()
    assert player.troubles == []


def focused(player: Any) -> str:
    return str(player.tab.evaluate(
        "document.activeElement.getAttribute('aria-label') || document.activeElement.innerText").strip())


def press_until(player: Any, key: str, wanted: str) -> None:
    for _ in range(40):
        if focused(player) == wanted:
            return
        player.tab.keyboard.press(key)
        player.tab.wait_for_timeout(30)
    raise AssertionError(f"{wanted!r} was not reached; the focus is on {focused(player)!r}")


def test_an_ordinary_day_works_by_keyboard_alone(in_trial: Any) -> None:
    player = in_trial
    player.open("today")
    keys = player.tab.keyboard
    due = player.tab.locator(".reedlab-line:visible").count()
    player.tab.locator(".reedlab-line-of-pages:visible a").last.focus()
    for n in range(due):
        reed = line(player, n).locator("b").inner_text()
        press_until(player, "Tab", "0")
        press_until(player, "ArrowRight", str(9 - n))  # as in any row of choices
        keys.press("Enter")
        press_until(player, "Tab", f"Save {reed}")
        keys.press("Space")
        line(player, n).get_by_text(f"✓ {9 - n}").wait_for()
    assert sittings(player)["overall"].tolist() == [9.0 - n for n in range(due)]
    # Keys that cut, add or move cells in a notebook do nothing while a form has the focus.
    page = player.tab.locator(".jp-Notebook:visible").filter(has=player.tab.locator(".reedlab-day"))
    page.locator(".jp-Cell").first.wait_for()  # the page draws itself anew after a Save
    cells = page.locator(".jp-Cell").count()
    for where in (".reedlab button:visible", ".reedlab-line-of-pages a:visible"):
        player.tab.locator(where).first.focus()
        for key in ("x", "a", "d", "d", "b"):
            keys.press(key)
        player.tab.wait_for_timeout(500)
        assert page.locator(".jp-Cell").count() == cells


def test_killing_the_kernel_loses_at_most_what_was_not_saved_and_the_page_starts_again(in_trial: Any) -> None:
    player = in_trial
    player.open("paper")
    player.open("today")
    save_line(player, 0, 7)
    rate(line(player, 1), 5)  # and it is not saved
    player.kill_kernels()
    player.tab.get_by_text("What you saved is safe").locator("visible=true").wait_for()
    line(player, 0).get_by_text("✓ 7").wait_for()
    player.tab.locator(".reedlab-again:visible button").click()
    save_line(player, 1, 5)
    assert sorted(sittings(player)["overall"]) == [5.0, 7.0]
    player.open("paper")  # its kernel was killed too, while it was not in sight
    player.form("For the reed case").wait_for()
    assert player.tab.locator(".jp-Dialog").count() == 0


COUNT = """() => {
  window.reedlabClicks = 0;
  document.addEventListener('click', e => { if (e.target.closest('.reedlab button, .reedlab select')) {
    window.reedlabClicks++; } }, true);
}"""
#: How far the page is taller than its window.
OVER = """() => Math.max(...[...document.querySelectorAll('.reedlab-page .jp-WindowedPanel-outer')]
  .filter(e => e.offsetParent).map(e => e.scrollHeight - e.clientHeight))"""
PARTS = """() => [...document.querySelectorAll('.reedlab-line')].filter(e => e.offsetParent).map(line => {
  const group = line.querySelector('[role=group]');
  return [group.getAttribute('aria-label'),
          [...group.querySelectorAll('[aria-pressed=true]')].map(b => b.innerText.trim()).join()];
})"""


def test_four_reeds_stand_on_one_screen_and_take_at_most_eight_clicks(in_trial: Any) -> None:
    player = in_trial
    player.tab.set_viewport_size({"width": 1280, "height": 800})
    player.open("today")
    player.tab.evaluate(COUNT)
    lines = player.tab.locator(".reedlab-line:visible")
    lines.nth(3).wait_for()
    assert lines.count() == 4
    assert player.tab.evaluate(OVER) <= 0
    for n in range(4):
        rate(line(player, n), 7 - n)
    assert player.tab.evaluate(OVER) <= 0
    reeds = [line(player, n).locator("b").inner_text() for n in range(4)]
    player.tab.wait_for_function("document.querySelectorAll('.reedlab-line [aria-pressed=true]').length === 4")
    assert player.tab.evaluate(PARTS) == [[f"Overall for {r}, 0 to 10", str(7 - n)] for n, r in enumerate(reeds)]
    assert player.too_small() == []
    assert player.faint() == []
    player.tab.get_by_role("button", name="Save all 4").click()
    line(player, 3).get_by_text("✓ 4").wait_for()
    clicks = player.tab.evaluate("window.reedlabClicks")
    print(f"{clicks} clicks; the page is {-player.tab.evaluate(OVER)} px shorter than its window of 800")
    assert clicks == 5
    player.tab.get_by_text("Saved: ").wait_for()
    assert player.tab.evaluate(OVER) <= 0
    assert player.tab.locator(".reedlab-said:visible").filter(has_text="Saved").get_attribute("aria-live") == "polite"
    rows = sittings(player)
    assert dict(zip(rows["reed"], rows["overall"], strict=True)) == {r: 7 - n for n, r in enumerate(reeds)}
    player.tab.get_by_text("all done for today").wait_for()
    assert player.tab.locator(".reedlab-line:visible .reedlab-state").all_inner_texts() == [
        f"✓ {7 - n}" for n in range(4)]


def test_each_line_saved_by_itself_takes_eight_clicks_and_a_double_click_writes_once(in_trial: Any) -> None:
    player = in_trial
    player.open("today")
    player.tab.evaluate(COUNT)
    for n in range(3):
        save_line(player, n, 5 + n)
    assert player.tab.evaluate("window.reedlabClicks") == 6
    rate(line(player, 3), 9)
    line(player, 3).get_by_role("button", name=re.compile("^Save")).dblclick()
    line(player, 3).get_by_text("✓ 9").wait_for()
    player.tab.wait_for_timeout(1000)
    assert sittings(player)["overall"].tolist() == [5.0, 6.0, 7.0, 9.0]
    assert player.tab.locator(".reedlab-bad:visible, .reedlab-ask:visible").count() == 0
    player.tab.get_by_text("Saved: ").wait_for()
    assert player.troubles == []


@pytest.mark.parametrize("page", ["plan", "today", "case", "paper", "result"])
def test_controls_are_big_enough_and_no_label_is_cut_off(with_reeds: Any, page: str) -> None:
    player = with_reeds
    player.open(page)
    if page == "plan":
        player.form("What it can show").get_by_role("button", name="Water or mouth").click()
        player.tab.wait_for_timeout(1000)
    folds = player.tab.locator(".reedlab-fold:not(.mod-active):visible")
    while folds.count():
        folds.first.click()
    for n in range(1, player.tab.locator(".reedlab-choice:visible button").count()):  # each sheet of Today in turn
        assert player.too_small() == []
        assert player.cut_off() == []
        assert player.faint() == []
        player.tab.locator(".reedlab-choice:visible button").nth(n).click()
        player.tab.wait_for_timeout(300)
    assert player.too_small() == []
    assert player.cut_off() == []
    assert player.faint() == []
    player.tab.evaluate("document.querySelector('.reedlab').insertAdjacentHTML('beforeend', "
                        "'<p style=color:#d55e00>x</p>')")
    assert player.faint() == [[3.87, "x"]]
    player.tab.set_viewport_size({"width": 390, "height": 800})
    assert player.too_small() == []
