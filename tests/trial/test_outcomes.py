"""One card an outcome: an unknown one is an error everywhere, and a new life needs a card alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from reedlab.analysis.batch.by_unit import batch_values
from reedlab.analysis.units.adjust import allowed_adjustments
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values
from reedlab.analysis.units.unit_values import rating_values
from reedlab.errors import ReedlabError
from reedlab.plan import draw_up
from reedlab.plan.advice import advise
from reedlab.plan.forecast import with_effect
from reedlab.plan.look_ahead import outlook
from reedlab.plan.wish import level_for
from reedlab.questions import CATALOGUE
from reedlab.summary.case import Case
from reedlab.summary.words.forecast import can_show, forecast_sentences, gap_words
from reedlab.trial.outcomes import OUTCOMES, Outcome
from reedlab.worlds import World, batch_trials, simulate
from tests.analysis._players import by_reed, frames, rated
from tests.plan._reeds import START, reeds
from tests.summary._results import result

UNKNOWN = "loudness"
GIVEN: dict[str, Any] = {"start": START, "seed": 1, "instrument": "clarinet"}


def _trial() -> Any:
    p = by_reed()
    return blind(p, frames(p, rated(p, lambda *_: 7.0)))


CALLS: dict[str, Callable[[str], object]] = {
    "the cards": lambda o: OUTCOMES[o],
    "a plan": lambda o: by_reed(outcome=o),
    "a question": lambda o: replace(CATALOGUE["drying"], outcomes=(o,), asks={}),
    "the question's words": CATALOGUE["drying"].ask_for,
    "what is evened out": CATALOGUE["drying"].adjust_for,
    "what may be evened out": lambda o: allowed_adjustments("reed_by_reed", o),
    "a plan drawn up": lambda o: draw_up("drying", reeds(10), outcome=o, **GIVEN),
    "advice": lambda o: advise("drying", reeds(10), outcome=o, trials=50, **GIVEN),
    "the level": lambda o: level_for(False, o),
    "a true gap": lambda o: with_effect(World(), o, 1.0),
    "rating values": lambda o: rating_values(_trial(), o),
    "lives": lambda o: life_values(_trial(), o),
    "the family of sentences": lambda o: Case(result("mean_rating", "a_better")).kind_of(o),
    "how a gap is told": lambda o: Case(result("mean_rating", "a_better")).unit_scale(o),
}


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS)
def test_an_unknown_outcome_is_an_error_that_names_it(call: Callable[[str], object]) -> None:
    with pytest.raises(ReedlabError, match=UNKNOWN):
        call(UNKNOWN)


def test_a_rating_is_no_life_and_a_life_no_rating() -> None:
    with pytest.raises(ReedlabError, match="mean_rating"):
        life_values(_trial(), "mean_rating")
    with pytest.raises(ReedlabError, match="life_hours"):
        rating_values(_trial(), "life_hours")
    trials = batch_trials(simulate(by_reed(outcome="life_hours"), World(), 2, 1))
    with pytest.raises(ReedlabError, match="life_hours"):
        batch_values(trials)


@pytest.mark.parametrize("wrong", [{"scale": "octaves"}, {"kind": "loud"}, {"mark": ""}])
def test_a_card_that_contradicts_itself_is_refused(wrong: dict[str, str]) -> None:
    with pytest.raises(ReedlabError, match="good_hours"):
        replace(OUTCOMES["good_hours"], **wrong)


@pytest.fixture
def carrying(monkeypatch: pytest.MonkeyPatch) -> Outcome:
    """A made-up outcome: hours until a reed no longer carries, told like good hours, over other days and a gap."""
    card = replace(OUTCOMES["good_hours"], key="carrying_hours", title="hours in which it carries", short="carrying",
                   matters=2.5, days=70, deed="carry for longer",
                   whether="whether your reeds carry for longer with {a} or with {b}")
    monkeypatch.setitem(OUTCOMES, card.key, card)  # type: ignore[arg-type]
    return card


def test_a_new_life_is_planned_forecast_and_told_from_its_card_alone(carrying: Outcome) -> None:
    drying = CATALOGUE["drying"]
    question = replace(drying, outcomes=(*drying.outcomes, carrying.key), asks={},
                       matters={o.key: o.matters for o in OUTCOMES.values()},
                       days={o.key: o.days for o in OUTCOMES.values()})
    plan = draw_up(question, reeds(10), outcome=carrying.key, design="reed_by_reed", days=60, **GIVEN).protocol
    assert (plan.outcome, plan.matters, plan.life_mark) == (carrying.key, 2.5, plan.good_below)
    found = outlook(plan, trials=20)
    good = outlook(replace(plan, outcome="good_hours"), trials=20)
    assert found.odds == good.odds  # the same mark, so the same lives
    assert gap_words(plan) == "2.5 times the good playing hours"
    assert "carry for longer" in can_show(found)
    assert "2.5 times" in forecast_sentences(found)[0]


def test_a_question_drawn_up_for_a_new_outcome_takes_its_defaults(carrying: Outcome) -> None:
    drying = CATALOGUE["drying"]
    fresh = type(drying)(key="carrying", title="Carrying", ask="Do reeds carry longer?", habits=drying.habits,
                         lasts=True, designs=("reed_by_reed",), why="It lasts.", outcomes=(carrying.key,), traps=())
    assert (fresh.days[carrying.key], fresh.matters[carrying.key]) == (70, 2.5)
