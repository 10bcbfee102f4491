"""The page of one file: what stands in its source, and its size."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from reedlab import handout
from reedlab.handout.away import away_page
from reedlab.handout.sheet import sheet
from reedlab.handout.week import week_of
from reedlab.look import in_page
from reedlab.schedule import schedule

from ._plans import NAME, REEDS, START, a_logbook, a_plan


def page(code: str = "P07", **changes: Any) -> str:
    plan = a_plan(**changes)
    return away_page(plan, schedule(plan, a_logbook(), today=START).days, REEDS, code=code, made=START)


def data_of(text: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="plan">(.*?)</script>', text, re.DOTALL)
    assert found
    out: dict[str, Any] = json.loads(found[1])
    return out


def test_it_needs_nothing_from_elsewhere() -> None:
    text = page()
    assert not re.search(r"https?:|//[a-z]|@import|url\(|<link rel=.stylesheet|<script src|<img|<iframe", text)
    assert "default-src 'none'" in text


def test_its_script_is_small_and_the_one_that_may_run() -> None:
    script = in_page(Path(handout.__file__).parent / "templates" / "away.js")
    assert len(script.encode()) < 10_000
    assert f"<script>{script}</script>" in page()


def test_each_day_holds_what_is_to_be_done_and_nothing_else() -> None:
    first = data_of(page())["days"][0]
    assert first["on"] == START.isoformat()
    assert [(x["r"], x["w"], x["m"], x["ask"]) for x in first["lines"]] == [
        ("2-01", "case", 10.0, True), ("2-02", "open", 10.0, True)]
    assert set(first) == {"on", "n", "said", "free", "lines"}
    assert first["said"] == ""
    assert {k for x in first["lines"] for k in x} == {"r", "o", "w", "way", "m", "ask", "fill", "p"}


def test_no_hope_no_seed_no_matched_set_and_no_rating_stands_in_its_source() -> None:
    plan = a_plan(expected="open", expected_gap=2.75, seed=987654321)
    frames = a_logbook(sittings=[{"sitting": "x", "date": START, "reed": "2-03", "play_min": 10, "overall": 3.5,
                                  "habit": "case", "remark": "chirpy"}])
    text = away_page(plan, schedule(plan, frames, today=START).days, REEDS, made=START)
    for word in ("2.75", "987654321", "expected", "chirpy", "3.5", *(u.block for u in plan.units), plan.outcome):
        assert not re.search(rf"(?<![\w.-]){re.escape(word)}(?![\w-])", text), word


def test_with_a_helper_no_way_stands_in_its_source() -> None:
    text = page(masked="helper")
    for word in ("straight into the case", "drying in the open", "flat side up", '"case"', '"open"'):
        assert word not in text
    assert "Your helper makes it ready." in text


def test_odd_names_stand_as_text() -> None:
    text = page(trial='<b>"1\u00a0 \u2028 &amp; </script><script>alert(1)</script>')
    assert "<script>alert" not in text
    assert data_of(text)["head"]["trial"] == '<b>"1 &amp; </script><script>alert(1)</script>'
    assert data_of(page())["head"]["trial"] == NAME


@pytest.mark.parametrize(("rating", "lists"), [("overall", ["stiffness"]), ("tone", ["tone", "stiffness"]),
                                               ("stiffness", ["stiffness"])])
def test_the_ratings_of_the_printed_sheet_have_their_lists_each_once(rating: str, lists: list[str]) -> None:
    found = re.findall(r'<select name="(response|tone|stiffness)">', page(rating=rating))
    assert found == lists
    heads = sheet(plan := a_plan(rating=rating), week_of(plan, a_logbook(), today=START))
    assert all(name.capitalize() in heads for name in lists)
