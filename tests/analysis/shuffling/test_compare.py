"""`compare` against published values and against plain counting."""

import itertools
import math
import time

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from reedlab.analysis.shuffling.compare import compare
from reedlab.errors import InputError

# Darwin's maize, differences in eighths of an inch: Fisher, The Design of Experiments, 1935
DARWIN = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48], dtype=float)
# Student 1908, extra sleep in hours with two drugs; R `sleep` help page
SLEEP_1 = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
SLEEP_2 = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])


def pairs(a, b):
    """Stack pairs as outcome, arm, block."""
    n = len(a)
    return np.r_[a, b], np.repeat(["a", "b"], n), np.r_[np.arange(n), np.arange(n)]


def slow(y, arm, block, level=.95):
    """Everything the slow way: list, statistic as written in the definition, p at and between critical d's."""
    y, is_b = list(y), [x == max(arm) for x in arm]
    groups = [[i for i in range(len(y)) if block[i] == b] for b in sorted(set(block))]
    groups = [g for g in groups if 0 < sum(is_b[i] for i in g) < len(g)]
    ways = [set(itertools.chain(*w)) for w in itertools.product(
        *[itertools.combinations(g, sum(is_b[i] for i in g)) for g in groups])]
    seen = {i for g in groups for i in g if is_b[i]}
    units = [i for g in groups for i in g]

    def weighted(values, chosen):
        """The statistic of values (d, n) at each of so many arrangements (w, n), (d, w), and the sum of weights."""
        top = bottom = 0.0
        for g in groups:
            inb = chosen[:, g].astype(float)
            n_b = int(inb[0].sum())
            w = n_b * (len(g) - n_b) / len(g)
            top = top + w * (values[:, g] @ inb.T / n_b - values[:, g] @ (1 - inb).T / (len(g) - n_b))
            bottom += w
        return top, bottom

    tol = 1e-9 * max(1.0, sum(abs(y[i]) for i in units))
    flags = np.array([[i in w for i in range(len(y))] for w in (seen, *ways)])

    def p(ds):
        z = np.array(y) - np.outer(ds, flags[0])
        t, all_t = (weighted(z, x)[0] for x in (flags[:1], flags[1:]))
        return np.minimum(1.0, 2 * np.minimum((all_t >= t - tol).mean(axis=1), (all_t <= t + tol).mean(axis=1)))

    critical = []
    for w in ways:
        moved = len(seen - w)
        if moved:
            critical.append((sum(y[i] for i in seen) - sum(y[i] for i in w)) / moved)
    critical = sorted(set(critical))
    at = []
    for i, c in enumerate(critical):
        at += [(c, c, c)]
        if i + 1 < len(critical):
            at += [((c + critical[i + 1]) / 2, c, critical[i + 1])]
    at = [(critical[0] - 1, -math.inf, critical[0]), *at, (critical[-1] + 1, critical[-1], math.inf)]
    p_at = p([d for d, _, _ in at])
    kept = [(lo, hi) for (_, lo, hi), x in zip(at, p_at, strict=True) if x > 1 - level + 1e-12]
    top, bottom = weighted(np.array([y]), flags[:1])
    return top.item() / bottom, p([0.0])[0], 2 / len(ways), min(k[0] for k in kept), max(k[1] for k in kept), len(ways)


def small_design(rng):
    """A random design with unequal blocks, up to 200 arrangements, with ties."""
    while True:
        sizes = rng.integers(2, 6, rng.integers(1, 5))
        arm = np.concatenate([rng.permutation([0] * (k := rng.integers(1, s)) + [1] * (s - k)) for s in sizes])
        block = np.repeat(np.arange(len(sizes)), sizes)
        ways = math.prod(math.comb(s, int(arm[block == b].sum())) for b, s in enumerate(sizes))
        if 2 < ways <= 200:
            break
    y = rng.integers(0, 11, arm.size).astype(float) if rng.random() < .7 else rng.normal(5, 2, arm.size)
    mix = rng.permutation(arm.size)
    return y[mix], arm[mix], block[mix]


def test_equals_plain_counting_on_200_designs():
    """Estimate, p, least p and both ends agree with the slow way on 200 unequal designs with ties."""
    rng = np.random.default_rng(2024)
    for k in range(200):
        y, arm, block = small_design(rng)
        level = (.95, .9, .8, .5)[k % 4]  # wide and narrow ranges, some without ends
        got = compare(y, arm, block, level=level)
        want = slow(y, arm, block, level)
        assert (got.estimate, got.p_value, got.least_p) == pytest.approx(want[:3])
        assert (got.low, got.high) == pytest.approx(want[3:5], abs=1e-9)
        assert got.arrangements == want[5]
        assert got.exact


def test_maize_two_sided_p_and_one_sided_p():
    """1726/32768 two-sided, 863/32768 one-sided (Fisher 1935; p from memory, recomputed by enumeration)."""
    got = compare(*pairs(np.zeros(15), DARWIN), matters=1e-12)
    assert got.p_value == 1726 / 32768
    # at a vanishing margin the one-sided p for "above it" is the one-sided p of no difference
    assert got.p_above == 863 / 32768
    assert stats.ttest_1samp(DARWIN, 0).statistic == pytest.approx(2.148, abs=5e-4)  # the same data
    assert not got.low > 0


def test_sleep_exact_p():
    """4/1024 for Student's ten pairs; the t interval stands close by (R `sleep` help page)."""
    got = compare(*pairs(SLEEP_2, SLEEP_1))
    assert got.p_value == 4 / 1024
    assert got.estimate == pytest.approx(-1.58)
    assert stats.ttest_rel(SLEEP_1, SLEEP_2).statistic == pytest.approx(-4.0621, abs=1e-4)
    assert (got.low, got.high) == pytest.approx((-2.46, -0.70), abs=.3)


def test_three_blocks_of_four():
    """p = 14/216 (R coin, `oneway_test(y ~ a | b, distribution = "exact")`)."""
    y = [5, 7, 6, 9, 4, 8, 7, 7, 6, 3, 5, 9]
    got = compare(y, [0, 0, 1, 1, 0, 1, 1, 0, 1, 0, 0, 1], np.repeat([1, 2, 3], 4))
    assert got.p_value == pytest.approx(14 / 216, abs=1e-15)


@pytest.mark.parametrize(("n", "p"), [(5, .0625), (6, .03125), (7, .015625), (8, .0078125), (10, .001953125)])
def test_clear_pairs_reach_the_least_p(n, p):
    """n pairs that all go one way give 2/2^n (table of 2/2^n)."""
    got = compare(*pairs(np.arange(n), np.arange(n) + 1.0 + np.arange(n)))
    assert got.p_value == got.least_p == p
    assert got.low == (-np.inf if p > .05 else pytest.approx(got.low))


def test_swapping_labels_mirrors():
    """With the labels swapped every number changes its sign and every name its side."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        y, arm, block = small_design(rng)
        one, two = compare(y, arm, block, matters=2.0), compare(y, 1 - arm, block, matters=2.0)
        assert two.p_value == one.p_value
        assert (two.estimate, two.low, two.high, two.low90, two.high90) == pytest.approx(
            (-one.estimate, -one.high, -one.low, -one.high90, -one.low90))
        assert (two.p_above, two.p_below) == (one.p_below, one.p_above)
        mirror = {"a_better": "b_better", "b_better": "a_better"}
        assert two.verdict == mirror.get(one.verdict, one.verdict)


def test_adding_a_constant_changes_nothing():
    """Ratings shifted by 1000 give the same answer."""
    rng = np.random.default_rng(8)
    for _ in range(20):
        y, arm, block = small_design(rng)
        one, two = compare(y, arm, block), compare(y + 1000, arm, block)
        assert two.p_value == one.p_value
        assert (two.estimate, two.low, two.high) == pytest.approx((one.estimate, one.low, one.high), abs=1e-8)


def test_minutes_scale_only_the_unit():
    """Sixty times the numbers give sixty times the range and the same p."""
    y, arm, block = small_design(np.random.default_rng(9))
    one, two = compare(y, arm, block), compare(60 * y, arm, block)
    assert two.p_value == one.p_value
    assert (two.low, two.high) == pytest.approx((60 * one.low, 60 * one.high))


def test_missing_row_equals_empty_value():
    """A unit left out and a unit with nan give equal answers, whether or not its block survives."""
    rng = np.random.default_rng(10)
    for _ in range(40):
        y, arm, block = small_design(rng)
        gone = rng.random(y.size) < .25
        if len(set(arm[~gone])) < 2:
            continue
        blank = np.where(gone, np.nan, y)
        assert str(compare(blank, arm, block).__dict__) == str(
            compare(y[~gone], arm[~gone], block[~gone]).__dict__)


def test_block_that_lost_an_arm_leaves_whole():
    """The other unit of a broken pair no longer counts, and the block is named."""
    got = compare([1, 2, 3, np.nan, 4, 6], list("ababab"), ["p1", "p1", "p2", "p2", "p3", "p3"])
    assert (got.blocks_used, got.blocks_dropped, got.dropped, got.units) == (2, 1, ("p2",), (2, 2))
    assert got.estimate == 1.5


def test_nothing_left_says_so():
    """Where the data ran out p is 1, there is no estimate and no verdict."""
    got = compare([1, np.nan, np.nan, 3], list("abab"), [1, 1, 2, 2], matters=1)
    assert math.isnan(got.estimate)
    assert (got.p_value, got.low, got.high, got.verdict) == (1, -np.inf, np.inf, "cannot_tell")


def test_all_alike_gives_p_one_and_a_point_range():
    """Equal outcomes: p 1 and nothing but zero is left by the steps."""
    got = compare([5.0] * 16, [0, 1] * 8, np.repeat(np.arange(8), 2))
    assert (got.p_value, got.estimate, got.low, got.high) == (1, 0, 0, 0)


def test_constant_gap_is_found_exactly():
    """A gap of exactly 2 in every pair is the whole range."""
    base = np.arange(8) * .1
    got = compare(*pairs(base, base + 2))
    assert (got.estimate, got.low, got.high) == pytest.approx((2, 2, 2))


def test_range_and_p_agree():
    """Zero lies in the closed range exactly where p is above 1 − level."""
    rng = np.random.default_rng(11)
    for _ in range(200):
        y, arm, block = small_design(rng)
        for level in (.8, .9, .95):
            got = compare(y, arm, block, level=level)
            assert (got.low <= 0 <= got.high) == (got.p_value > 1 - level + 1e-12)


@pytest.mark.parametrize(("gap", "spread", "want"), [
    (0.0, .1, "no_real_difference"), (3.0, .1, "b_better"), (-3.0, .1, "a_better"), (.5, 6.0, "cannot_tell"),
    (.5, .1, "no_real_difference")])
def test_verdicts(gap, spread, want):
    """Sameness comes first, even where the range excludes no difference; then a winner; else can't tell."""
    rng = np.random.default_rng(12)
    got = compare(*pairs(np.zeros(10), gap + spread * rng.uniform(-1, 1, 10)), matters=1.0)
    assert got.verdict == want
    if gap == .5 and want == "no_real_difference":
        assert got.p_value < .05


def test_sameness_needs_the_90_range_inside_the_margin():
    """The verdict agrees with the 90 % range lying inside the margin."""
    rng = np.random.default_rng(13)
    seen = set()
    for _ in range(150):
        y, arm, block = pairs(np.zeros(7), rng.normal(0, .6, 7))
        got = compare(y, arm, block, matters=.5)
        inside = got.low90 > -.5 and got.high90 < .5
        seen.add(inside)
        assert (got.verdict == "no_real_difference") == inside
    assert seen == {True, False}


def test_sampled_path_is_near_the_exact_one_and_repeats():
    """24 pairs are sampled: p and range near those of the exact test on a normal scale, and repeatable."""
    rng = np.random.default_rng(14)
    y, arm, block = pairs(np.zeros(24), rng.normal(.5, 1, 24))
    got, again = compare(y, arm, block), compare(y, arm, block)
    assert not got.exact
    assert got.arrangements == 2**24
    assert got == again
    assert compare(y, arm, block, seed=1).p_value == pytest.approx(got.p_value, abs=.005)
    assert (round(got.p_value * 100_001) % 2, got.p_value > 0) == (0, True)  # 2 (k + 1)/(m + 1)


def test_eighteen_pairs_are_quick():
    """18 pairs with both ranges: under 50 ms on a quiet machine; 150 ms is allowed here."""
    y, arm, block = pairs(np.zeros(18), np.random.default_rng(15).normal(size=18))
    took = []
    for _ in range(5):
        start = time.process_time()
        got = compare(y, arm, block, matters=1)
        took.append(time.process_time() - start)
    assert got.arrangements == 2**18
    assert min(took) < .150


def test_two_to_the_twenty_is_exact():
    """Twenty pairs are all counted, within a second or two."""
    y, arm, block = pairs(np.zeros(20), np.random.default_rng(16).normal(size=20))
    assert compare(y, arm, block).exact


def test_takes_columns_of_a_frame():
    """Columns with their own index, words as arms, missing values of pandas."""
    frame = pd.DataFrame({"y": pd.array([1, 2, None, 4, 5, 7], dtype="Float64"), "arm": list("ababab"),
                          "block": [1, 1, 2, 2, 3, 3]}, index=[9, 8, 7, 6, 5, 4])
    frame["arm"] = frame["arm"].astype("category")
    got = compare(frame["y"], frame["arm"], frame["block"])
    assert (got.estimate, got.blocks_used, got.labels) == (1.5, 2, ("a", "b"))


def test_faults_are_all_named_at_once():
    """Words for numbers, three labels, a short block column and odd options are all named."""
    with pytest.raises(InputError) as err:
        compare([1, "two", 3, np.inf], ["a", "b", "c", None], [1, 1], level=2, matters=-1, seed=-1)
    text = str(err.value)
    for part in ("`outcome` holds 'two' at row 2", "at row 4", "`arm` is empty at row 4", "got 3 ('a', 'b', 'c')",
                 "`block` has 2 values", "`level` is 2", "`matters` is -1", "`seed` is -1"):
        assert part in text


@pytest.mark.parametrize("arm", [["a", "a"], [], ["a", 1]])
def test_arms_that_are_not_two_labels_are_refused(arm):
    """One label, none, or a mix of kinds is refused, naming `arm`."""
    with pytest.raises(InputError, match="`arm`"):
        compare([1.0] * len(arm), arm)


@pytest.mark.parametrize("bad", [5, [[1, 2], [3, 4]], np.ones((2, 2)), [1, [2]], [pd.Timestamp("2024-01-01"), 1]])
def test_things_that_are_no_column_are_refused(bad):
    """A single value, a table, a ragged list or dates are refused in words, as `outcome`, `arm` or `block`."""
    with pytest.raises(InputError, match="`outcome`"):
        compare(bad, ["a", "b"])
    with pytest.raises(InputError, match="`arm`"):
        compare([1, 2], bad if not isinstance(bad, list) or isinstance(bad[-1], list) else [1, 2, 3])


def test_shows_itself_in_plain_words():
    """The printed form names the labels, the range and what was left out."""
    got = compare([1, 2, 3, np.nan], ["dry", "wet"] * 2, [1, 1, 2, 2], matters=1)
    assert "wet minus dry" in repr(got)
    assert "left out 1" in repr(got)
    assert "cannot_tell" in repr(got)
