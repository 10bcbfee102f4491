"""The world that forecasts are made in: the defaults, or the player's own numbers."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from reedlab.plan.own_world import world_for
from reedlab.rows.tables import Frames
from reedlab.worlds import World


def a_logbook(noise: float, days: int = 40, level: float = 5.0) -> Frames:
    rng = np.random.default_rng(1)
    own = rng.normal(0, 1.0, 4)
    rows = [{"date": date(2026, 3, 1) + timedelta(days=d), "reed": f"{1 + k % 2}-0{1 + k // 2}", "play_min": 8,
             "overall": float(np.clip(np.round(2 * (level + own[k] + rng.normal(0, noise))) / 2, 0, 10)),
             "sitting": f"{d}-{k}"} for d in range(days) for k in range(4)]
    days_rows = [{"date": date(2026, 3, 1) + timedelta(days=d), "humidity_pct": 40 + 5 * np.sin(d)}
                 for d in range(days)]
    return Frames.of(reeds=[{"reed": f"{b}-0{i}", "box": str(b)} for b in (1, 2) for i in (1, 2)], sittings=rows,
                     days=days_rows)


def test_an_empty_logbook_gives_the_world_as_it_is_assumed() -> None:
    world, own = world_for(Frames.of())
    assert world == World()
    assert not any(e.weight for e in own.estimates.values())


def test_a_steady_ear_and_a_shaky_one_get_different_worlds() -> None:
    steady, _ = world_for(a_logbook(0.4))
    shaky, own = world_for(a_logbook(1.8))
    assert abs(steady.noise_sd - 0.4) < 0.12
    assert abs(shaky.noise_sd - 1.8) < 0.3
    assert steady.icc > shaky.icc
    assert own["noise_sd"].weight > 0.8


def test_what_the_logbook_cannot_say_stays_as_it_was() -> None:
    base = World()
    world, _ = world_for(a_logbook(0.8))
    assert (world.effect_points, world.adherence, world.life_shape) == (
        base.effect_points, base.adherence, base.life_shape)
    assert world.step == 0.5
    assert 0 < world.air_points_sd < base.air_points_sd + 0.1


def test_extreme_logbooks_stay_within_what_a_world_allows() -> None:
    world, _ = world_for(a_logbook(0.0, level=10.0))
    assert 0 <= world.level <= 10
    world, _ = world_for(a_logbook(6.0))
    assert world.noise_sd <= 5
