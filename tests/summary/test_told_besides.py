"""What is told beside the answer: remarks, the other readings, and what else was seen."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from reedlab.analysis.remarks.catalogue import REMARKS, remark
from reedlab.summary import answer
from reedlab.summary.case import Case
from reedlab.summary.words.remarks import ORDER, SENTENCES, remark_text
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

ANSWERS = {name: answer(r) for name, r in made.grid()}


def test_every_remark_has_a_sentence_and_a_place() -> None:
    assert set(SENTENCES) == set(REMARKS) == set(ORDER) == set(made.FACTS)


@pytest.mark.parametrize("code", sorted(REMARKS))
def test_a_remark_reads_well_and_uses_each_of_its_cases(code: str) -> None:
    cases: list[dict[str, Any]] = [{}]
    ends = {
        "knew_which": [{"expected": "same"}, {"expected": ""}, {"masked": "helper"}],
        "adjust_left_out": [{"name": n, "why": w} for n in ("day", "age_hours", "order", "first_play")
                            for w in ("constant", "tangled", "not_allowed", "too_few")],
        "could_never_tell": [{"why": "no_worn_out"}, {"why": "too_few_worn_out"}, {"why": "early"}],
        "same_held_back": [{"why": w} for w in ("all_alike", "as_done", "early")],
        "early_look": [{"can_claim": 0, "looks": 2}], "weather_drifted": [{"kind": "temperature"}],
        "weather_uneven": [{"kind": "humidity"}], "ended_early": [{"why": ""}],
        "block_lost": [{"lost": 2, "left": 1}], "worn_out_unmarked": [{"reeds": 3}], "mouldy": [{"reeds": 2}],
        "habit_not_logged": [{"sittings": 1}],
    }
    for r in (made.result("mean_rating", "b_better"), made.result("day_rating", "cannot_tell", kind="sitting"),
              made.result("life_hours", "a_better")):
        for change in cases + ends.get(code, []):
            text = remark_text(remark(code, **{**made.FACTS[code], **change}), Case(r))
            assert grade(text) <= 9, text
            assert text[0].isupper() or text[0].isdigit()
            assert text.endswith(".")
            assert not [b for b in made.BANNED if re.search(b, text)], text


def test_the_gravest_remark_comes_first() -> None:
    marks = tuple(remark(c, **made.FACTS[c]) for c in ("one_box", "ceiling", "too_few_blocks"))
    codes = [w["code"] for w in answer(made.result("mean_rating", "cannot_tell", remarks=marks)).warnings]
    assert codes == ["too_few_blocks", "ceiling", "one_box"]


def test_the_other_readings_say_whether_the_answer_changes() -> None:
    r = made.result("mean_rating", "b_better")
    assert r.main is not None
    same = dict(answer(r).sections)["Read another way"]
    assert same == "Counting what you really did gives the same answer."
    done = made.finding(r.protocol, None, like="cannot_tell", reading="as_done")
    assert "the trial can't tell, so take the answer with care" in dict(answer(replace(r, as_done=done)).sections)[
        "Read another way"]


def test_also_seen_carries_no_verdict() -> None:
    r = made.result("mean_rating", "b_better")
    wear = made.finding(made.plan("wear_rate"), None, like="b_better", reading="also_seen")
    text = dict(answer(replace(r, also_seen=(wear,))).sections)["Also seen"]
    assert len(text.split("\n\n")) == 2  # the caution, then a paragraph for each outcome
    assert "the trial was not planned to judge them" in text
    assert "playing hour" in text


def test_other_columns_are_told_in_their_own_words_and_steps() -> None:
    r = made.result("day_rating", "b_better")
    assert r.main is not None
    columns = tuple(replace(r.main, reading="also_seen", verdict=None, exceeds=None, rating=c)
                    for c in ("response", "tone", "stiffness"))
    told = answer(replace(r, also_seen=columns))
    intro, response, tone, stiffness = dict(told.sections)["Also seen"].split("\n\n")
    assert "not planned to judge" in intro
    assert "you rated response" in response
    assert "you rated tone" in tone
    assert "closer to just right" in stiffness
    assert " step" in stiffness
    assert " point" not in stiffness
    assert grade(dict(told.sections)["Also seen"]) <= 8.0
    assert [f["rating"] for f in told.to_dict()["also_seen"]] == ["response", "tone", "stiffness"]
