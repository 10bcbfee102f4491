"""Three people read the page and nothing else; each must find the answers to their questions on it.

The player:      Which way do I use tomorrow? How much better is it? Could that be luck? What do I do now?
The teacher:     Whom does this hold for? How many reeds, when, on what? Was it read as planned? Is it safe?
The curious one: What else could still be true? How often would shuffling do this? Which plan was it?
"""

from __future__ import annotations

import html as html_text
import re
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from reedlab.summary import answer

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

GRID = {name: replace(r, units=None, points=None) for name, r in made.grid()}
OPENED = [name for name, r in GRID.items() if r.main is not None]


@cache
def read(name: str) -> str:
    """Everything of the page that a reader sees without opening a fold, and on paper."""
    page = answer(GRID[name]).to_html()
    page = re.sub(r"<style>.*?</style>|<details>.*?</details>", "", page, flags=re.DOTALL)
    return " ".join(html_text.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.parametrize("name", OPENED)
def test_which_won_by_how_much_how_sure_what_next(name: str) -> None:
    r = GRID[name]
    assert r.main is not None
    page = read(name)
    first, second = (h.name for h in r.protocol.habits)
    # which won
    if r.main.verdict in ("a_better", "b_better"):
        winner = first if r.main.verdict == "a_better" else second
        assert f"ith {winner}, you" in answer(r).headline
    elif r.main.verdict == "no_real_difference":
        assert "no difference that matters" in page
    elif r.main.verdict == "hint_only":
        assert "Only a hint" in page
    else:
        assert re.search(r"can't tell|could never have told|Too much was lost", page)
    # by how much
    if r.main.estimate == r.main.estimate:
        assert re.search(r"\d[\d.]* (points?|steps?|times)|half a (point|step)|twice", page)
    else:
        assert "no gap to tell of" in page or "too few ratings" in page
    # how sure
    assert re.search(r"in 100|of 100|in 1,000|No result|No reed came|nothing was shuffled|nothing to be sure of", page)
    # what next
    assert re.search(r"What next\? (Go on|If it is little|Use whichever|To settle|To find|As a rough|A fair trial"
                     r"|Play on|This plan|No trial)", page)


@pytest.mark.parametrize("name", OPENED)
def test_whom_it_holds_for_how_many_when_and_what_to_mind(name: str) -> None:
    r = GRID[name]
    page = read(name)
    assert "Another player may find another answer." in page
    assert f"Clarinet, {len(r.protocol.reeds)} reed" in page
    assert "from 1 March 2026." in page
    assert ("early" in page) == (r.state in ("opened_early", "ended_early"))
    assert "Never share a reed." in page
    assert (r.protocol_sha256 in page) == (r.state != "diary")  # a diary had no plan


@pytest.mark.parametrize("name", [n for n, r in GRID.items() if r.main is None])
def test_a_sealed_page_says_how_far_why_sealed_and_what_to_do(name: str) -> None:
    page = read(name)
    for title in ("How far along?", "Why is it sealed?", "What next?"):
        assert title in page
    assert "stays sealed until" in page
