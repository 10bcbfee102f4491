"""Dealing: counts, lists and draws of arrangements, and the least p of a plan."""

import itertools
import math

import numpy as np
import pytest

from reedlab.errors import InputError
from reedlab.trial.dealing import (
    all_arrangements,
    deal,
    draw_arrangements,
    even_counts,
    layout_dealt,
    layout_of,
)


def plain_list(block, counts):
    """Every arrangement the slow way: all 2^n, kept where each block has its count."""
    out = set()
    for a in itertools.product((False, True), repeat=len(block)):
        if all(sum(x for x, b in zip(a, block, strict=True) if b == label) == k for label, k in counts.items()):
            out.add(a)
    return out


@pytest.mark.parametrize(("block", "counts"), [
    (["x", "x", "y", "y"], {"x": 1, "y": 1}),
    ([2, 1, 2, 1, 2, 3, 3], {1: 1, 2: 2, 3: 0}),
    ([0] * 7, {0: 3}),
])
def test_list_holds_every_arrangement_once(block, counts):
    """The list equals plain enumeration, whatever the chunk."""
    rows = np.vstack(list(all_arrangements(layout_of(block, counts), chunk=4)))
    assert len(rows) == layout_of(block, counts).count
    assert {tuple(bool(x) for x in r) for r in rows} == plain_list(block, counts)


def test_count_never_overflows():
    """Two hundred pairs give 2^200, to the last digit."""
    assert layout_of(np.repeat(np.arange(200), 2), 1).count == 2**200


def test_too_many_to_list_is_refused():
    """Listing 2^200 arrangements is refused with the way out."""
    with pytest.raises(InputError, match="draw_arrangements"):
        next(all_arrangements(layout_of(np.repeat(np.arange(200), 2), 1)))


def test_draws_are_allowed_and_equally_likely():
    """Each of the six arrangements of a pair and a three comes up as often as chance allows."""
    block = ["p", "p", "q", "q", "q"]
    counts = {"p": 1, "q": 2}
    draws = draw_arrangements(block, counts, 12_000, seed=5)
    seen = {}
    for row in draws:
        seen[tuple(row)] = seen.get(tuple(row), 0) + 1
    assert len(seen) == 6
    chi = sum((n - 2000) ** 2 / 2000 for n in seen.values())
    assert chi < 20.5  # chi-square, 5 degrees of freedom, 0.1 %


def test_deal_repeats_with_its_seed():
    """The same seed deals the same way; the counts are kept."""
    block = np.repeat(np.arange(6), 3)
    first, again, other = deal(block, seed=1), deal(block, seed=1), deal(block, seed=2)
    assert (first == again).all()
    assert (first != other).any()
    assert layout_dealt(block, first).n_b == tuple(even_counts(block).values())


def test_odd_blocks_take_turns():
    """Blocks of three give B one, then two, so that the totals balance."""
    assert list(even_counts(np.repeat(np.arange(4), 3)).values()) == [1, 2, 1, 2]


@pytest.mark.parametrize(("pairs", "p"), [(5, .0625), (6, .03125), (7, .015625), (8, .0078125), (10, .001953125)])
def test_least_p_of_pairs(pairs, p):
    """2 / 2^n for n pairs."""
    assert layout_of(np.repeat(np.arange(pairs), 2), 1).least_p == p


def test_least_p_of_ten_and_eight_reeds_in_one_block():
    """Ten reeds 5 v 5: 2/252; 4 v 4: 2/70; 3 v 4: 2/35, by hand."""
    assert layout_of([0] * 10, 5).least_p == 2 / 252
    assert round(layout_of([0] * 8, 4).least_p, 3) == .029
    assert round(layout_of([0] * 7, 3).least_p, 3) == .057


def test_least_p_of_a_single_arrangement_is_one():
    """Nothing can be reshuffled, so nothing can be told."""
    assert layout_of(["x", "y"], {"x": 1, "y": 0}).least_p == 1


@pytest.mark.parametrize(("block", "counts"), [
    ([0, 0, 0], {0: 1}), ([0, 0, 0, 1, 1], {0: 2, 1: 1}), ([0, 1], {0: 1, 1: 0}), ([0] * 5, {0: 4})])
def test_least_p_is_reached_and_never_beaten(block, counts):
    """Over many outcomes, ties included, the smallest p by plain counting is the stated one."""
    rng = np.random.default_rng(3)
    ways = sorted(plain_list(block, counts))
    best = 1.0
    for trial in range(300):
        y = rng.integers(0, 4, len(block)) if trial % 2 else rng.normal(size=len(block))
        sums = [math.fsum(y[i] for i in range(len(block)) if a[i]) for a in ways]
        for s in sums:
            high = sum(x >= s - 1e-9 for x in sums) / len(sums)
            low = sum(x <= s + 1e-9 for x in sums) / len(sums)
            best = min(best, 2 * min(high, low))
    assert layout_of(block, counts).least_p == pytest.approx(best)


def test_faults_are_named_together():
    """A count that does not fit and a block without one are both named."""
    with pytest.raises(InputError, match=r"'x' has 2 units.*'y' has no count"):
        layout_of(["x", "x", "y"], {"x": 3})
    with pytest.raises(InputError, match="row 2"):
        layout_of(["x", None], 1)


@pytest.mark.parametrize("k", [0, 1, 2])
def test_draws_of_pairs_give_each_pair_its_own_count(k):
    """A pair may be dealt both of one way; only one of each takes a coin."""
    draws = draw_arrangements(["p", "p", "q", "q", "q"], {"p": k, "q": 1}, 400, seed=3)
    assert set(draws[:, :2].sum(axis=1)) == {k}
    assert set(draws[:, 2:].sum(axis=1)) == {1}
    assert (len({tuple(row) for row in draws[:, :2]}) == 2) == (k == 1)
