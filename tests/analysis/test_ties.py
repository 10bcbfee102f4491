"""Which sums count as equal: a level shared by all outcomes and the last digits of rounding must change nothing."""

import numpy as np
import pytest

from reedlab.analysis.shuffling.compare import compare

from .shuffling._many import p_values


def ratings(rng, n):
    """Ratings in tenths, with many ties, and the deal of n pairs."""
    return rng.integers(40, 80, 2 * n) / 10, np.tile(["a", "b"], n), np.repeat(np.arange(n), 2)


@pytest.mark.parametrize("level", [1e6, 1e9, -1e9])
def test_a_number_added_to_all_outcomes_changes_nothing(level):
    """Sums that tie keep their tie and sums that differ keep their difference."""
    rng = np.random.default_rng(1)
    for k in range(40):
        y, arm, pair = ratings(rng, 8)
        block = pair if k % 2 else None
        one, two = compare(y, arm, block, matters=.5), compare(y + level, arm, block, matters=.5)
        assert (two.p_value, two.p_above, two.p_below) == (one.p_value, one.p_above, one.p_below)
        assert (two.estimate, two.low, two.high) == pytest.approx((one.estimate, one.low, one.high), abs=1e-5)


def test_differences_in_the_tenth_digit_break_no_tie():
    """Outcomes that are equal but for 1e-10 count as equal."""
    rng = np.random.default_rng(2)
    for _ in range(40):
        y, arm, pair = ratings(rng, 8)
        y = np.round(y)
        assert compare(y + rng.uniform(-1, 1, 16) * 1e-10, arm, pair).p_value == compare(y, arm, pair).p_value


def test_a_block_at_another_level_changes_nothing():
    """What is added to one block alone tells nothing of the ways either."""
    rng = np.random.default_rng(3)
    y, arm, pair = ratings(rng, 10)
    assert compare(y + 1e7 * (pair == 3), arm, pair).p_value == compare(y, arm, pair).p_value


def test_many_trials_at_once_count_ties_alike():
    """The batch has the same tolerance."""
    rng = np.random.default_rng(4)
    y, arm, pair = ratings(rng, 8)
    got = p_values(np.stack([y, y + 1e9]), arm == "b", pair)
    assert got[0] == got[1] == compare(y, arm, pair).p_value


def test_five_pairs_name_no_winner_but_can_show_sameness():
    """Their smallest p is 2/32; both one-sided p's can reach 1/32."""
    gaps = np.array([.1, -.1, .2, 0, -.2])
    got = compare(np.c_[np.full(5, 6.0), 6 + gaps].ravel(), ["a", "b"] * 5, np.repeat(range(5), 2), matters=1)
    assert got.least_p == .0625
    assert got.verdict == "no_real_difference"
