"""The full report: all 25 items, in plain words, nothing by habit while sealed."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from reedlab.analysis.remarks.catalogue import remark
from reedlab.summary import answer
from reedlab.summary.report import report_items
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

GRID = dict(made.grid())
BANNED = (
    r"p-values?", "significan", r"\bnull\b", r"\bsubjects?\b", r"\btreatments?\b", r"\bhazards?\b", r"\bprove",
    r"\barms?\b", r"\bblocks?\b", r"\bintervals?\b", r"\bprotocol\b", r"\bscores?\b", r"\bnan\b", r"\binf\b",
    r"\bNone\b(?!\.)", r"  ", r"\.\.", r" \.", r" ,",
)


@pytest.mark.parametrize("name", GRID)
def test_the_report_answers_all_25_items_in_plain_words(name: str) -> None:
    """CENT 2015 (BMJ 2015;350:h1738) has 25 items; each has whole sentences, at grade 8 or lower in all."""
    items = report_items(answer(GRID[name]))
    assert [i.number for i in items] == list(range(1, 26))
    for item in items:
        assert re.match(r"[A-Z0-9]", item.text), item
        assert item.text.endswith((".", "?")), item
        assert not [b for b in BANNED if re.search(b, item.text)], item
    assert grade(" ".join(i.text for i in items)) <= 8


def test_what_does_not_apply_says_so() -> None:
    text = {i.number: i.text for i in report_items(answer(made.result("mean_rating", "b_better", frames=False)))}
    assert text[23].startswith("Not applicable")
    diary = made.result("mean_rating", "hint_only", state="diary", frames=False, plan_more={"how_dealt": "not"})
    text = {i.number: i.text for i in report_items(answer(diary))}
    for number in (7, 9, 10):
        assert text[number].startswith("Not applicable"), number
    assert text[8] == "Nothing was dealt by chance."


def test_the_report_of_a_running_trial_keeps_the_seal() -> None:
    a = answer(made.result("mean_rating", None))
    text = {i.number: i.text for i in report_items(a)}
    for number in (16, 17, 18, 22):
        assert "sealed" in text[number]
    html = a.report_html()
    assert "<img" not in html
    assert "Second opinions" not in html


def test_the_report_holds_every_remark_and_number_and_stands_alone() -> None:
    a = answer(made.result("life_hours", "b_better", remarks=made.all_remarks()))
    html = a.report_html()
    assert {w["code"] for w in a.warnings} == set(re.findall(r'data-code="(\w+)"', html))
    assert not re.search(r"(?:src|href|srcset)=\"(?!data:)", html)
    assert html.count("<img") == 4
    assert a.result.protocol_sha256 in html


def test_everything_typed_is_escaped_in_the_report_too() -> None:
    evil = "<script>alert(1)</script>"
    r = made.result("mean_rating", "b_better", habits=(evil, "a soak"), frames=False,
                    plan_more={"trial": evil, "ask": evil, "setup": evil, "scale": ((2, evil), (10, "best"))},
                    remarks=(remark("setup_changed", setups=evil, sittings=2),))
    html = answer(r).report_html()
    assert "<script" not in html
    assert "&lt;script&gt;" in html
