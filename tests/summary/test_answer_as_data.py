"""An answer as data and as plain text: its keys, its ends without limit, its width."""

from __future__ import annotations

import json
import math
import re
import sys
from pathlib import Path

import pytest

from reedlab.summary import answer

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

GRID = dict(made.grid())
ANSWERS = {name: answer(r) for name, r in GRID.items()}


KEYS = {
    "trial", "question", "design", "unit", "outcome", "arms", "estimate", "low", "high", "level", "p_value",
    "least_p", "verdict", "units", "blocks", "sittings", "events", "warnings", "headline", "summary",
    "protocol_sha256",
}


@pytest.mark.parametrize("name", GRID)
def test_json_has_all_keys_and_no_nan(name: str) -> None:
    d = ANSWERS[name].to_dict()
    assert set(d) >= KEYS
    back = json.loads(json.dumps(d, allow_nan=False))
    assert back["verdict"] == (GRID[name].main.verdict if GRID[name].main else None)  # type: ignore[union-attr]


def test_json_keys_do_not_depend_on_the_state() -> None:
    assert set(answer(made.result("mean_rating", None)).to_dict()) == set(
        answer(made.result("mean_rating", "b_better")).to_dict())


def test_an_end_without_limit_is_null_and_flagged() -> None:
    d = answer(made.result("life_hours", "cannot_tell", estimate=math.nan, low=0.0, high=math.inf)).to_dict()
    assert (d["estimate"], d["low"], d["high"], d["low_open"], d["high_open"]) == (None, None, None, True, True)
    d = answer(made.result("mean_rating", "cannot_tell", low=0.0, high=math.inf)).to_dict()
    assert (d["low"], d["high"], d["low_open"], d["high_open"]) == (0.0, None, False, True)


def test_text_fits_its_width() -> None:
    a = answer(made.result("life_hours", "cannot_tell", habits="long", remarks=made.all_remarks()))
    text = a.to_text(60, full=True)
    assert max(len(line) for line in text.splitlines() if not re.fullmatch(r"\s*[0-9a-f]{64}", line)) <= 60


def test_shown_text_keeps_words_out_of_all_states() -> None:
    for state, verdict in (("finished", "b_better"), ("opened_early", "cannot_tell"), ("ended_early", "b_better")):
        text = answer(made.result("mean_rating", verdict, state=state)).to_text(full=True)
        assert not [b for b in ("p-value", "significan", "null") if b in text]
