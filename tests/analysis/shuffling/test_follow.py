"""The always-valid readings: mean exactly 1 over the deals, published values, ranges, verdicts, Ville's bound."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import binom, nchypergeom_fisher, weibull_min

import reedlab
from reedlab.analysis.shuffling.follow import EFFECTS, block_bets
from reedlab.analysis.shuffling.follow_lives import HAZARD_RATIOS, _log_bets
from reedlab.errors import InputError

from ...benchmarks.standing import settled


def deals(arm: list[str], block: list[str]) -> list[list[str]]:
    """Every way to deal the same number of each arm within each block, by plain enumeration."""
    names = list(dict.fromkeys(block))
    per_block = []
    for name in names:
        at = [i for i, b in enumerate(block) if b == name]
        n_b = sum(arm[i] == "b" for i in at)
        per_block.append([set(c) for c in itertools.combinations(at, n_b)])
    return [["b" if any(i in c for c in chosen) else "a" for i in range(len(arm))]
            for chosen in itertools.product(*per_block)]


NAN = math.nan
BLOCKS = ["x"] * 4 + ["y"] * 3 + ["z"] * 2 + ["w"] * 4
ARMS = list("abab") + list("aba") + list("ab") + list("abbb")
OUTCOMES = {
    "plain": [6.0, 7.5, 5.0, 8.0, 3.0, 4.5, 4.0, 6.0, 9.0, 1.0, 2.5, 2.0, 7.0],
    "ties": [6.0, 6.0, 5.0, 6.0, 3.0, 3.0, 4.0, 6.0, 6.0, 1.0, 1.0, 2.0, 2.0],
    "missing": [6.0, NAN, 5.0, 8.0, 3.0, NAN, 4.0, NAN, 9.0, 1.0, 2.5, NAN, NAN],
    "all equal": [5.0] * 13,
    "a block without any": [NAN] * 4 + [3.0, 4.5, 4.0, 6.0, 9.0, 1.0, 2.5, 2.0, 7.0],
}


@pytest.mark.parametrize("kind", OUTCOMES)
def test_the_mean_over_all_deals_is_one_at_every_block(kind: str) -> None:
    found = [reedlab.follow(OUTCOMES[kind], arm, BLOCKS) for arm in deals(ARMS, BLOCKS)]
    assert len(found) == 6 * 3 * 2 * 4
    assert np.mean([f.e_value for f in found]) == pytest.approx(1, abs=1e-9)
    np.testing.assert_allclose(np.mean([f.e_values for f in found], axis=0), np.ones(4), atol=1e-9)


HOURS = {
    "plain": ([5.0, 7, 9, 4, 3, 8, 6, 10, 2, 12, 11, 13, 14], [1, 1, 0, 1, 1, 1, 0, 1, 1, 1, 1, 1, 0]),
    "ties": ([5.0, 5, 5, 4, 3, 3, 3, 2, 2, 7, 7, 7, 9], [1, 1, 0, 1, 1, 1, 1, 1, 1, 1, 1, 0, 1]),
    "missing": ([5.0, 0, 9, 4, NAN, 8, 6, 0, 2, 12, NAN, 13, 0], [1, 1, 0, 1, 1, 1, 0, 1, 1, 1, 1, 1, 0]),
    "none worn out": ([5.0, 7, 9, 4, 3, 8, 6, 10, 2, 12, 11, 13, 14], [0] * 13),
}


@pytest.mark.parametrize("kind", HOURS)
def test_the_mean_of_lives_over_all_deals_is_one_at_every_step(kind: str) -> None:
    hours, worn = HOURS[kind]
    found = [reedlab.follow_lives(hours, worn, arm, BLOCKS) for arm in deals(ARMS, BLOCKS)]
    assert np.mean([f.e_value for f in found]) == pytest.approx(1, abs=1e-9)
    paths = np.array([f.e_values for f in found])
    np.testing.assert_allclose(paths.mean(axis=0), np.ones(paths.shape[1]), atol=1e-9)
    assert (paths.shape[1] > 0) == (sum(worn) > 0)


def test_a_bet_is_the_normal_chance_of_the_deal_over_its_mean() -> None:
    rng = np.random.default_rng(3)
    y, is_b, spread = rng.normal(6, 1, 5), np.array([0, 1, 1, 0, 1], dtype=bool), 0.8
    got = np.exp(block_bets(y[None], is_b, np.array([spread])))[0]
    for effect, bet in zip([*EFFECTS, *(-e for e in EFFECTS)], got, strict=True):
        # the normal likelihood of a deal with gap effect * spread and any common mean, enumerated
        said = {c: math.exp(effect / spread * sum(y[list(c)])) for c in itertools.combinations(range(5), 3)}
        assert bet == pytest.approx(said[1, 2, 4] / np.mean(list(said.values())), rel=1e-12)


@pytest.mark.parametrize(("bet", "wealth"), [
    # confseq 0.0.11 (Waudby-Smith & Ramdas 2024): betting.betting_mart(x, 0.5, theta=1, trunc_scale=1) with this
    # constant bet and x = 1 1 0 1 1 1 0 1 (B was higher in the pair); run with NumPy 2
    (0.5, [1.25, 1.5625, 1.171875, 1.46484375, 1.83105469, 2.28881836, 1.71661377, 2.14576721]),
    (-0.5, [0.75, 0.5625, 0.703125, 0.52734375, 0.39550781, 0.29663086, 0.37078857, 0.27809143]),
    (1.2, [1.6, 2.56, 1.024, 1.6384, 2.62144, 4.194304, 1.6777216, 2.68435456]),
])
def test_pairs_of_one_size_bet_like_a_betting_martingale(bet: float, wealth: list[float]) -> None:
    wins = [1, 1, 0, 1, 1, 1, 0, 1]
    at = list(np.sign(bet) * np.array([*EFFECTS, *(-e for e in EFFECTS)])).index(1.0)
    spread = np.array([1 / (2 * np.arctanh(abs(bet) / 2))])  # a gap of this many makes just that bet on a pair 1 apart
    logs = [block_bets(np.array([[0.0, 1.0] if w else [1.0, 0.0]]), np.array([False, True]), spread)[0, at]
            for w in wins]
    np.testing.assert_allclose(np.exp(np.cumsum(logs)), wealth, rtol=1e-7)


def test_safe_log_rank_reproduces_the_published_values() -> None:
    # R safestats 0.8.7, example of `logrankSingleEExact`
    steps = np.column_stack([[5, 4, 3, 3, 2, 1], [5, 5, 4, 2, 2, 0], [1, 1, 0, 1, 0, 1], [0, 0, 1, 0, 1, 0]])
    path = np.exp(_log_bets(steps, np.log([0.7, 1 / 0.7])).cumsum(axis=0))
    np.testing.assert_allclose(path[-1], [1.116161, 0.7665818], rtol=1e-6)
    assert path[-1].mean() == pytest.approx(0.9413714, rel=1e-6)


def test_lives_agree_with_scipys_non_central_hypergeometric() -> None:
    rng = np.random.default_rng(5)
    hours, worn = rng.integers(2, 9, 24).astype(float), rng.random(24) < 0.7
    arm, block = np.tile(["a", "b"], 12), np.repeat([0, 1], 12)
    total = 0.0
    ratios = [*(1 / h for h in HAZARD_RATIOS), *HAZARD_RATIOS]
    for h in ratios:
        product = 1.0
        for b in (0, 1):
            for t in sorted(set(hours[(block == b) & worn])):
                risk, gone = (block == b) & (hours >= t), (block == b) & (hours == t) & worn
                law = (int(risk.sum()), int((risk & (arm == "b")).sum()), int(gone.sum()))
                z = int((gone & (arm == "b")).sum())
                product *= nchypergeom_fisher.pmf(z, *law, h) / nchypergeom_fisher.pmf(z, *law, 1.0)
        total += product / len(ratios)
    assert reedlab.follow_lives(hours, worn, arm, block).e_value == pytest.approx(total, rel=1e-8)


def test_the_range_is_where_the_same_test_with_the_gap_taken_off_never_reached_the_bar() -> None:
    rng = np.random.default_rng(8)
    block, arm = np.repeat(np.arange(14), 2), np.tile(["a", "b"], 14)
    y = rng.normal(6, 0.7, 28) + 1.0 * (arm == "b")
    got = reedlab.follow(y, arm, block)
    assert got.low < got.estimate < got.high

    def most(d: float) -> float:
        return reedlab.follow(y - d * (arm == "b"), arm, block).most

    for end, out in ((got.low, -1e-6), (got.high, 1e-6)):
        assert most(end) < 20 <= most(end + out) + 1e-9
    shifted = reedlab.follow(3 * y + 100, arm, block)  # units of the scale do not matter
    np.testing.assert_allclose([shifted.low, shifted.high, shifted.e_value], [3 * got.low, 3 * got.high, got.e_value],
                               rtol=1e-7)


def test_the_range_of_lives_is_where_the_same_test_of_divided_hours_never_reached_the_bar() -> None:
    rng = np.random.default_rng(9)
    block, arm = np.repeat(np.arange(4), 10), np.tile(["a", "b"], 20)
    life = weibull_min.rvs(2, scale=15, size=40, random_state=rng) * np.where(arm == "b", 2.0, 1.0)
    got = reedlab.follow_lives(life, [True] * 40, arm, block)
    assert 1 < got.low < got.ratio < got.high < math.inf

    def most(r: float) -> float:
        return reedlab.follow_lives(life / np.where(arm == "b", r, 1.0), [True] * 40, arm, block).most

    assert most(got.low * 1.0001) < 20 <= most(got.low * 0.9999)
    assert most(got.high * 0.9999) < 20 <= most(got.high * 1.0001)


def test_mirror_images_give_mirrored_answers() -> None:
    rng = np.random.default_rng(4)
    block, arm = np.repeat(np.arange(3), 8), np.tile(["a", "b"], 12)
    other = np.where(arm == "a", "b", "a")
    y, worn = rng.gamma(4, 3, 24), rng.random(24) < 0.8
    one, two = reedlab.follow(y, arm, block), reedlab.follow(y, other, block)
    np.testing.assert_allclose([one.e_value, one.low, one.high], [two.e_value, -two.high, -two.low], rtol=1e-7)
    one, two = reedlab.follow_lives(y, worn, arm, block), reedlab.follow_lives(y, worn, other, block)
    np.testing.assert_allclose([one.e_value, one.ratio, one.low, one.high],
                               [two.e_value, 1 / two.ratio, 1 / two.high, 1 / two.low], rtol=1e-7)


def test_verdicts() -> None:
    arm, block = ["a", "b"] * 12, list(np.repeat(range(12), 2))
    y = [5.0, 7.0] * 12
    assert reedlab.follow(y, arm, block, matters=1).verdict == "b_better"
    assert reedlab.follow(y[::-1], arm, block, matters=1).verdict == "a_better"
    assert reedlab.follow(y[:4], arm[:4], block[:4], matters=1).verdict == "cannot_tell"
    rng = np.random.default_rng(2)
    even = rng.normal(6, 0.3, 60)
    same = reedlab.follow(even, ["a", "b"] * 30, list(np.repeat(range(30), 2)), matters=1)
    assert same.verdict == "no_real_difference"
    assert -1 < same.low < same.high < 1
    lives = reedlab.follow_lives([3.0, 30] * 12, [True] * 24, arm, block, matters=1.5)
    assert lives.verdict == "b_better"
    assert lives.low > 1
    many = rng.weibull(8, 400) * 15
    same = reedlab.follow_lives(many, [True] * 400, ["a", "b"] * 200, list(np.repeat(range(40), 10)), matters=1.5)
    assert same.verdict == "no_real_difference"
    assert 1 / 1.5 < same.low < same.high < 1.5


def test_a_winner_stays_named_when_the_odds_fall_again() -> None:
    first, then = [5.0, 7.0] * 9, [7.0, 5.0] * 5
    block = list(np.repeat(range(14), 2))
    got = reedlab.follow([*first, *then], ["a", "b"] * 14, block, matters=1)
    assert got.e_value < 20 <= got.most
    assert got.verdict == "b_better"


def test_nothing_to_go_by_and_what_cannot_be_used() -> None:
    empty = reedlab.follow([1.0, 2.0, NAN, 3.0], ["a", "a", "b", "a"], [0, 0, 1, 1], matters=1)
    assert math.isnan(empty.estimate)
    assert empty.e_value == 1
    assert empty.verdict == "cannot_tell"
    assert (empty.low, empty.high) == (-math.inf, math.inf)
    lives = reedlab.follow_lives([1.0, 2.0, 4.0], [False] * 3, ["a", "b", "a"], matters=2)
    assert math.isnan(lives.ratio)
    assert lives.e_value == 1
    assert (lives.low, lives.high) == (0, math.inf)
    with pytest.raises(InputError, match="level"):
        reedlab.follow([1.0, 2.0], ["a", "b"], [0, 0], level=2)
    with pytest.raises(InputError, match="below 0"):
        reedlab.follow_lives([1.0, -2.0], [True, True], ["a", "b"])


def test_one_large_block_is_read_in_time() -> None:
    rng = np.random.default_rng(1)
    arm = np.tile(["a", "b"], 150)
    got = reedlab.follow_lives(rng.weibull(2, 300) * np.where(arm == "b", 1.5, 1), [True] * 300, arm)
    assert 1.1 < got.low < got.ratio < got.high < 2
    wide = reedlab.follow(rng.normal(size=300) + (arm == "b"), arm, np.zeros(300))
    assert 0.4 < wide.low < wide.high < 1.6


@pytest.mark.slow
def test_no_difference_seldom_reaches_the_bar_however_often_one_looks() -> None:
    # Ville 1939: at most 5 in 100; a simulated count may lie above by its own chance, not more
    most = binom.ppf(0.99, 300, 0.05)
    assert np.sum(settled(300, 40, 10, 1.0, 11) != 0) <= most
    assert np.sum(settled(300, 40, 4, 1.0, 12) != 0) <= most


def test_a_life_twice_as_long_is_settled_by_the_boxes_foretold() -> None:
    box = settled(300, 8, 10, 2.0, 13)
    assert np.mean((box > 0) & (box <= 4)) >= 0.5
    assert np.mean((box > 0) & (box <= 5)) >= 0.75
    assert (box >= 0).all()
