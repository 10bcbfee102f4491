"""The engine: unit values linear in the difference, one test."""

import itertools
import math

import numpy as np
import pytest

from reedlab.analysis.shuffling.linear import linear_test, rejected_count
from reedlab.trial.dealing import all_arrangements, layout_of

from ._many import p_values


def slow(u, v, is_b, block, level, d_margin=None):
    """The slow way: list every arrangement, redo u − d·v and p at and between all critical differences."""
    n = len(u)
    groups = [[i for i in range(n) if block[i] == b] for b in sorted(set(block))]
    seen = {i for i in range(n) if is_b[i]}
    ways = [set(itertools.chain(*w)) for w in itertools.product(
        *[itertools.combinations(g, sum(i in seen for i in g)) for g in groups])]
    tol = 1e-9 * max(1.0, sum(map(abs, u)))

    def tails(d):
        z = [u[i] - d * v[i] for i in range(n)]
        for g in groups:
            m = sum(z[i] for i in g) / len(g)
            for i in g:
                z[i] -= m
        t = sum(z[i] for i in seen)
        s = [sum(z[i] for i in w) for w in ways]
        return sum(x >= t - tol for x in s) / len(s), sum(x <= t + tol for x in s) / len(s)

    critical = set()
    for w in ways:
        turn = sum(v[i] for i in seen) - sum(v[i] for i in w)
        if abs(turn) > 1e-9:
            critical.add(round((sum(u[i] for i in seen) - sum(u[i] for i in w)) / turn, 10))
    critical = sorted(critical)
    spots = [(c, c, c) for c in critical]
    spots += [((a + b) / 2, a, b) for a, b in itertools.pairwise(critical)]
    ends = ([(critical[0] - 1, -math.inf, critical[0]), (critical[-1] + 1, critical[-1], math.inf)]
            if critical else [(0.0, -math.inf, math.inf)])
    kept = [(lo, hi) for d, lo, hi in spots + ends if 2 * min(tails(d)) > 1 - level + 1e-12]
    low, high = (min(k[0] for k in kept), max(k[1] for k in kept)) if kept else (math.nan, math.nan)
    out = [min(1.0, 2 * min(tails(0.0))), *tails(0.0), low, high]
    if d_margin is not None:
        out += [tails(-d_margin)[0], tails(d_margin)[1]]
    return out


def design(rng):
    """A random small design: (is_b, block), 3 to 150 arrangements, unequal blocks."""
    while True:
        sizes = rng.integers(2, 6, rng.integers(1, 5))
        is_b = np.concatenate(
            [rng.permutation([False] * (k := rng.integers(1, s)) + [True] * (s - k)) for s in sizes])
        block = np.repeat(np.arange(len(sizes)), sizes)
        ways = math.prod(math.comb(s, int(is_b[block == b].sum())) for b, s in enumerate(sizes))
        if 2 < ways <= 150:
            return is_b, block


@pytest.mark.parametrize("kind", ["as done", "adjusted", "wild"])
def test_equals_plain_counting_for_any_linear_effect(kind):
    """p, tails, both ends and the margins agree with the slow way when the effect is no plain 0 and 1."""
    rng = np.random.default_rng({"as done": 1, "adjusted": 2, "wild": 3}[kind])
    for k in range(50):
        is_b, block = design(rng)
        u = rng.normal(5, 2, is_b.size)
        if kind == "as done":  # share of sittings on B, rounded so that ties come up
            v = np.clip(np.round(is_b * .8 + rng.integers(-1, 3, is_b.size) * .1, 1), 0, 1)
        elif kind == "adjusted":  # residuals on a covariate, the same map on the indicator
            x = rng.normal(size=is_b.size)
            x -= x.mean()
            u, v = (z - x * (x @ z) / (x @ x) for z in (u, is_b.astype(float)))
        else:
            v = rng.normal(size=is_b.size)
        level = (.95, .8, .6, .5)[k % 4]
        got = linear_test(u, v, is_b, block, level=level, margin=.7)
        want = slow(list(u), list(v), list(is_b), list(block), level, .7)
        have = [got.p_value, got.p_upper, got.p_lower, got.low, got.high, got.p_above, got.p_below]
        assert have == pytest.approx(want, abs=1e-8, nan_ok=True)


def test_estimate_is_where_the_statistic_meets_its_mean():
    """At the estimate the observed sum equals the mean over all arrangements."""
    rng = np.random.default_rng(4)
    for _ in range(20):
        is_b, block = design(rng)
        u, v = rng.normal(size=is_b.size), is_b + rng.normal(0, .2, is_b.size)
        got = linear_test(u, v, is_b, block)
        z = u - got.estimate * v
        counts = {int(b): int(is_b[block == b].sum()) for b in np.unique(block)}
        every = np.vstack(list(all_arrangements(layout_of(block, counts)))) @ z
        assert every.mean() == pytest.approx(z[is_b].sum(), abs=1e-9)


def test_sitting_shares_bring_back_a_diluted_gap():
    """With 70 % adherence a true gap of 2 is found by the shares, not by the deal."""
    rng = np.random.default_rng(5)
    block, is_b = np.repeat(np.arange(12), 2), np.tile([False, True], 12)
    share = np.where(is_b, .7, .3)
    u = 2 * share + rng.normal(0, .05, 24) + np.repeat(rng.normal(size=12), 2)
    assert linear_test(u, share, is_b, block).estimate == pytest.approx(2, abs=.15)
    assert linear_test(u, is_b, is_b, block).estimate == pytest.approx(.8, abs=.1)


def test_many_trials_at_once_equal_each_alone():
    """Each row has the p of its own single test."""
    rng = np.random.default_rng(6)
    for _ in range(10):
        is_b, block = design(rng)
        u = rng.integers(0, 8, (15, is_b.size)).astype(float)
        assert p_values(u, is_b, block) == pytest.approx([linear_test(x, is_b, is_b, block).p_value for x in u])


def test_large_plans_are_sampled():
    """Above the limit a fixed draw is used; its p is within Monte-Carlo error of the exact one."""
    rng = np.random.default_rng(8)
    block, is_b = np.repeat(np.arange(12), 2), np.tile([False, True], 12)
    u = rng.normal(size=(60, 24)) + .5 * is_b
    exact, drawn = p_values(u, is_b, block), p_values(u, is_b, block, limit=100)
    assert (np.abs(exact - drawn) < 4 * np.sqrt(exact * (2 - exact) / 20_000) + 2e-4).all()
    assert (drawn > 0).all()


def test_sampled_range_is_near_the_exact_one():
    """One draw serves every difference; both ends come out close, and p and range agree about zero."""
    rng = np.random.default_rng(9)
    is_b = np.tile([False, True], 10)
    for _ in range(20):
        u = rng.normal(size=20) + is_b
        exact = linear_test(u, is_b, is_b)
        drawn = linear_test(u, is_b, is_b, limit=1000)
        assert not drawn.exact
        assert drawn.arrangements == exact.arrangements == 184_756
        assert (drawn.low, drawn.high) == pytest.approx((exact.low, exact.high), abs=.05)
        assert (drawn.low <= 0 <= drawn.high) == (drawn.p_value > .05 + 1e-12)


def test_false_alarms_stay_below_the_level():
    """Under reshuffling alone the exact test rejects at most 5 % of all arrangements, counted in full."""
    y = np.random.default_rng(10).integers(0, 6, 12).astype(float)
    block = np.repeat([0, 1, 2], 4)
    rejected = total = 0
    for rows in all_arrangements(layout_of(block, 2)):
        for is_b in rows:
            rejected += linear_test(y, is_b, is_b, block).p_value <= .05 + 1e-12
            total += 1
    assert total == 216
    assert 0 < rejected <= .05 * total


def test_rejected_count_at_the_edge():
    """With 40 arrangements a tail of one is rejected (p exactly 0.05), with 39 none is."""
    assert rejected_count(.05, 40) == 1
    assert rejected_count(1 - .95, 40) == 1
    assert rejected_count(.05, 39) == 0
