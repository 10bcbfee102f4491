"""The sheet and the labels as a browser prints them: one page, nothing cut off, black on white."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reedlab.handout.labels import labels
from reedlab.handout.sheet import PAPERS, sheet
from reedlab.handout.week import week_of
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

pytestmark = [pytest.mark.browser, pytest.mark.slow]
START = date(2026, 9, 2)  # a Wednesday in September: long names
LONG = "soaking in lukewarm water from the tap for as long as it takes to read this aloud, then shaking it dry "


def a_plan(a_day: int, long: bool) -> tuple[Protocol, Frames]:
    """Invented: twelve reeds, `a_day` of them a day; with long texts everywhere."""
    reeds = tuple(f"{'box.no.eight' if long else '2'}-{k:02d}" for k in range(1, 13))
    words = LONG * 3 if long else "wetting in water"
    plan = Protocol(
        trial="A name of a trial that goes on for quite a while, right"[:60] if long else "Water or mouth",
        question="wetting", ask="?", instrument="clarinet",
        habits=(Habit("mouth", "wetting in the mouth", words), Habit("water", words, words)),
        design="reed_by_reed", outcome="mean_rating", matters=1.0, start=START, days=200,
        units=tuple(Unit(r, f"s{k // 2}", (r,)) for k, r in enumerate(reeds)),
        dealt=("mouth", "water") * 6, seed=1, rating="response" if long else "overall",
        slots=tuple(Slot(d, k + 1, reeds[(d * a_day + k) % 12]) for d in range(1, 8) for k in range(a_day)),
        scale=tuple((m, "words of my own for this mark" if long else "rehearsal") for m in (2, 4, 6, 8, 10)))
    before = [{"sitting": f"{r}{k}", "date": START - timedelta(days=k), "reed": r, "play_min": 30}
              for r in reeds for k in range(1, 5)]
    return plan, Frames.of(reeds=[{"reed": r, "box": "2"} for r in reeds], sittings=before)


@pytest.fixture(scope="module")
def tab(chromium: Any) -> Iterator[Any]:
    page = chromium.new_page()
    yield page
    page.close()


def printed(tab: Any, page: str) -> tuple[int, tuple[float, float]]:
    """Return the pages of the PDF and their size in mm."""
    tab.emulate_media(media="print")
    tab.set_content(page)
    pdf = tab.pdf(prefer_css_page_size=True)
    box = re.search(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", pdf)
    assert box is not None
    return len(re.findall(rb"/Type /Page\b(?!s)", pdf)), (float(box[1]) / 72 * 25.4, float(box[2]) / 72 * 25.4)


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize(("a_day", "long"), [(1, False), (2, True), (4, False), (4, True), (5, True)])
def test_a_week_prints_on_exactly_one_page(tab: Any, paper: str, a_day: int, long: bool) -> None:
    plan, frames = a_plan(a_day, long)
    page = sheet(plan, week_of(plan, frames, today=START), paper=paper)
    count, size = printed(tab, page)
    assert count == 1
    assert size == pytest.approx((PAPERS[paper].width, PAPERS[paper].height), abs=0.3)


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize(("a_day", "long"), [(1, False), (4, True), (5, True)])
def test_nothing_of_a_page_is_cut_off_and_codes_can_be_read(tab: Any, paper: str, a_day: int, long: bool) -> None:
    plan, frames = a_plan(a_day, long)
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": round(PAPERS[paper].width / 25.4 * 96), "height": 1200})
    tab.set_content(sheet(plan, week_of(plan, frames, today=START), paper=paper))
    seen = tab.evaluate("""() => {
        const page = document.querySelector('.page'), foot = document.querySelector('footer');
        const code = [...document.querySelectorAll('td.reed')].filter(c => c.textContent.trim());
        return {over: page.scrollHeight - page.clientHeight, wide: page.scrollWidth - page.clientWidth,
                below: foot.getBoundingClientRect().bottom - page.getBoundingClientRect().bottom,
                codes: code.map(c => [parseFloat(getComputedStyle(c).fontSize), c.scrollWidth - c.clientWidth]),
                rows: [...document.querySelectorAll('tbody tr')].map(r => r.getBoundingClientRect().height)}}""")
    assert seen["over"] <= 0
    assert seen["wide"] <= 0
    assert seen["below"] <= 0.5
    assert len(seen["codes"]) == 7 * a_day
    assert min(px for px, _ in seen["codes"]) >= 16  # 12 pt
    assert max(over for _, over in seen["codes"]) <= 0
    assert min(seen["rows"]) / 96 * 25.4 >= 4.9  # mm to write in


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_a_way_of_a_few_words_stands_whole_in_its_row(tab: Any, paper: str) -> None:
    plan, frames = a_plan(2, False)
    plan = replace(plan, dealt=("level", "low") * 6,
                   habits=(Habit("level", "the reed level with the tip"), Habit("low", "the reed a hair lower")))
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": round(PAPERS[paper].width / 25.4 * 96), "height": 1200})
    tab.set_content(sheet(plan, week_of(plan, frames, today=START), paper=paper))
    over = tab.evaluate("""() => [...document.querySelectorAll('td.way > div')]
        .filter(e => e.textContent.includes('the reed'))
        .map(e => [e.scrollWidth - e.clientWidth, e.scrollHeight - e.clientHeight])""")
    assert len(over) == 14
    assert max(max(x) for x in over) <= 1
    assert printed(tab, tab.content())[0] == 1


def test_picture_of_the_page_is_grey_and_dark_enough(tab: Any, tmp_path: Path) -> None:
    import matplotlib.image as mpimg

    plan, frames = a_plan(4, False)
    tab.emulate_media(media="print")
    tab.set_viewport_size({"width": 794, "height": 1123})
    tab.set_content(sheet(plan, week_of(plan, frames, today=START)))
    picture = mpimg.imread(io.BytesIO(tab.screenshot(full_page=True)), format="png")[..., :3]
    # Letters are drawn in greys; a colour would differ between the channels.
    assert float(np.abs(picture - picture.mean(axis=2, keepdims=True)).max()) < 0.02
    assert float((picture.mean(axis=2) < 0.3).mean()) > 0.01
    for kind in ("circle", "rect"):  # the two ways differ by shape
        assert tab.locator(f"tbody svg {kind}").count() == 14


def test_labels_print_on_one_page(tab: Any) -> None:
    for paper in sorted(PAPERS):
        count, _ = printed(tab, labels([f"{b}-{k:02d}" for b in range(1, 7) for k in range(1, 11)], paper=paper))
        assert count == 1
