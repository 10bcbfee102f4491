"""What a class can show: against classes played pupil by pupil and put together as at the end."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import numpy as np
import pytest

from reedlab.analysis.together.combine import combine
from reedlab.analysis.together.parts import read_part
from reedlab.classes.class_outlook import ClassOutlook, Odds, class_outlook, outlook_words, side_by_side
from reedlab.classes.class_plan import class_plan, deal_for
from reedlab.errors import InputError
from reedlab.plan.imagined import box_of_new_reeds
from reedlab.worlds import World, simulate
from reedlab.worlds.diary import to_frames
from tests.readability import grade

PLAN = class_plan("wetting", days=8, matters=1.0)
START = date(2000, 1, 3)


def one(seed: int = 1, reeds: int = 4):  # type: ignore[no-untyped-def]
    return deal_for(PLAN, box_of_new_reeds("1", World(), seed, reeds), start=START, seed=seed, instrument="clarinet",
                    trial="class", simulations=100).protocol


def test_pupils_side_by_side_keep_their_own_reeds_and_sets() -> None:
    plan, whole = one(), side_by_side(one(), 3)
    assert len(whole.reeds) == 3 * len(plan.reeds)
    assert len(whole.units) == 3 * len(plan.units)
    for unit in whole.units:
        assert len({r.split("1-")[0] for r in unit.reeds}) == 1
        assert all(r.startswith(unit.block.split(".")[0]) for r in unit.reeds)
    assert set(Counter(u.block for u in whole.units).values()) == {2}
    assert side_by_side(plan, 1).units[0].cells[0][1] == plan.units[0].cells[0][1]


def test_more_pupils_show_more_and_the_fewest_that_settle_it_are_named() -> None:
    found = class_outlook(PLAN, pupils=8, trials=150)
    of = {o.pupils: o for o in found.odds}
    assert found.odds[0].pupils == 1
    assert of[8].right > of[1].right + 0.2
    assert of[8].same > of[1].same
    assert found.settles is not None
    assert of[found.settles].right >= 0.8
    assert all(o.right < 0.8 for o in found.odds if o.pupils < found.settles)
    assert 99 not in of


@pytest.mark.slow
def test_it_agrees_with_classes_played_pupil_by_pupil() -> None:
    """36 classes of three, each pupil's trial played, read and combined by the code of the end."""
    world, classes = World(), 36
    told = class_outlook(PLAN, pupils=3, sizes=(1,), trials=300).odds[-1]
    assert told.pupils == 3
    found = 0
    plans = [one(seed) for seed in range(1, 4)]
    batches = [simulate(p, world.but(effect_points=1.0), classes, seed) for seed, p in enumerate(plans, start=50)]
    for k in range(classes):
        parts = [read_part(f"P{i}", f"P{i}", p, to_frames(b, k), today=START + timedelta(days=PLAN.days or 0))
                 for i, (p, b) in enumerate(zip(plans, batches, strict=True))]
        found += combine(parts).main.verdict == "b_better"
    share = found / classes
    assert abs(share - told.right) < 3 * np.sqrt(told.right * (1 - told.right) / classes + 0.01 / classes) + 0.02


@pytest.mark.parametrize(("pupils", "reeds"), [(0, 4), (61, 4), (8, 0), (8, 21)])
def test_classes_that_cannot_be_are_refused(pupils: int, reeds: int) -> None:
    with pytest.raises(InputError, match="wanted 1 to"):
        class_outlook(PLAN, pupils=pupils, reeds=reeds)


def test_it_is_told_in_plain_words() -> None:
    odds = tuple(Odds(n, r, s, 200) for n, r, s in ((1, 0.17, 0.001), (8, 0.9, 0.999)))
    said = outlook_words(ClassOutlook(4, odds, 8))
    assert said[0] == ("One pupil with 4 reeds: if one way is better by what matters, it is found 17 times in 100; if "
                       "the ways are alike, that is found almost never.")
    assert said[1] == "8 pupils together: 90 times in 100, and almost always."
    assert "8 pupils would settle it" in said[2]
    assert grade(" ".join(said)) <= 8
    assert "Even 8 pupils would not settle it" in outlook_words(ClassOutlook(4, odds, None))[2]
