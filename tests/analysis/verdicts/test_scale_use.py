"""How the rating scale was used: its ends, the player's own ends, and what they hide of a gap."""

from __future__ import annotations

import math

import numpy as np
import pytest

from reedlab.analysis.verdicts.scale_use import ScaleUse, ratings_used


def test_shares_at_the_ends_and_the_values_used() -> None:
    c = ratings_used([10, 10, 0, 5, math.nan], "overall")
    assert (c.top, c.bottom, c.values, c.ratings) == (0.5, 0.25, 3, 4)
    assert (c.own_top, c.own_bottom) == (0.0, 0.0)
    assert ratings_used([0.0, -3.0, -1.0, -1.0], "stiffness").at_an_end
    just = ratings_used([0.0, -3.0, -3.0, -1.0, -2.0], "stiffness")
    assert (just.top, just.bottom) == (0.2, 0.4)
    assert ratings_used([], "overall") == ScaleUse(0.0, 0.0, 0, 0)


def test_many_trials_are_described_as_each_by_itself() -> None:
    rng = np.random.default_rng(3)
    y = np.clip(np.round(rng.normal(7.5, 1.5, (40, 30))), rng.integers(0, 7, (40, 1)), rng.integers(8, 11, (40, 1)))
    y = np.where(rng.random(y.shape) < 0.2, np.nan, y)
    y[0] = np.nan
    both = ratings_used(y, "overall")
    for i, row in enumerate(y):
        one = ratings_used(row, "overall")
        for name in ("top", "bottom", "values", "ratings", "own_top", "own_bottom"):
            assert getattr(both, name)[i] == getattr(one, name)


def test_a_player_who_never_leaves_part_of_the_scale_has_ends_of_their_own() -> None:
    piled = ratings_used([6] * 8 + [7] * 6 + [8] * 7 + [9] * 5, "overall")
    assert (piled.own_bottom, piled.own_top) == (8 / 26, 5 / 26)
    assert piled.at_an_end
    free = ratings_used([5] + [6] * 3 + [7] * 9 + [8] * 8 + [9] * 2, "overall")
    assert free.squeezed == 0


@pytest.mark.parametrize(("low", "high"), [(0, 10), (6, 9), (5, 8.5)])
@pytest.mark.parametrize("step", [0.5, 1.0])
def test_a_gap_shows_smaller_by_the_share_that_could_not_go_further(low: float, high: float, step: float) -> None:
    rng = np.random.default_rng(5)
    true = rng.normal(7.25, 1.5, 400_000)
    is_b = np.arange(len(true)) % 2 == 1
    given = np.clip(np.round((true + 0.8 * is_b) / step) * step, low, high)
    shown = (given[is_b].mean() - given[~is_b].mean()) / 0.8
    assert 1 - ratings_used(given, "overall").squeezed == pytest.approx(shown, abs=0.14 if step < 1 else 0.22)
    assert 1 - ratings_used(given, "overall").squeezed < shown + 0.02  # errs on the careful side


def test_ratings_that_thin_out_lose_little_of_the_margin() -> None:
    """In small trials of players with the whole scale before them, few ratings are taken for an end."""
    rng = np.random.default_rng(6)
    for step in (0.5, 1.0):
        y = np.round(rng.normal(5.5, 1.3, (2000, 56)) / step) * step
        assert ratings_used(y, "overall").squeezed.mean() < 0.04
