"""The phone page: a day logged at 390 px, nothing from outside, closed to strangers, honest when the line is gone."""

from __future__ import annotations

import urllib.error
import urllib.request
from datetime import date, timedelta
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.records import Box, Reed

pytestmark = [pytest.mark.browser, pytest.mark.slow]

START = date(2026, 3, 9)


@pytest.fixture
def on_phone(player: Any) -> Any:
    """A trial on its first day, made without the pages; no phone was used yet."""
    from reedlab.plan import draw_up

    player.day(START)
    with Logbook.create(player.folder / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet", strength="3"))
        logbook.add_many(Reed(reed=f"1-{n:02d}", box="1", first_play=4 + n / 2, first_stiffness=0.0,
                              first_played=START - timedelta(days=5)) for n in range(1, 11))
        draft = draw_up("wetting", logbook.frame("reeds"), start=START, seed=1, instrument="clarinet",
                        expected="same", simulations=100)
        logbook.start_trial(draft.protocol)
    return player


def sittings(player: Any) -> Any:
    with Logbook.open(player.folder / "reeds.logbook", read_only=True) as logbook:
        return logbook.frame("sittings")


def test_a_day_is_logged_on_the_phone_with_one_save_and_nothing_fetched_from_outside(on_phone: Any) -> None:
    player = on_phone
    player.open_on_phone("today")
    today = player.form("Minutes played")
    today.get_by_text("day 1 of 14").wait_for()
    player.tab.get_by_text("works only while the computer is on and on the same network").wait_for()
    player.tab.get_by_text("A late entry costs nothing").first.wait_for()
    today.locator(".reedlab-rating:visible").nth(1).wait_for()
    assert player.too_wide() == []
    assert player.too_small() == []
    assert player.faint() == []
    ratings = today.locator(".reedlab-rating:visible")
    due = ratings.count()
    for rating in ratings.all():
        rating.get_by_role("button", name="7", exact=True).click()
    today.get_by_role("button", name="Save", exact=True).click()
    today.get_by_text("Saved. This now stands in your logbook").wait_for()
    assert len(sittings(player)) == due
    player.tab.get_by_role("link", name="Reed case").click()
    player.form("Every reed").get_by_text("1-01").first.wait_for()
    assert player.too_wide() == []
    assert player.faint() == []
    assert player.outside == []
    assert player.troubles == []


def test_what_was_saved_is_there_after_the_kernel_is_killed_and_the_page_says_so(on_phone: Any) -> None:
    player = on_phone
    player.open_on_phone("today")
    today = player.form("Minutes played")
    today.get_by_role("button", name="7", exact=True).first.click()
    today.get_by_role("button", name="Save", exact=True).click()
    today.get_by_text("Saved. This now stands in your logbook").wait_for()
    reed = sittings(player)["reed"].iloc[0]
    today.get_by_role("button", name="5", exact=True).first.click()  # typed and not saved
    player.kill_kernels()
    gone = player.tab.locator("#reedlab-gone")
    gone.get_by_text("What you saved is safe").wait_for()
    assert len(sittings(player)) == 1
    gone.get_by_role("button", name="Load it again").click()
    again = player.form("Minutes played")
    again.get_by_text(f"Saved for today: {reed} (10 min, rated).").wait_for()
    assert again.locator(".mod-active:visible", has_text="5").count() == 0


def status(address: str) -> tuple[int, str]:
    """Return how a page is answered, redirects followed, and where that ended."""
    try:
        with urllib.request.urlopen(address) as answer:
            return answer.status, answer.url
    except urllib.error.HTTPError as err:
        return err.code, address


def test_without_the_token_the_page_is_refused(player: Any) -> None:
    for where in (player.address, player.phone_address):
        code, ended = status(f"{where}/voila/render/today.ipynb")
        assert "/login" in ended or code == 403
        assert status(f"{where}/api/kernels")[0] == 403


def test_with_the_token_a_phone_gets_no_further_than_its_pages(player: Any) -> None:
    for path in ("/lab", "/api/contents", "/api/sessions", "/voila/render/plan.ipynb", "/files/reeds.logbook",
                 "/voila/files/reeds.logbook", "/api/terminals"):
        assert status(f"{player.phone_address}{path}?token=only-for-this-test")[0] == 404, path


def test_computer_shows_the_phone_pages_alone_through_voila(player: Any) -> None:
    assert status(f"{player.address}/voila/render/result.ipynb?token=only-for-this-test")[0] == 404
    player.tab.goto(f"{player.address}/voila?token=only-for-this-test")
    assert player.tab.url.endswith("/voila/render/today.ipynb")


@pytest.mark.parametrize("page", ["today", "case"])
def test_a_page_that_the_phone_does_not_get_is_named_but_not_linked_there(player: Any, page: str) -> None:
    player.open_on_phone(page)
    link = player.tab.locator('.reedlab a[href="plan.ipynb"]:visible')
    assert link.count() == 1
    assert link.evaluate("e => [getComputedStyle(e).pointerEvents, getComputedStyle(e, '::after').content]") == [
        "none", '" on the computer"']
