"""What a reed was worth before its trial: which ratings count, and that they are evened out as they should be."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.trial import analyse
from reedlab.analysis.units.baseline import baseline, break_in_ratings, broken_in
from reedlab.analysis.units.blind import blind
from reedlab.rows.tables import Frames
from reedlab.worlds import World
from reedlab.worlds.air import draw_days
from reedlab.worlds.reeds import draw_reeds, to_scale

from .._players import START, by_reed, frames, on, rated


def sat(reed: str, day: int, overall: float | None = 6.0, **more: Any) -> dict[str, Any]:
    return {"date": on(day), "reed": reed, "play_min": 20.0, "overall": overall, "where": "practice", **more}


def test_the_last_three_ratings_in_practice_before_the_start_count_and_nothing_else() -> None:
    p = by_reed()
    rows = [sat("1-01", -9, 1.0), sat("1-01", -5, 2.0), sat("1-01", -3, 4.0), sat("1-01", 0, 6.0), sat("1-01", 1, 10.0),
            sat("1-01", -1, 9.0, where="rehearsal"), sat("1-01", -1, 9.0, unsure_reed=True), sat("1-01", -1, None),
            sat("1-02", -2, 5.0), sat("1-02", -1, 6.0)]
    book = frames(p, rows)
    assert break_in_ratings(book, START) == {"1-01": [2.0, 4.0, 6.0], "1-02": [5.0, 6.0]}
    assert broken_in(book, p.reeds, START) == {"1-01": 4.0}


def test_a_first_play_is_never_mixed_with_a_rating_of_the_break_in() -> None:
    p = by_reed()
    some = baseline(frames(p, [sat("1-01", -1, 5.0)]), p.reeds, START, "overall")
    assert some[0] == 5.0
    assert np.isnan(some[1:]).all()
    assert (baseline(frames(p, []), p.reeds, START, "overall") == 6.0).all()


def test_of_stiffness_it_is_the_distance_from_just_right() -> None:
    p = by_reed()
    rows = [sat("1-01", -d, 6.0, stiffness=s) for d, s in ((1, 2.0), (2, -1.0), (3, 0.0))]
    assert break_in_ratings(frames(p, rows), START, "stiffness") == {"1-01": [0.0, -1.0, -2.0]}


def played(known: bool) -> tuple[Any, Frames]:
    """Twelve reeds in three sets whose level is known exactly beforehand; the second way adds a point and a half."""
    p = by_reed((4, 4, 4), adjust=("break_in",) if known else ())
    level = {r: 3.0 + i / 2 for i, r in enumerate(p.reeds)}
    second = p.habits[1].key
    noise = np.random.default_rng(3)
    rows = rated(p, lambda r, _, way: level[r] + 1.5 * (way == second) + noise.choice([-0.5, 0.5]))
    before = [sat(r, -d, level[r] - 1.0) for r in p.reeds for d in (1, 2, 3)]
    return p, frames(p, [*before, *rows])


def test_what_was_known_beforehand_falls_out_of_the_comparison() -> None:
    (plain, book), (knows, same) = played(False), played(True)
    today = START + timedelta(days=plain.days)
    without, with_it = (analyse(p, f, today=today, side_readings=False).main for p, f in ((plain, book), (knows, same)))
    assert without is not None
    assert with_it is not None
    assert with_it.verdict == "b_better"
    assert with_it.high - with_it.low < (without.high - without.low) / 2


def test_it_is_evened_out_just_as_a_first_play_of_the_same_size_would_be() -> None:
    """A second way to the same answer: the baselines written down as first plays."""
    p, book = played(True)
    mean = {r: float(np.mean(v)) for r, v in break_in_ratings(book, START).items()}
    reeds = book.reeds.assign(first_play=book.reeds["reed"].map(mean))
    other = replace(p, adjust=("first_play",))
    today = START + timedelta(days=p.days)
    one = analyse(p, book, today=today, side_readings=False).main
    two = analyse(other, replace(book, reeds=reeds), today=today, side_readings=False).main
    assert one == two
    assert np.array_equal(blind(p, book).before, [mean[r] for r in p.reeds])


@pytest.mark.parametrize("world", [World(), World(noise_sd=0.4, mood_sd=1.0), World(reed_sd=0.5, step=1.0)])
def test_three_ratings_tell_as_much_of_a_reed_as_the_worlds_say(world: World) -> None:
    """Reeds broken in and rated on three days of their own, against the formula of `World.break_in_r`."""
    rng, n, many = np.random.default_rng(5), 4_000, 6
    reeds = draw_reeds(world, n, ["1"] * many, rng)
    seen = np.zeros((many, n))
    for k in range(many):
        for youth in world.youth:
            shift = draw_days(replace(world, taste_sd=0.0), n, 1, 60, rng).shift[0]
            seen[k] += to_scale(reeds.level[k] + youth + shift + world.noise_sd * rng.standard_normal(n),
                                world.step, *world.ends) / 3
    own = reeds.level - reeds.level.mean(axis=0)
    rated_so = seen - seen.mean(axis=0)
    assert np.corrcoef(own.ravel(), rated_so.ravel())[0, 1] == pytest.approx(world.break_in_r, abs=0.02)
