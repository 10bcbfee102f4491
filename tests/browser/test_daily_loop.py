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
    form = player.form("What do you want to know?")
    form.get_by_label("What do you want to know?").select_option("Water or mouth")
    form.get_by_role("button", name="No difference").click()
    form.get_by_role("button", name="Show me the plan").click()
    form.get_by_role("button", name="Start this trial").click()
    form.get_by_text("Started. This now stands in your logbook").wait_for()


def sittings(player: Any) -> Any:
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        return logbook.frame("sittings")


def rate(form: Any, points: int) -> None:
    form.get_by_role("button", name=re.compile(rf"^{points}\b")).first.click()


def save(form: Any, expect: str = "Saved. This now stands in your logbook") -> None:
    form.get_by_role("button", name="Save", exact=True).click()
    form.get_by_text(expect).wait_for()


def test_three_days_a_correction_a_late_entry_a_retirement_and_the_answer(with_reeds: Any) -> None:
    player = with_reeds
    start_trial(player)

    # Day 1: the link in the form leads to Today; the first reed is chosen; two interactions and it is saved.
    player.form("Started.").get_by_role("link", name="Today").click()
    today = player.form("Minutes played")
    today.get_by_text("day 1 of 14").wait_for()
    rate(today, 7)
    save(today)
    assert sittings(player)["overall"].tolist() == [7.0]

    # A typo: 7 should have been 6. It is corrected, not overwritten.
    today.get_by_role("button", name="Change an earlier entry").click()
    today.get_by_label("Entry").select_option(index=1)
    today.get_by_role("button", name="Change it").click()
    today.get_by_text("You are changing the entry").wait_for()
    rate(today, 6)
    today.get_by_role("button", name="Save the change").click()
    today.get_by_text("Saved. This now stands").wait_for()
    assert sittings(player)["overall"].tolist() == [6.0]

    # Day 2 begins while the page is open.
    player.day(START + timedelta(days=1))
    player.open("today")
    today = player.form("Minutes played")
    today.get_by_text("day 2 of 14").wait_for()
    rate(today, 8)
    save(today)

    # Day 3: yesterday's other reed was forgotten; it is written down late and marked as such.
    player.day(START + timedelta(days=2))
    player.open("today")
    today = player.form("Minutes played")
    today.get_by_text("Not in the book:").wait_for()
    today.get_by_role("button", name="Write up yesterday").click()
    today.get_by_text("You are writing up Tuesday 10 March").wait_for()
    today.get_by_label("Written down later, from memory").check()
    rate(today, 5)
    save(today)
    rows = sittings(player)
    assert len(rows) == 3
    assert rows["from_memory"].tolist() == [False, False, True]
    assert rows["date"].dt.date.tolist()[-1] == START + timedelta(days=1)

    # A reed chips.
    retire = player.form("it leaves service")
    retire.get_by_label("Reed", exact=True).select_option("1-01")
    retire.get_by_role("button", name="Chipped or cracked").click()
    retire.get_by_role("button", name="Save: it leaves service").click()
    retire.get_by_text("Saved. This now stands in your logbook").wait_for()

    # A rehearsal is one line.
    outing = player.form("Save this line")
    outing.get_by_role("button", name="Rehearsal").click()
    outing.get_by_label("Reed", exact=True).select_option("1-09")
    outing.get_by_label("Minutes played").fill("45")
    outing.get_by_role("button", name="Save this line").click()
    outing.get_by_text("Saved. This now stands in your logbook").wait_for()
    assert sittings(player)["where"].tolist()[-1] == "rehearsal"

    # The case shows every reed that is left, and keeps the trial's ratings sealed.
    player.open("case")
    case = player.form("Every reed")
    case.get_by_role("row").filter(has_text="sealed").first.wait_for()
    case.get_by_text("Chipped or cracked").first.wait_for()

    # While it runs the answer is sealed; after the last day it is there.
    player.open("result")
    player.form("Trial").get_by_text("sealed until").wait_for()
    player.day(START + timedelta(days=20))
    player.open("result")
    player.form("Trial").get_by_text("What limits this answer?").wait_for()
    assert player.troubles == []


def test_an_ordinary_days_entry_works_by_keyboard_alone(with_reeds: Any) -> None:
    player = with_reeds
    start_trial(player)
    player.open("today")
    today = player.form("Minutes played")
    today.get_by_label("Reed", exact=True).focus()
    keys = player.tab.keyboard
    for _ in range(30):
        keys.press("Tab")
        if player.tab.evaluate("document.activeElement.innerText").strip().startswith("9"):
            break
    keys.press("Enter")
    for _ in range(120):
        keys.press("Tab")
        if player.tab.evaluate("document.activeElement.innerText").strip() == "Save":
            break
    keys.press("Space")
    today.get_by_text("Saved. This now stands in your logbook").wait_for()
    assert sittings(player)["overall"].tolist() == [9.0]
    # Keys that cut, add or move cells in a notebook do nothing while a form has the focus.
    cells = player.tab.locator(".jp-Notebook:visible .jp-Cell").count()
    for where in (".reedlab button:visible", ".jp-RenderedMarkdown a:visible"):
        player.tab.locator(where).first.focus()
        for key in ("x", "a", "d", "d", "b"):
            keys.press(key)
        player.tab.wait_for_timeout(500)
        assert player.tab.locator(".jp-Notebook:visible .jp-Cell").count() == cells


def test_killing_the_kernel_loses_at_most_what_was_not_saved_and_the_page_starts_again(with_reeds: Any) -> None:
    player = with_reeds
    start_trial(player)
    player.open("today")
    today = player.form("Minutes played")
    rate(today, 7)
    save(today)
    reed = sittings(player)["reed"].iloc[0]
    rate(today, 5)  # and it is not saved
    player.kill_kernels()
    player.tab.get_by_text("What you saved is safe").wait_for()
    dialogs = player.tab.locator(".jp-Dialog button:visible")  # JupyterLab's own word on it, one for each page
    while dialogs.count():
        dialogs.last.click()
    again = player.form("Minutes played")
    again.get_by_text(f"Saved for today: {reed} (10 min, rated).").wait_for()
    rate(again, 5)
    save(again)
    assert sorted(sittings(player)["overall"]) == [5.0, 7.0]


COUNT = """() => {
  const done = window.reedlabDone = {saves: 0, other: 0};
  document.addEventListener('click', e => {
    const button = e.target.closest('.reedlab button');
    if (button) { button.innerText.trim() === 'Save' ? done.saves++ : done.other++; }
  }, true);
  document.addEventListener('change', e => { if (e.target.closest('.reedlab')) { done.other++; } }, true);
}"""


def test_an_ordinary_day_takes_at_most_eight_interactions_and_one_save(with_reeds: Any) -> None:
    player = with_reeds
    start_trial(player)
    player.open("today")
    today = player.form("Minutes played")
    player.tab.evaluate(COUNT)
    today.locator(".reedlab-rating:visible").nth(1).wait_for()  # the plan of this trial has several reeds a day
    due = today.locator(".reedlab-rating:visible").count()
    for n, rating in enumerate(today.locator(".reedlab-rating:visible").all()):
        rating.get_by_role("button", name=str(7 - 2 * (n % 2)), exact=True).click()
    today.get_by_label("Minutes played").nth(1).fill("12")  # one reed was played a little longer
    save(today)
    done = player.tab.evaluate("window.reedlabDone")
    assert done["saves"] == 1
    assert done["other"] <= 8
    rows = sittings(player)
    assert len(rows) == due
    assert sorted(rows["play_min"]) == [10.0] * (due - 1) + [12.0]
    today.get_by_text("All done for today.").wait_for()


@pytest.mark.parametrize("page", ["plan", "today", "case", "paper", "result"])
def test_controls_are_big_enough_and_no_label_is_cut_off(with_reeds: Any, page: str) -> None:
    player = with_reeds
    player.open(page)
    if page == "plan":
        player.form("What do you want to know?").get_by_label("What do you want to know?").select_option(index=2)
    for fold in player.tab.locator(".reedlab-fold:visible").all():
        fold.click()
    assert player.too_small() == []
    assert player.cut_off() == []
    assert player.faint() == []
    player.tab.evaluate("document.querySelector('.reedlab').insertAdjacentHTML('beforeend', "
                        "'<p style=color:#d55e00>x</p>')")
    assert player.faint() == [[3.87, "x"]]
    player.tab.set_viewport_size({"width": 390, "height": 800})
    assert player.too_small() == []
