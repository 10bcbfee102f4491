"""What can be settled is what trials played through show, and one plan has one chance wherever it is told."""

from __future__ import annotations

from datetime import date
from functools import cache

import pandas as pd
import pytest

from reedlab.plan import draw_up
from reedlab.plan.advice import advise
from reedlab.plan.at_hand import break_in_days, ramp_left, reeds_at_hand, reeds_serving
from reedlab.plan.candidates import Way
from reedlab.plan.forecast import forecast
from reedlab.plan.look_ahead import LOOK_SEED, LOOK_TRIALS, outlook, samples_for
from reedlab.plan.means import Means, means_of
from reedlab.plan.ranking import Ranked, Ranking, rank
from reedlab.plan.usable import usable_reeds
from reedlab.plan.weigh import Asked, draw_shown, weighed
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import Frames
from reedlab.worlds import World

from ._reeds import START, reeds

OWN = World(noise_sd=0.9, mood_sd=0.5)  # a player somebody knows


def have(*sizes: int, world: World = OWN, minutes: float = 50, weeks: int = 2) -> Means:
    return Means(reeds=reeds(*sizes), minutes_a_day=minutes, weeks=weeks, world=world)


@cache
def few() -> Ranking:
    return rank(have(10), questions=["wetting", "drying", "rinse", "rotation"])


def test_every_question_design_outcome_and_length_has_its_row() -> None:
    found = {(r.question, r.design, r.outcome) for r in few().rows}
    asked = ("wetting", "drying", "rinse", "rotation")
    assert found == {(k, d, o) for k in asked for d in CATALOGUE[k].designs for o in CATALOGUE[k].outcomes_for(d)} | {
        (k, "standing", "life_hours") for k in asked}
    assert [r.useful for r in few().rows] == sorted((r.useful for r in few().rows), reverse=True)
    assert {r.weeks for r in few().rows if r.boxes is None} == {2}
    assert few().rows[0].question == "wetting"


@pytest.mark.parametrize(("question", "outcome"), [("wetting", "day_rating"), ("rinse", "mean_rating"),
                                                   ("rotation", "wear_rate")])
def test_a_row_is_what_the_forecast_says(question: str, outcome: str) -> None:
    """Drawn up with other codes, another day and another deal; played through by the forecast itself."""
    row = next(r for r in few().rows if (r.question, r.outcome) == (question, outcome))
    table = reeds(10).sort_values("first_play", ascending=False, kind="stable").head(row.offered)
    other = table.assign(reed=table["reed"].str.replace("1-", "7-"), box="7")
    draft = draw_up(question, other, start=date(2026, 9, 9), seed=987, instrument="clarinet", outcome=outcome,
                    days=14, minutes_a_day=50, cap_hours=row.cap_hours, world=OWN, simulations=100)
    p = draft.shown
    found = forecast(p, world=OWN.but(minutes_a_day=50), gaps=(p.card.none, p.matters), trials=LOOK_TRIALS,
                     seed=LOOK_SEED, samples=samples_for(p.level))
    assert (row.right, row.same) == (found.right, found.same)
    assert (row.days, row.reeds) == (draft.protocol.days, len(draft.protocol.reeds))


def test_the_plan_itself_shows_what_stands_in_for_it_does() -> None:
    draft = draw_up("wetting", reeds(10), start=START, seed=5, instrument="clarinet", simulations=100)
    stand, itself = (outlook(draft.protocol, shown=s, gaps=()) for s in (draft.shown, None))
    for a, b in ((stand.right, itself.right), (stand.same, itself.same)):
        assert a == pytest.approx(b, abs=4 * (2 * 0.25 / LOOK_TRIALS) ** 0.5)


def test_ranking_and_advice_tell_one_chance_of_one_plan() -> None:
    told = advise("wetting", reeds(10), minutes_a_day=50, start=START, seed=31, instrument="clarinet", world=OWN,
                  life=False)
    row = next(r for r in few().rows if r.outcome == "day_rating")
    assert told.asked is not None
    assert (told.asked.outlook.right, told.asked.outlook.same) == (row.right, row.same)


def test_questions_of_one_shape_have_one_chance() -> None:
    by = {k: [(r.outcome, r.useful) for r in few().of(k)] for k in ("drying", "rinse")}
    assert sorted(by["drying"]) == sorted(by["rinse"])


def test_the_shortest_plan_about_as_useful_is_told_and_what_cannot_be_settled_by_its_best() -> None:
    def row(question: str, weeks: float, useful: float, **more: str) -> Ranked:
        return Ranked(question=question, title=question, design="day_by_day", outcome="day_rating", weeks=weeks,
                      right=useful, same=useful, **more)

    rows = (row("a", 8, 0.9), row("a", 4, 0.86), row("a", 2, 0.6), row("b", 8, 0.3), row("b", 4, 0.28),
            row("c", 2, 0.0, refused="no"))
    best = Ranking(rows, have(10), 300).best()
    assert [(r.question, r.weeks) for r in best] == [("a", 4), ("b", 8), ("c", 2)]
    assert [r.can_settle for r in best] == [True, False, False]


def test_a_question_that_was_asked_before_is_weighed_as_it_will_be_judged() -> None:
    plan = draw_up("wetting", reeds(10), start=START, seed=5, instrument="clarinet", simulations=100).protocol
    frames = Frames.of(
        trials=[{"trial": "Before", "started": START, "protocol_sha256": plan.sha256, "protocol": plan.to_json()}],
        sittings=[{"date": START, "reed": plan.reeds[0], "play_min": 10, "overall": 6.0, "sitting": "1"}])
    way, q = Way("day_by_day", "day_rating"), CATALOGUE["wetting"]
    again = Means(reeds=reeds(10), minutes_a_day=50, weeks=2, world=OWN, frames=frames)
    levels = [Asked(m, usable_reeds(m.reeds, seed=0), q, way, 14).level for m in (have(10), again)]
    assert levels[0] == 0.95 < levels[1]


def test_a_refused_row_says_why_and_costs_nothing() -> None:
    (row,) = {r.refused for r in rank(have(3), questions=["rinse"]).rows if r.outcome == "mean_rating"}
    assert "3 reeds" in row
    assert weighed(Asked(have(3), usable_reeds(reeds(3), seed=0), CATALOGUE["rinse"], Way("reed_by_reed",
                   "mean_rating"), 14)).code == "too_few_reeds"  # type: ignore[union-attr]


def test_boxes_of_a_size_are_one_shape_whatever_they_are_called() -> None:
    both = [reeds(10, 6), reeds(6, 10)]
    shown = [draw_shown(Asked(Means(reeds=t, minutes_a_day=60, weeks=2, world=OWN), usable_reeds(t, seed=0),
                              CATALOGUE["rinse"], Way("reed_by_reed", "mean_rating"), 14))[0] for t in both]
    assert shown[0] == shown[1]


def test_a_reed_that_serves_in_a_running_trial_is_not_at_hand() -> None:
    plan = draw_up("wetting", reeds(10), start=START, seed=5, instrument="clarinet", simulations=100).protocol
    table = pd.DataFrame(reeds(10)).assign(set_aside=False)
    frames = Frames.of(
        boxes=[{"box": "1", "instrument": "clarinet"}], reeds=table.to_dict("records"),
        trials=[{"trial": "Now", "started": START, "protocol_sha256": plan.sha256, "protocol": plan.to_json()}])
    assert set(reeds_serving(frames, START)) == set(plan.reeds)
    free = reeds_at_hand(frames, START)["reed"]
    assert set(free) == set(table["reed"]) - set(plan.reeds)
    assert set(reeds_at_hand(frames, date(2027, 1, 1))["reed"]) == set(table["reed"])
    assert means_of(frames, START, minutes_a_day=60, weeks=4).imagined is False


def test_with_no_reed_at_all_a_new_box_is_weighed() -> None:
    means = means_of(Frames.of(), START, minutes_a_day=60, weeks=4)
    assert means.imagined
    assert len(means.reeds) == 10
    assert means.world == World()


def test_break_in_takes_three_days_or_as_many_as_the_minutes_need() -> None:
    """Ten, 25 and 45 minutes: 80 for each new reed (common practice, no published source)."""
    frames = Frames.of(reeds=[{"reed": f"1-0{n}", "box": "1"} for n in (1, 2)],
                       sittings=[{"date": date(2026, 3, d), "reed": "1-02", "play_min": 20, "overall": 6.0,
                                  "sitting": str(d)} for d in (1, 2)])
    left = ramp_left(frames)
    assert left == {"1-01": (10, 25, 45), "1-02": (45,)}
    assert break_in_days(["1-01"], left, 60) == 3
    assert break_in_days(["1-02"], left, 60) == 1
    assert break_in_days(["new"] * 10, {"new": (10, 25, 45)}, 60) == 14
    assert break_in_days(["old"], {}, 60) == 0
