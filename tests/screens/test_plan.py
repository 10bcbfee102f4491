"""The plan page as plain data: what is refused and why, what may be chosen, and the table of other plans."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from reedlab.errors import PlanRefused
from reedlab.plan import draw_up
from reedlab.plan.advice import advise
from reedlab.plan.ranking import Ranked
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import Frames
from reedlab.screens.plan import (
    Typed,
    alternatives,
    burden_of,
    facts,
    length_lines,
    plan_wishes,
    reed_choices,
    way_lines,
)
from reedlab.trial.outlook import Advice

from ..plan._reeds import START, reeds


def typed(**more: Any) -> Typed:
    given: dict[str, Any] = {
        "question": "wetting", "names": ("in the mouth", "in water"), "steps": ("a", "b"), "reeds": ("1-01", "1-02"),
        "start": START, "design": "day_by_day", "outcome": "day_rating", "expected": "same",
        "numbers": {"days": "28", "minutes_a_day": "45"}, **more}
    return Typed(**given)


def test_what_was_typed_is_what_the_planner_is_asked() -> None:
    wishes, faults = plan_wishes(typed())
    assert faults == ()
    assert (wishes["days"], wishes["minutes_a_day"], wishes["matters"]) == (28, 45, None)
    assert [h.name for h in wishes["question"].habits] == ["in the mouth", "in water"]
    assert wishes["masked"] == "none"


def test_a_length_that_was_only_filled_in_may_be_made_longer() -> None:
    assert plan_wishes(typed(suggested_days="28"))[0]["days"] is None
    assert plan_wishes(typed(suggested_days="14"))[0]["days"] == 28


def test_everything_that_is_missing_or_odd_is_named_at_once() -> None:
    _, faults = plan_wishes(typed(start=None, expected=None, reeds=(), numbers={"days": "ten", "minutes_a_day": "1"}))
    said = " ".join(faults)
    for word in ("First day", "Which way do you expect", "tick the reeds", "Days: wanted", "Minutes a day"):
        assert word in said
    assert plan_wishes(typed(question=None))[1] == ("Choose a question first.",)


def test_a_question_of_ones_own_needs_its_words_and_is_refused_where_it_can_make_ill() -> None:
    own = {"question": "own", "ask": "Does it help?", "names": ("a song", "no song"), "expected": "second"}
    assert "still there the next day" in plan_wishes(typed(**own))[1][0]
    wishes, faults = plan_wishes(typed(**own, lasts=False))
    assert faults == ()
    assert wishes["expected"] in [h.key for h in wishes["question"].habits]
    with pytest.raises(PlanRefused):
        plan_wishes(typed(**{**own, "names": ("wiping", "never cleaning")}, lasts=True))


def test_reeds_that_serve_in_a_running_trial_say_so() -> None:
    plan = draw_up("wetting", reeds(6), start=START, seed=5, instrument="clarinet", simulations=100).protocol
    frames = Frames.of(
        boxes=[{"box": "1", "instrument": "clarinet"}], reeds=reeds(6).to_dict("records"),
        trials=[{"trial": "Now", "started": START, "protocol_sha256": plan.sha256, "protocol": plan.to_json()}])
    found = reed_choices(frames, START)
    assert {c.reed for c in found if c.why} == set(plan.reeds)
    assert all(c.why == 'in "Now" up to its end' for c in found if c.why)
    assert not any(c.why for c in reed_choices(frames, date(2027, 1, 1)))


def test_ways_and_lengths_carry_their_chances() -> None:
    rows = [Ranked(question="wetting", title="", design="day_by_day", outcome="day_rating", weeks=w, right=c, same=c)
            for w, c in ((4, 0.8), (2, 0.57))]
    best = {d: {o: chance for o, _, chance in way_lines(CATALOGUE["wetting"], d, rows)}
            for d in ("day_by_day", "reed_by_reed", "side_by_side")}
    assert best["day_by_day"]["day_rating"] == 80
    assert best["reed_by_reed"]["life_hours"] is None
    assert best["side_by_side"] == {}
    assert length_lines(rows, "day_by_day", "day_rating", (2, 4, 8)) == ((2, 57), (4, 80), (8, None))


@pytest.fixture(scope="module")
def advice() -> Advice:
    return advise("drying", reeds(10), start=START, seed=3, instrument="clarinet", days_limit=14, life=False)


def test_the_table_has_the_plan_in_hand_first_and_a_use_for_each_other(advice: Advice) -> None:
    mine, *others = alternatives(advice)
    assert (mine.words, mine.use) == ("This plan", None)
    assert advice.asked is not None
    assert mine.chance == round(100 * advice.asked.useful)
    assert any(a.use is not None and a.use.question != "drying" for a in others)
    for a in others:
        assert (a.use is None) == ("more reeds" in a.words)


def test_what_a_plan_asks_is_said_before_the_start() -> None:
    plan = draw_up("wetting", reeds(10), start=START, seed=5, instrument="clarinet", simulations=100)
    first, second = burden_of(plan.protocol, 60, 3)
    assert first == ("4 reeds over 2 weeks, from Monday 2 March 2026 to Sunday 15 March 2026. Before that, 3 days to "
                     "break these reeds in.")
    assert second == "On a day of play: 4 reeds, 3 changes of reed; about 40 of your 60 minutes belong to the trial."
    told = dict(facts(plan))
    assert told["What counts"] == "rating of the day; a difference of 1 point matters to you"
    assert told["How"] == "Each reed serves both ways, on shuffled days."
