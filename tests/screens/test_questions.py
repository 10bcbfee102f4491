"""Step one of the plan: the questions with their chances, what was answered, and what cannot be settled."""

from __future__ import annotations

import pandas as pd
import pytest

from reedlab.plan.means import Means
from reedlab.plan.ranking import Ranked, Ranking
from reedlab.screens.questions import burden, in_100, past_words, question_lines, span
from reedlab.worlds import World


def row(question: str, useful: float, **more: object) -> Ranked:
    given = {"title": question, "design": "day_by_day", "outcome": "day_rating", "weeks": 2, "days": 14, "reeds": 4,
             "changes_a_day": 3.0, "right": useful, "same": useful, **more}
    return Ranked(question=question, **given)  # type: ignore[arg-type]


def ranking(*rows: Ranked) -> Ranking:
    return Ranking(rows, Means(reeds=pd.DataFrame(), minutes_a_day=60, weeks=8, world=World()), 300)


def test_lines_tell_the_chance_out_of_100_and_in_how_many_weeks() -> None:
    first, own = question_lines(ranking(row("wetting", 0.617)))
    assert (first.chance, first.span, first.settles, first.why) == (62, "2 weeks", True, "")
    assert (own.key, own.chance) == ("own", None)


def test_what_cannot_be_settled_says_so_before_any_form() -> None:
    slow, none, _ = question_lines(ranking(
        row("drying", 0.09), row("break_in", 0.0, refused="You have 2 reeds.", instead="Add reeds.")))
    assert not slow.settles
    assert slow.why == "Can't be settled in 8 weeks with your reeds: at best a useful answer in 9 of 100."
    assert (none.chance, none.why) == (None, "You have 2 reeds.")


@pytest.mark.parametrize(("past", "said"), [
    (past_words("T", running=True), "Runs now: T."),
    (past_words("T", verdict="cannot_tell"), "Asked before: can't tell yet."),
    (past_words("T", verdict="a_better", winner="wetting in water"), "Answered: wetting in water was better."),
    (past_words("T", verdict="no_real_difference"), "Answered: no difference that matters."),
    (past_words("T"), "Asked before: T.")])
def test_what_was_asked_before_is_marked(past: str, said: str) -> None:
    lines = question_lines(ranking(row("wetting", 0.6), row("drying", 0.1)), {"wetting": past})
    assert [x.past for x in lines] == [said, "", ""]


def test_where_weeks_cannot_settle_it_a_trial_from_box_to_box_says_what_it_could() -> None:
    long = row("drying", 0.7, outcome="life_hours", weeks=104.3, days=730, boxes=6.0)
    slow, quick, _ = question_lines(ranking(long, row("wetting", 0.6), row("drying", 0.1)))
    both = {x.key: x for x in (slow, quick)}
    assert not both["drying"].settles
    assert both["drying"].chance == 10
    assert both["drying"].later == (
        "From box to box, for as long as it takes: 70 of 100, half of them settled by about 6 boxes, 24 months.")
    assert both["wetting"].later == ""


def test_the_burden_is_told_in_plain_words() -> None:
    assert burden(row("a", 0.5)) == "4 reeds, 3 changes of reed on a day"
    assert burden(row("a", 0.5, changes_a_day=1.0, break_in_days=3)) == (
        "4 reeds, 1 change of reed on a day, 3 days to break them in first")
    assert burden(row("a", 0.5, reeds=1, changes_a_day=0.0)) == "1 reed, no change of reed on a day"
    assert span(row("a", 0.5, days=12)) == "12 days"
    assert span(row("a", 0.5, weeks=30, days=0, boxes=5)) == "about 5 boxes, 30 weeks"
    assert in_100(0.495) == 50
