"""The scatter of preferences: against simulated players whose noise is known, and hidden repeats against hand sums."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.player.pair_spread import hidden_repeats, pair_spread
from reedlab.analysis.player.spreads import own_numbers
from reedlab.errors import InputError
from reedlab.plan import draw_up
from reedlab.plan.own_world import world_for
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, simulate, to_frames
from tests.plan._reeds import reeds

START = date(2026, 3, 2)
#: Nothing but the noise of the two goes.
STILL = {"adherence": 1.0, "unsure_reed": 0.0, "from_memory": 0.0, "forgotten": 0.0, "unrated": 0.0, "day_off": 0.0}


def plan(**more: Any) -> Protocol:
    return draw_up("ligature", reeds(6), **{"start": START, "seed": 5, "instrument": "clarinet", "simulations": 100,
                                            "compared": False, "days": 28, **more}).protocol


@pytest.mark.parametrize(("gap", "lead"), [(0.0, 0.0), (1.5, 0.0), (0.0, -1.0)])
def test_it_is_the_noise_of_the_two_goes_whatever_the_gap_and_whichever_goes_first(gap: float, lead: float) -> None:
    world = World(pair_noise=0.5, effect_points=gap, second_points=lead, **STILL)
    batch = simulate(plan(), world.but(damage_share=0.0), 40, 7, fresh_deals=True)
    found = [pair_spread(to_frames(batch, i)) for i in range(40)]
    assert {(f.trials, f.pairs, f.df) for f in found if f} == {(1, 56, 54)}
    # each go has half of a spread of 1 point, and a preference is the difference of two
    assert math.sqrt(np.mean([f.sd**2 for f in found if f])) == pytest.approx(math.sqrt(0.5), rel=0.05)


def test_a_trial_that_runs_gives_nothing_and_one_that_is_over_reaches_the_forecast() -> None:
    p = plan()
    frames = to_frames(simulate(p, World(pair_noise=0.4, damage_share=0.0, **STILL), 1, 3), 0)
    s = frames.sittings
    running = Frames.trusted(**{**vars(frames), "sittings": s[s["date"].dt.date < START + timedelta(days=20)]})
    assert pair_spread(running) is None
    assert own_numbers(running, World())["pair_noise"].weight == 0
    own = own_numbers(frames, World())["pair_noise"]
    assert own.weight > 0.8
    assert own.rests_on == 56
    assert own.raw < own.value < 1
    assert world_for(frames)[0].pair_noise == pytest.approx(own.value, rel=0.05)
    assert world_for(running)[0].pair_noise == 1


def test_two_reeds_side_by_side_are_left_out() -> None:
    p = draw_up("two_reeds", reeds(6), start=START, seed=5, instrument="clarinet", simulations=100,
                compared=False).protocol
    assert pair_spread(to_frames(simulate(p, World(**STILL), 1, 3), 0)) is None


def test_hidden_repeats_by_hand() -> None:
    points, same = [0, 1, 0, -0.5, 0, 0, 2, -1, 3, 0], [True] * 8 + [False] * 2
    found = hidden_repeats(points, same)
    x = np.array(points[:8])
    assert (found.same, found.called, found.different, found.told) == (8, 4, 2, 1)
    assert found.spread == pytest.approx(math.sqrt(((x - x.mean()) ** 2).sum() / 7))
    # t and chi-squared quantiles of 7 degrees of freedom, as any textbook's tables have them
    assert found.lean_range == pytest.approx(tuple(x.mean() + s * 2.3646 * found.spread / math.sqrt(8)
                                                   for s in (-1, 1)), abs=1e-4)
    assert found.spread_range == pytest.approx((found.spread * math.sqrt(7 / 16.0128),
                                                found.spread * math.sqrt(7 / 1.68987)), rel=1e-4)


@pytest.mark.parametrize(("k", "n"), [(0, 10), (3, 8), (8, 8)])
def test_the_range_of_a_share_leaves_out_what_would_be_too_rare(k: int, n: int) -> None:
    """Clopper and Pearson: at its ends k or more, k or fewer, come up 25 times in 1,000."""
    points, same = [1.0] * k + [0.0] * (n - k), [True] * n
    low, high = hidden_repeats([*points, 0.0, 0.0], [*same, False, False]).called_range

    def at_least(p: float, j: int) -> float:
        return sum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(j, n + 1))

    assert low == 0 if k == 0 else at_least(low, k) == pytest.approx(0.025)
    assert high == 1 if k == n else 1 - at_least(high, k + 1) == pytest.approx(0.025)


def test_what_cannot_be_read_is_told() -> None:
    with pytest.raises(InputError, match="at least two pairs of one reed"):
        hidden_repeats([1.0, 0.0], [True, False])
    assert math.isnan(hidden_repeats([1.0, 0.0], [True, True]).told_range[0])
