"""The smallest p that the lives of a trial could give, against trying every dealing of them."""

import numpy as np
import pytest

from reedlab.analysis.shuffling.life_reach import reachable_p
from reedlab.analysis.shuffling.life_scores import scores
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.trial.dealing import all_arrangements, layout_of


def smallest_of_all(hours, worn, block, n_b):
    """Deal the lives in every allowed way and take the smallest two-sided p."""
    s = scores(np.log(hours)[None, :], worn)[0]
    ways = np.vstack(list(all_arrangements(layout_of(block, n_b))))
    sums = ways @ s
    return min(min(1.0, 2 * min(np.mean(sums >= t - 1e-9), np.mean(sums <= t + 1e-9))) for t in sums)


@pytest.mark.parametrize(("block", "n_b"), [
    (np.zeros(10), 5), (np.zeros(9), 2), (np.repeat([0, 1, 2, 3], 2), 1), (np.repeat([0, 1], 5), {0: 2, 1: 3})])
def test_equals_dealing_the_lives_in_every_way(block, n_b):
    """With none to all worn out, tied hours among them."""
    rng = np.random.default_rng(1)
    layout = layout_of(block, n_b)
    is_b = np.zeros(len(block), dtype=bool)
    for m, k in zip(layout.members, layout.n_b, strict=True):
        is_b[m[:k]] = True
    for k in range(60):
        hours = rng.integers(1, 12, len(block)).astype(float) if k % 2 else rng.weibull(2, len(block)) + .1
        worn = rng.random(len(block)) < (.1, .3, .6, 1)[k % 4]
        want = smallest_of_all(hours, worn, block, n_b)
        assert compare_lives(hours, worn, is_b, block).reachable_p == pytest.approx(want)


def test_few_worn_out_of_ten_still_going_reeds():
    """Five against five: what 1 to 4 worn-out reeds among ten watched alike can reach, by counting subsets.

    2 of 10: C(8, 3) of the C(10, 5) = 252 deals give both to one way; 3: C(7, 2); 4: C(6, 1).
    """
    for k, shared in ((1, 126), (2, 56), (3, 21), (4, 6), (5, 1)):
        hours = np.r_[np.arange(1.0, k + 1), np.full(10 - k, 20.0)]
        got = compare_lives(hours, np.arange(10) < k, np.arange(10) % 2)
        assert got.reachable_p == pytest.approx(min(1.0, 2 * shared / 252))
        assert got.least_p == 2 / 252  # what the design could, were all worn out


def test_many_trials_at_once_and_units_lost():
    """A unit that is not used plays no part, whatever stands in its place."""
    rng = np.random.default_rng(2)
    members, is_b = [np.arange(4), np.arange(4, 8)], np.tile([True, False], 4)
    t, worn = rng.weibull(2, (30, 8)) + .1, rng.random((30, 8)) < .5
    lost = np.zeros((30, 8), dtype=bool)
    lost[np.arange(30), rng.integers(0, 8, 30)] = True
    log_t = np.where(lost, -1e300, np.log(t))
    s = np.where(lost, 0.0, scores(log_t, worn & ~lost))
    got = reachable_p(s, np.broadcast_to(is_b, (30, 8)), members, ~lost)
    for i in range(30):
        one = compare_lives(t[i, ~lost[i]], worn[i, ~lost[i]], is_b[~lost[i]], np.repeat([0, 1], 4)[~lost[i]])
        assert got[i] == pytest.approx(one.reachable_p)
