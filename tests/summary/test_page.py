"""The page: escaped, folded, one figure in front, everything in one file."""

from __future__ import annotations

import html as html_text
import re
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from reedlab.analysis.remarks.catalogue import remark
from reedlab.summary import answer
from reedlab.summary.said import About
from reedlab.trial.outcomes import OUTCOMES

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

EVIL = "<script>alert(1)</script> & \"soak\""


def test_everything_a_player_typed_is_escaped() -> None:
    r = made.result("mean_rating", "b_better", habits=(EVIL, "a <b>long</b> soak"), frames=False,
                    plan_more={"trial": "<img src=x>", "ask": "<i>?"},
                    remarks=(remark("ended_early", day=3, days=9, why="<svg onload=x>"),
                             remark("setup_changed", setups="<u>", sittings=2)))
    for html in (answer(r)._repr_html_(), answer(r).to_html()):
        for raw in ("<script", "<b>long", "<img src=x", "<i>", "<svg", "<u>"):
            assert raw not in html
        assert "&lt;script&gt;" in html


def test_the_page_stands_alone_and_folds_what_is_not_the_answer() -> None:
    html = answer(made.result("life_hours", "b_better", plan_more={"sets": 1})).to_html()
    assert not re.search(r"(?:src|href|srcset)=\"(?!data:)", html)
    folds = re.findall(r"<summary>(.*?)</summary>", html)
    assert folds == ["What could still be true, and what limits this answer", "Your reeds, one by one",
                     "Read another way", "The numbers", "Cautions and small print"]
    front = html[: html.index("<details>")]
    assert front.count("<img") == 1
    assert "Never share a reed." in html


def test_the_fingerprint_of_the_plan_stands_in_the_small_print_of_every_page() -> None:
    for verdict in ("b_better", None):
        r = made.result("mean_rating", verdict, frames=False)
        html = answer(r)._repr_html_()
        assert html.count(r.protocol_sha256) == html.count("SHA-256") == 2  # on paper, and in the last fold
        assert r.protocol_sha256 not in answer(r).to_text()
        assert r.protocol_sha256 in answer(r).to_text(full=True)


def test_a_running_trial_has_a_progress_bar_and_no_figure() -> None:
    html = answer(made.result("day_rating", None))._repr_html_()
    assert "rl-progress" in html
    assert "<img" not in html
    assert "Second opinions" not in html


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_page_without_frames_still_shows_the_gap(outcome: str) -> None:
    html = answer(made.result(outcome, "cannot_tell", frames=False))._repr_html_()
    assert html.count("<img") == 1


def test_second_opinions_name_the_habits() -> None:
    medians = (("Kaplan-Meier", "median hours, A", 12.0), ("Kaplan-Meier", "median hours, B", float("nan")))
    r = replace(made.result("life_hours", "b_better", frames=False), second_opinion=medians)
    html = answer(r)._repr_html_()
    assert "median hours, a short soak" in html
    assert "more than half still going" in html


def test_dust_is_warned_of_where_a_reed_was_worked_on() -> None:
    r = made.result("mean_rating", "b_better", frames=False, remarks=(remark("worked_on", reeds=1, names="1-04"),))
    assert "Sand cane wet" in answer(r)._repr_html_()


def test_a_page_is_light_and_the_same_each_time() -> None:
    """Every figure is drawn once, as letters and lines, so that a notebook stays small."""
    a = answer(made.result("life_hours", "b_better"))
    html = a._repr_html_()
    assert len(html) < 200_000
    assert html == a._repr_html_()
    assert html.count("data:image/svg+xml;base64,") == html.count("<img") == 4


def test_other_outcomes_stand_in_paragraphs_of_their_own() -> None:
    r = made.result("mean_rating", "b_better", frames=False)
    seen = tuple(made.finding(made.plan(o), None, like="b_better", reading="also_seen")
                 for o in ("wear_rate", "life_hours"))
    html = answer(replace(r, also_seen=seen))._repr_html_()
    assert len(re.findall(r"<p>", html[html.index("<h3>Also seen</h3>"): html.index("The numbers")])) == 3


@pytest.mark.parametrize("verdict", ["a_better", "b_better", "no_real_difference", "cannot_tell"])
def test_the_three_lines_and_the_picture_stand_in_front_in_the_same_order_everywhere(verdict: str) -> None:
    a = answer(made.result("mean_rating", verdict, remarks=made.all_remarks()))
    for text in (a.to_text(10_000), a._repr_html_(), a.to_html(), a.report_html()):
        front = html_text.unescape(text).partition("<details>")[0]
        places = [front.index(said) for said in (a.headline, *(text for _, text in a.lines))]
        assert places == sorted(places)
    assert [title for title, _ in a.lines] == ["Does it matter?", "How sure is it?", "What next?"]
    front = a._repr_html_().partition("<details>")[0]
    assert front.index(a.picture) < front.index("<img")
    assert a.warnings[0]["text"] in a.to_text(10_000)
    assert a.warnings[1]["text"] not in a.to_text(10_000)


def test_what_is_invented_says_so_first_and_a_print_bears_day_version_and_code() -> None:
    r = made.result("mean_rating", "b_better", frames=False)
    made_up = answer(r, About(date(2026, 3, 20), "P07", True, "9.8.7"))
    for text in (made_up.to_text(), made_up.to_html(), made_up.report_html()):
        assert text.index("Invented") < text.index("With a long soak")
    for text in (made_up.to_html(), made_up.report_html(), made_up.to_text(full=True)):
        assert "Player P07. Read on 20 March 2026 with reedlab 9.8.7." in text
    real = answer(r, About(date(2026, 3, 20)))
    assert "Invented" not in real.to_html() + real.to_text() + real.report_html()
    assert "Player’s code: ____" in real.to_html()
    assert made_up.to_dict()["invented"]
