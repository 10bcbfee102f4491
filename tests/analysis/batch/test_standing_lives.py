"""Many standing trials read at once say what `follow_lives` says of each, at every look."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.batch.standing_lives import looks
from reedlab.analysis.shuffling.follow_lives import follow_lives

from ...benchmarks.standing import WORLDS, Hostile, ends, ever, played


@pytest.mark.parametrize("ratio", [1.0, 1.4])
@pytest.mark.parametrize("world", [Hostile(uneven=0.5, places=12), Hostile(size=5, pace=(1.5, 0.5))])
def test_every_look_is_that_of_the_single_reading(world: Hostile, ratio: float) -> None:
    reeds = played(world, 6, 3, 1.7, 3)
    at = ends(reeds)
    found = looks(reeds, at, ratio=ratio, steps=True)
    assert found.most is not None
    block = np.repeat(np.arange(3), world.size)
    for i in range(6):
        for j in range(0, at.shape[1], 4):
            hours = np.clip((at[i, j] - reeds.begun[i]) * reeds.pace[i], 0, reeds.hours[i])
            worn = reeds.worn_out[i] & (reeds.ends[i] <= at[i, j])
            hours = np.where(reeds.is_b[i], hours / ratio, hours)
            if len({*reeds.is_b[i][hours > 0]}) < 2:
                assert found.e_value[i, j] == 1.0
                continue
            one = follow_lives(hours.ravel(), worn.ravel(), reeds.is_b[i].ravel().astype(int), block)
            assert found.e_value[i, j] == pytest.approx(one.e_value, rel=1e-9)
            assert found.most[i, j] == pytest.approx(one.most, rel=1e-9)


@pytest.mark.parametrize("name", ["boxes differ (spread of half)", "one way played three times as much", "all of it"])
def test_a_winner_is_seldom_named_without_a_difference_in_a_hostile_world(name: str) -> None:
    """Read after every reed: at most 5 in 100 (150 trials: 14 is beyond the 0.99 point of that)."""
    reeds = played(WORLDS[name], 150, 6, 1.0, 5)
    assert ever(looks(reeds, ends(reeds))).sum() <= 14


def test_the_true_ratio_is_seldom_ruled_out_at_any_time() -> None:
    reeds = played(WORLDS["one way played three times as much"], 150, 6, 1.5, 6)
    assert ever(looks(reeds, ends(reeds), ratio=1.5)).sum() <= 14
    assert ever(looks(reeds, ends(reeds))).sum() > 20  # and no difference often enough
