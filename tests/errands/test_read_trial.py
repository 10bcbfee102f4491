"""A repeat of a question, read from a real logbook file."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from reedlab.errands.read_trial import read_trial
from reedlab.logbook import Logbook
from reedlab.rows import records
from reedlab.trial.protocol import Protocol

from ..analysis._players import START, after, rated, squares

FIRST = squares(7, trial="first", seed=4)
SECOND = squares(7, trial="second", start=START + timedelta(days=30), seed=5)


def played(book: Logbook, plan: Protocol, ahead: float, seed: int) -> None:
    """Start a trial and play it to its end, water ahead by so much."""
    rng = np.random.default_rng(seed)
    later = plan.start - START
    book.start_trial(plan)
    book.add_many([records.Sitting(**{**s, "date": s["date"] + later}) for s in rated(
        plan, lambda _r, _d, habit: round(2 * (5 + ahead * (habit == "water") + rng.normal(0, 0.3))) / 2)])


def logbook(path: Path, second: Protocol) -> Logbook:
    book = Logbook.create(path)
    book.add(records.Box(box="1", instrument="clarinet"))
    book.add_many([records.Reed(reed=r, box="1", first_play=6.0) for r in FIRST.reeds])
    played(book, FIRST, 0.5, 1)
    played(book, second, 1.5, 2)
    return book


def test_a_second_trial_of_a_question_is_named_so_and_judged_more_strictly(tmp_path: Path) -> None:
    today = after(SECOND) + timedelta(days=30)
    with logbook(tmp_path / "reeds.logbook", SECOND) as book:
        first, second = (
            read_trial(book, name, today=today, opinions=False) for name in ("first", "second"))
    assert "2nd trial" not in str(first)
    assert first.result.together is None
    assert second.result.main is not None
    assert second.result.main.p_value == pytest.approx(2 / 2**7)  # as clear as seven sets can be
    assert second.result.main.verdict == "cannot_tell"  # and not clear enough for a repeat
    text = next(w["text"] for w in second.warnings if w["code"] == "repeated")
    assert "your 2nd trial of this question" in text
    both = second.result.together
    assert both is not None
    assert both.p_needed == pytest.approx(0.00125)
    assert [p.label for p in both.parts] == ["first", "second"]
    assert both.main.verdict == "b_better"  # fourteen sets
    assert "Over 2 trials together, reeds rated about" in text
    assert "All your trials put together" not in text


def test_a_second_trial_by_another_measure_says_only_that_together_they_tell_more(tmp_path: Path) -> None:
    today = after(SECOND) + timedelta(days=30)
    other = replace(SECOND, scale=((2, "awful"), (10, "superb")))
    with logbook(tmp_path / "reeds.logbook", other) as book:
        second = read_trial(book, "second", today=today, opinions=False)
    assert second.result.together is None
    assert "All your trials put together tell more than this one." in second.to_text(10_000, full=True)
