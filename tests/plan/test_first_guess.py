"""The first guess is what a player nobody knows yet, with a full box, is told in the end."""

from __future__ import annotations

import pytest

from reedlab.plan.first_guess import first_guess
from reedlab.plan.means import Means
from reedlab.plan.ranking import rank
from reedlab.worlds import World

from ._reeds import reeds


def have(*sizes: int, world: World, minutes: float) -> Means:
    return Means(reeds=reeds(*sizes), minutes_a_day=minutes, weeks=4, world=world)


@pytest.mark.parametrize(("sizes", "questions"), [
    ((10,), ("wetting", "drying", "rotation")), ((10, 10), ("cut_or_strength",))])
def test_a_player_whom_nobody_knows_gets_their_own_numbers_at_once(sizes: tuple[int, ...],
                                                                   questions: tuple[str, ...]) -> None:
    means = have(*sizes, world=World(), minutes=60)
    own = {(r.question, r.design, r.outcome, r.weeks): r for r in rank(means, questions=questions).rows
           if r.boxes is None and not r.refused}
    told = {(r.question, r.design, r.outcome, r.weeks): r for r in first_guess(means).rows if r.question in questions}
    assert own
    assert told.keys() == own.keys()
    for at, row in told.items():
        assert (row.right, row.same, row.days, row.reeds) == (own[at].right, own[at].same, own[at].days, own[at].reeds)


def test_a_known_player_with_a_few_reeds_of_many_boxes_gets_the_guess_of_the_nearest_minutes() -> None:
    odd = have(5, 3, 4, world=World(noise_sd=0.5, day_off=0.3), minutes=70)
    assert first_guess(odd).rows == first_guess(have(10, world=World(), minutes=60)).rows
    assert first_guess(odd).rows != first_guess(have(10, world=World(), minutes=90)).rows
