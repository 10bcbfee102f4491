"""What is known of plans beforehand is what the forecast finds, to the last trial; and it makes the ranking quick."""

from __future__ import annotations

import time

import pytest

from reedlab.plan.candidates import Way
from reedlab.plan.forecast import forecast, odds_of
from reedlab.plan.known import known
from reedlab.plan.look_ahead import LOOK_SEED, LOOK_TRIALS, fingerprint, samples_for
from reedlab.plan.means import Means
from reedlab.plan.ranking import rank
from reedlab.plan.usable import usable_reeds
from reedlab.plan.weigh import Asked, changes_a_day, draw_shown
from reedlab.questions import CATALOGUE
from reedlab.worlds import World

from ._reeds import reeds


def asked(question: str, outcome: str, days: int, n: int, minutes: float) -> Asked:
    means = Means(reeds=reeds(n), minutes_a_day=minutes, weeks=8, world=World())
    q = CATALOGUE[question]
    return Asked(means, usable_reeds(means.reeds, seed=0), q, Way(q.design, outcome), days)


@pytest.mark.parametrize(("question", "outcome", "days", "n", "minutes"), [
    ("position", "day_rating", 14, 10, 60), ("drying", "mean_rating", 28, 9, 30), ("rinse", "life_hours", 14, 8, 60),
    ("rotation", "wear_rate", 28, 10, 90), ("break_in", "good_hours", 14, 10, 30)])
def test_a_known_plan_is_what_the_forecast_finds(question: str, outcome: str, days: int, n: int,
                                                 minutes: float) -> None:
    one = asked(question, outcome, days, n, minutes)
    told = known().plans.get(one.known_key)
    shown, offered = draw_shown(one)
    found = forecast(shown, world=World(minutes_a_day=minutes), gaps=(shown.card.none, shown.matters),
                     trials=LOOK_TRIALS, seed=LOOK_SEED, samples=samples_for(shown.level))
    assert told is not None
    assert (told.right, told.same) == (found.right, found.same)
    assert (told.days, told.reeds, told.offered) == (shown.days, len(shown.reeds), offered)
    assert told.changes_a_day == changes_a_day(shown)
    odds = known().odds.get((fingerprint(shown), minutes))
    assert odds is not None
    assert [odds_of(o.gap, c) for o, c in zip(found.odds, (odds.alike, odds.matters), strict=True)] == list(found.odds)


def test_everything_is_ranked_in_a_moment_for_a_player_nobody_knows_yet() -> None:
    """Under two seconds of work on a quiet machine; the bound is for a busy one."""
    means = Means(reeds=reeds(10), minutes_a_day=60, weeks=26, world=World())
    begun = time.process_time()
    found = rank(means)
    assert time.process_time() - begun < 6
    assert len(found.rows) > 150
    assert found.best()[0].question in ("wetting", "position")
