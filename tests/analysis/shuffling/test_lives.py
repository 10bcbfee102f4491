"""`compare_lives` against a slow second implementation and the behaviour it promises."""

import itertools
import math
import time

import numpy as np
import pytest

from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.life_ratios import LifeRatios
from reedlab.analysis.shuffling.life_scores import critical_ratios, evaluation_points, scores
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.errors import InputError
from reedlab.trial.dealing import draw_arrangements


def slow_scores(times, worn):
    """Score by the definition, with a relative tolerance for equal times."""
    same = lambda a, b: abs(a - b) <= 1e-10 * max(a, b)  # noqa: E731
    distinct = []
    for t, w in zip(times, worn, strict=True):
        if w and not any(same(t, x) for x in distinct):
            distinct.append(t)
    out = []
    for t, w in zip(times, worn, strict=True):
        total = float(w)
        for x in distinct:
            if x < t or same(x, t):
                d = sum(1 for s, v in zip(times, worn, strict=True) if v and same(s, x))
                n = sum(1 for s in times if s > x or same(s, x))
                total -= d / n
        out.append(total)
    return out


def slow(hours, worn, is_b, block, level, matters):
    """p, ratio and hull by listing everything at and between all t_B / t_A."""
    n = len(hours)
    groups = [[i for i in range(n) if block[i] == b] for b in sorted(set(block))]
    groups = [g for g in groups if 0 < sum(is_b[i] for i in g) < len(g)]
    units = sorted(i for g in groups for i in g)
    seen = {i for i in units if is_b[i]}
    ways = [set(itertools.chain(*w)) for w in itertools.product(
        *[itertools.combinations(g, sum(is_b[i] for i in g)) for g in groups])]

    def at(ratio):
        s = dict(zip(units, slow_scores([hours[i] / (ratio if is_b[i] else 1) for i in units],
                                        [worn[i] for i in units]), strict=True))
        t = sum(s[i] for i in seen)
        sums = [sum(s[i] for i in w) for w in ways]
        tol = 1e-9 * max(1.0, sum(map(abs, s.values())))
        return (sum(x >= t - tol for x in sums) / len(sums), sum(x <= t + tol for x in sums) / len(sums),
                t - sum(sums) / len(sums))

    raw = sorted(hours[j] / hours[i] for i in units for j in units if is_b[j] and not is_b[i])
    critical = [c for k, c in enumerate(raw) if k == 0 or c > raw[k - 1] * (1 + 1e-10)]
    spots = [(c, c, c) for c in critical]
    spots += [((a + b) / 2, a, b) for a, b in itertools.pairwise(critical)]
    spots += [(critical[0] / 3, 0.0, critical[0]), (critical[-1] * 3, critical[-1], math.inf)]
    seen_at = [(at(r), lo, hi) for r, lo, hi in spots]
    kept = [(lo, hi) for (u, v, _), lo, hi in seen_at if 2 * min(u, v) > 1 - level + 1e-12]
    below = [hi for (_, _, x), lo, hi in seen_at if x < -1e-9]
    above = [lo for (_, _, x), lo, hi in seen_at if x > 1e-9]
    a, b = max(below, default=0.0), min(above, default=math.inf)
    ratio = math.sqrt(a * b) if a and b < math.inf else math.nan if not a and b == math.inf else (b if a else 0.0)
    u, v, _ = at(1.0)
    return {"p_value": min(1.0, 2 * min(u, v)), "ratio": ratio, "low": min(k[0] for k in kept),
            "high": max(k[1] for k in kept), "p_above": at(1 / matters)[1], "p_below": at(matters)[0],
            "least_p": min(1.0, 2 / len(ways)), "arrangements": len(ways)}


def small_lives(rng):
    """Random lives in unequal blocks, censored, with ties; up to 120 arrangements and 11 units."""
    while True:
        sizes = rng.integers(2, 7, rng.integers(1, 4))
        if sizes.sum() > 11:
            continue
        arm = np.concatenate([rng.permutation([0] * (k := rng.integers(1, s)) + [1] * (s - k)) for s in sizes])
        block = np.repeat(np.arange(len(sizes)), sizes)
        ways = math.prod(math.comb(s, int(arm[block == b].sum())) for b, s in enumerate(sizes))
        if 2 < ways <= 120:
            break
    hours = rng.integers(1, 13, arm.size) * .5 if rng.random() < .6 else rng.weibull(2, arm.size) * 15 + .1
    mix = rng.permutation(arm.size)
    return hours[mix], (rng.random(arm.size) < rng.choice([.3, .6, .9]))[mix], arm[mix], block[mix]


def test_equals_plain_counting_on_200_censored_designs():
    """p, ratio, both ends and both margins agree with the slow way on 200 designs with ties."""
    rng = np.random.default_rng(77)
    for k in range(200):
        hours, worn, arm, block = small_lives(rng)
        level = (.95, .8, .6)[k % 3]
        got = compare_lives(hours, worn, arm, block, level=level, matters=1.5)
        want = slow(list(hours), list(worn), list(arm == 1), list(block), level, 1.5)
        have = {name: getattr(got, name) for name in want}
        assert have == pytest.approx(want, nan_ok=True), (k, hours, worn, arm, block)


def test_scores_equal_the_definition_and_sum_to_zero():
    """Tied and censored lives score as the definition says; worked by hand for four reeds."""
    got = scores(np.log([[2.0, 4.0, 4.0, 9.0]]), np.array([True, True, False, True]))[0]
    assert got == pytest.approx([1 - 1 / 4, 1 - 1 / 4 - 1 / 3, -1 / 4 - 1 / 3, 1 - 1 / 4 - 1 / 3 - 1])
    assert got.sum() == pytest.approx(0)


def test_crossings_of_two_censored_lives_do_not_count():
    """Only a ratio where a worn-out life meets another one can change a score."""
    hours, worn = np.array([2.0, 3.0, 4.0, 9.0]), np.array([True, False, False, True])
    got = critical_ratios(hours, worn, np.array([False, False, True, True]))
    assert got == pytest.approx([2, 3, 4.5])
    assert len(evaluation_points(got)) == 7


def test_swapping_labels_mirrors():
    """With the labels swapped the ratio and its ends turn upside down, and the names change places."""
    rng = np.random.default_rng(5)
    mirror = {"a_better": "b_better", "b_better": "a_better"}
    for _ in range(60):
        hours, worn, arm, block = small_lives(rng)
        one = compare_lives(hours, worn, arm, block, level=.8, matters=2)
        two = compare_lives(hours, worn, 1 - arm, block, level=.8, matters=2)
        with np.errstate(divide="ignore"):
            want = 1 / np.array([one.ratio, one.high, one.low, one.high90, one.low90])
        assert [two.ratio, two.low, two.high, two.low90, two.high90] == pytest.approx(list(want), nan_ok=True)
        assert two.p_value == one.p_value
        assert two.events == one.events[::-1]
        assert two.verdict == mirror.get(one.verdict, one.verdict)


def test_minutes_change_nothing():
    """Minutes for hours leave the ratio, its ends and p as they are."""
    rng = np.random.default_rng(6)
    for _ in range(60):
        hours, worn, arm, block = small_lives(rng)
        one, two = compare_lives(hours, worn, arm, block), compare_lives(60 * hours, worn, arm, block)
        assert two.p_value == one.p_value
        assert (two.ratio, two.low, two.high) == pytest.approx((one.ratio, one.low, one.high), nan_ok=True)


@pytest.mark.parametrize("gap", ["nan hours", "zero hours", "status empty"])
def test_missing_row_equals_empty_value(gap):
    """A unit left out equals one with empty or zero hours or an empty status."""
    rng = np.random.default_rng(7)
    for _ in range(30):
        hours, worn, arm, block = small_lives(rng)
        gone = rng.random(hours.size) < .2
        if len(set(arm[~gone])) < 2:
            continue
        h, w = hours.copy(), worn.astype(object)
        if gap == "status empty":
            w[gone] = None
        else:
            h[gone] = np.nan if gap == "nan hours" else 0.0
        assert str(compare_lives(h, w, arm, block).__dict__) == str(
            compare_lives(hours[~gone], worn[~gone], arm[~gone], block[~gone]).__dict__)


def test_no_events_tell_nothing():
    """Nothing wore out: ratio nan, p 1, a range without ends."""
    got = compare_lives([5, 6, 7, 8], [False] * 4, list("abab"), matters=1.5)
    assert math.isnan(got.ratio)
    assert (got.p_value, got.low, got.high, got.verdict, got.events) == (1, 0, math.inf, "cannot_tell", (0, 0))


def test_nothing_left_tells_nothing():
    """Every block lost an arm: the same honest answer."""
    got = compare_lives([5, 0, 0, 8], [True] * 4, list("abab"), [1, 1, 2, 2], matters=1.5)
    assert math.isnan(got.ratio)
    assert (got.p_value, got.blocks_used, got.blocks_dropped, got.verdict) == (1, 0, 2, "cannot_tell")


def test_one_side_without_events_has_an_open_end():
    """All of A wore out and none of B: the ratio has no upper end."""
    got = compare_lives([3, 4, 5, 6, 20, 20, 20, 20], [True] * 4 + [False] * 4, list("aaaabbbb"), matters=1.2)
    assert got.ratio == math.inf
    assert got.high == math.inf
    assert got.low > 1
    assert got.verdict == "b_better"


def test_a_clear_ratio_is_found():
    """B's lives are exactly twice A's: the ratio is 2, whatever the rounding."""
    a = np.array([10.1, 11.3, 12.7, 13.9, 15.3, 16.1, 17.7, 19.9])
    got = compare_lives(np.r_[a, 2 * a], np.ones(16, dtype=bool), np.repeat(["a", "b"], 8), matters=1.1)
    assert got.ratio == pytest.approx(2)
    assert got.low <= 2 <= got.high
    assert got.verdict == "b_better"
    near = compare_lives(np.r_[a, 1.01 * a] * np.tile([1, 1.001], 8), np.ones(16, dtype=bool),
                         np.repeat(["a", "b"], 8), matters=4)
    assert near.verdict == "no_real_difference"


def test_ties_at_a_critical_ratio_survive_rounding():
    """A third and a tenth cannot be written exactly, yet their lives meet at the critical ratio."""
    hours, worn, arm = np.array([.1, .3, .7, .3, .9, 2.1]), np.ones(6, dtype=bool), np.repeat([0, 1], 3)
    one = compare_lives(hours, worn, arm, level=.5)
    whole = compare_lives(np.array([1, 3, 7, 3, 9, 21]), worn, arm, level=.5)
    assert (one.low, one.high, one.ratio, one.p_value) == pytest.approx(
        (whole.low, whole.high, whole.ratio, whole.p_value))
    assert one.ratio == pytest.approx(3)


def drawn_lives(rng, n):
    """Censored lives of n reeds, B's half as long again."""
    arm = np.tile([0, 1], n // 2)
    life, stop = rng.weibull(2, n) * 15 * (1 + .5 * arm) + .1, rng.uniform(5, 25, n)
    return np.minimum(life, stop).round(1) + .1, life <= stop, arm


@pytest.mark.parametrize("n", [18, 40, 44])
def test_screening_changes_no_answer(monkeypatch, n):
    """Where a few draws spare whole counts, the ends equal those of counting every step, exact or drawn."""
    rng = np.random.default_rng(9)
    for _ in range(2):
        data = (*drawn_lives(rng, n), np.repeat(np.arange(n // 2), 2) if n == 44 else None)
        with monkeypatch.context() as m:
            m.setattr("reedlab.analysis.shuffling.life_scan._ROUGH_FROM", 0)
            screened = compare_lives(*data)
        with monkeypatch.context() as m:
            m.setattr("reedlab.analysis.shuffling.life_scan._ROUGH_FROM", 10**9)
            plain = compare_lives(*data)
        assert str(screened.__dict__) == str(plain.__dict__)


@pytest.mark.parametrize("n", [20, 44, 60])
def test_narrowing_finds_the_ends_of_the_whole_set(monkeypatch, n):
    """Ends and ratio sought from a coarse grid equal those of looking at every ratio."""
    rng = np.random.default_rng(19)
    for k in range(4):
        hours, worn, arm = drawn_lives(rng, n)
        worn &= rng.random(n) < (.3 if k > 2 else 1)
        data = (hours, worn, arm, np.repeat([0, 1], n // 2) if k % 2 else None)
        whole = compare_lives(*data)
        with monkeypatch.context() as m:
            m.setattr("reedlab.analysis.shuffling.life_scan._WHOLE", 0)
            narrowed = compare_lives(*data)
        assert str(narrowed.__dict__) == str(whole.__dict__)


@pytest.mark.parametrize("shape", ["twins", "one block, most censored", "fours, whole hours", "three against the rest"])
def test_a_thousand_units_take_seconds(shape):
    """Range included; processor time, since the machine may be busy with other work."""
    rng = np.random.default_rng(20)
    hours, worn, arm = drawn_lives(rng, 1000)
    block = None
    if shape == "twins":
        hours, worn, arm, block = hours[:394], worn[:394], arm[:394], np.repeat(np.arange(197), 2)
    elif shape == "one block, most censored":
        worn &= rng.random(1000) < .1
    elif shape == "fours, whole hours":
        hours, block = np.ceil(hours), np.repeat(np.arange(250), 4)
    else:
        arm = (np.arange(1000) < 3).astype(int)
    start = time.process_time()
    got = compare_lives(hours, worn, arm, block, matters=1.5)
    assert time.process_time() - start < 20
    assert got.low <= got.ratio <= got.high


def test_twenty_reeds_in_one_block_take_about_a_second_or_less():
    """184,756 arrangements by some hundred ratios."""
    rng = np.random.default_rng(10)
    start = time.process_time()
    got = compare_lives(rng.weibull(2, 20) * 15 + .1, rng.random(20) < .7, np.tile([0, 1], 10), matters=1.5)
    assert time.process_time() - start < 3
    assert got.arrangements == 184_756


def test_large_plans_are_sampled_and_repeat():
    """Ten blocks of four (6^10 arrangements) are drawn, not counted; the same answer every time."""
    rng = np.random.default_rng(11)
    data = (rng.weibull(2, 40) * 15 + .1, rng.random(40) < .6, np.tile([0, 1], 20), np.repeat(np.arange(10), 4))
    one, two, other = compare_lives(*data), compare_lives(*data), compare_lives(*data, seed=3)
    assert not one.exact
    assert one == two
    assert other.p_value == pytest.approx(one.p_value, abs=.02)
    assert (other.low, other.high) == pytest.approx((one.low, one.high), rel=.1)


def test_many_at_once_each_have_their_own_answer():
    """Each row, dealt as it was, equals its own single test at ratio 1 and at both margins."""
    rng = np.random.default_rng(12)
    hours, worn = rng.integers(1, 20, (30, 12)).astype(float), rng.random((30, 12)) < .6
    for block in (np.repeat([0, 1, 2], 4), np.zeros(12, dtype=int)):
        is_b = draw_arrangements(block, {b: int((block == b).sum()) // 2 for b in np.unique(block)}, 30, 3)
        many = LifeRatios(hours, worn, Deals.whole(is_b, block))
        p = [2 * np.minimum(*many.tails(1.0)), many.tails(1 / 1.5)[0], many.tails(1.5)[1]]
        for i in range(30):
            one = compare_lives(hours[i], worn[i], is_b[i], block, matters=1.5)
            assert [min(1.0, x[i]) for x in p] == pytest.approx([one.p_value, one.p_above, one.p_below])


def test_above_the_limit_p_comes_from_a_fixed_draw_near_the_exact_one():
    rng = np.random.default_rng(13)
    hours, worn, is_b = rng.weibull(2, (40, 16)) * 15, rng.random((40, 16)) < .7, np.tile([False, True], 8)
    dealt = np.broadcast_to(is_b, hours.shape)
    exact, drawn = (np.minimum(1.0, 2 * np.minimum(*LifeRatios(hours, worn, Deals.whole(
        dealt, np.zeros(16), limit=limit, samples=20_000)).tails(1.0))) for limit in (2**22, 100))
    error = 4 * np.sqrt(exact * (2 - exact) / 20_000) + 2e-4
    assert (np.abs(exact - drawn) < error).all()


def test_faults_are_all_named_at_once():
    """Negative hours, odd status, one label and a margin below 1 are all named."""
    with pytest.raises(InputError) as err:
        compare_lives([1, -2, "x"], [True, "maybe", False], ["a", "a", "a"], matters=.5)
    for part in ("`hours` is below 0 at row 2", "`hours` holds 'x' at row 3", "`worn_out` holds 'maybe' at row 2",
                 "got 1 ('a')", "`matters` is 0.5"):
        assert part in str(err.value)
    with pytest.raises(InputError, match="`worn_out` has 1 values for 2 units"):
        compare_lives([1, 2], [True], ["a", "b"])


def test_shows_itself_in_plain_words():
    """The printed form names labels, range and worn-out counts."""
    text = repr(compare_lives([3, 4, 5, 6], [True, True, True, False], list("abab"), matters=1.5))
    assert "b over a" in text
    assert "worn out 2 v 1" in text
