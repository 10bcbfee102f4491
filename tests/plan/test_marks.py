from __future__ import annotations

import pytest

from reedlab.errors import InputError
from reedlab.plan import draw_up
from reedlab.plan.marks import Marks
from reedlab.trial.practice import ANCHORS
from reedlab.trial.protocol import Protocol

from ._reeds import START, reeds

OWN = ((0, "never"), (5, "so-so"), (10, "a dream"))


def plan(**more: object) -> Protocol:
    given: dict = {"start": START, "seed": 11, "instrument": "clarinet", "simulations": 100, **more}
    return draw_up("rotation", reeds(10), outcome="life_hours", **given).protocol  # type: ignore[arg-type]


def test_own_marks_are_frozen_with_the_plan_and_change_nothing_else() -> None:
    usual = plan()
    own = plan(marks=Marks(scale=OWN, worn_out_rule="ratings", worn_out_below=3.5, good_below=5, in_a_row=3))
    assert (own.scale, own.worn_out_below, own.good_below, own.in_a_row) == (OWN, 3.5, 5.0, 3)
    assert (own.units, own.dealt, own.slots) == (usual.units, usual.dealt, usual.slots)
    assert own.sha256 != usual.sha256
    assert Protocol.from_json(own.to_json()) == own


def test_without_own_marks_the_usual_ones_stand() -> None:
    assert plan().scale == tuple(ANCHORS.items())
    assert (plan().worn_out_rule, plan().worn_out_below, plan().good_below, plan().in_a_row) == ("ratings", 4, 6, 2)
    assert plan(marks=Marks()).sha256 == plan().sha256


@pytest.mark.parametrize(("marks", "says"), [
    ({"scale": OWN[:2]}, "at least 3"),
    ({"scale": (*OWN, (10, "twice"))}, "once"),
    ({"scale": ((2, "a"), (4, "b"), (11, "c"))}, "from 0 to 10"),
    ({"scale": ((2, "a"), (4, " "), (6, "c"))}, "1 to 30 letters"),
    ({"scale": ((2, "a"), (4, "b" * 31), (6, "c"))}, "1 to 30 letters"),
    ({"scale": ((2, "fine"), (4, "Fine"), (6, "c"))}, "different words"),
    ({"worn_out_rule": "mood"}, "ratings or player"),
    ({"worn_out_below": 7.0}, "no more than the second"),
    ({"worn_out_below": 0.0}, "from 0.5"),
    ({"in_a_row": 0}, "1 to 10"),
])
def test_marks_that_make_no_sense_are_refused_with_the_reason(marks: dict, says: str) -> None:
    with pytest.raises(InputError, match=says):
        Marks(**marks)


def test_all_faults_of_marks_are_told_at_once() -> None:
    with pytest.raises(InputError) as err:
        Marks(scale=OWN[:2], in_a_row=99)
    assert len(str(err.value).splitlines()) == 2
