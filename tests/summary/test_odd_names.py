"""Ways and trials are free text: forty odd names through every sentence, page and file of an answer."""

from __future__ import annotations

import html as html_text
import json
import re
import sys
from pathlib import Path

import pytest

from reedlab.summary import Answer, answer
from reedlab.summary.names import one_line, spoken
from reedlab.summary.report import report_items
from tests.odd_names import ODD

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

VERDICTS = ("a_better", "b_better", "no_real_difference", "cannot_tell")


def quoted(name: str) -> str:
    """The name as it must stand in a sentence: quoted, unless it reads on like one of ours."""
    said = spoken(name)
    assert said in (one_line(name), f"“{said[1:-1]}”")
    return said


def test_there_are_forty() -> None:
    assert len(set(ODD)) == 40


def answered(name: str, outcome: str, verdict: str) -> Answer:
    return answer(made.result(outcome, verdict, habits=(name, "a long soak"), remarks=made.all_remarks(), frames=False,
                              plan_more={"trial": name, "ask": f"{name}?"}))


def sentences(a: Answer) -> list[str]:
    parts = [a.headline, a.picture, *(t for _, t in a.sections), *(w["text"] for w in a.warnings)]
    return [x for part in parts for x in part.split("\n\n")]


@pytest.mark.parametrize("name", ODD)
def test_every_sentence_reads_right_with_any_name(name: str) -> None:
    """Wherever the name stands in a sentence it stands whole; but for it each is the sentence of a plain name."""
    said = quoted(name)
    for outcome in ("day_rating", "life_hours"):
        for verdict in VERDICTS:
            a = answered(name, outcome, verdict)
            told, plain = sentences(a), sentences(answered("a short soak", outcome, verdict))
            assert any(said in text for text in told)
            for text, usual in zip(told, plain, strict=True):
                rest = text.replace(said, "a short soak")
                assert rest == usual
                assert rest.endswith((".", "?")), text
                assert not re.search(r"  |\.\.| \.| ,|\n", rest), text
            json.dumps(a.to_dict(), allow_nan=False)
            assert a.to_text(70, full=True)


@pytest.mark.parametrize("name", ODD[::3])
def test_pages_and_report_show_the_name_as_it_was_typed(name: str) -> None:
    r = made.result("mean_rating", "b_better", habits=("a short soak", name), plan_more={"trial": name, "sets": 3})
    a = answer(r)
    for page in (a.to_html(), a.report_html()):
        words = " ".join(html_text.unescape(re.sub(r"<[^>]+>", " ", page)).split())
        assert quoted(name) in words
        assert "<b>bold" not in page
    assert len(report_items(a)) == 25
