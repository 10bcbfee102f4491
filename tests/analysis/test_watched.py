"""Lives read only as far as either habit could have been seen: exact at the true ratio, and against the slow way."""

import itertools
import math

import numpy as np
import pytest

from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.units.life_values import watched_hours
from reedlab.errors import InputError
from tests.analysis.shuffling.test_lives import slow_scores, small_lives


def slow_watched(hours, worn, is_b, block, limit, level):
    """p at 1, and the range: cut off, score, count and take deviations by the definitions, at and between ratios."""
    n = len(hours)
    groups = [[i for i in range(n) if block[i] == b] for b in sorted(set(block))]
    seen = {i for i in range(n) if is_b[i]}
    ways = [set(itertools.chain(*w)) for w in itertools.product(
        *[itertools.combinations(g, sum(is_b[i] for i in g)) for g in groups])]

    def at(ratio):
        times, flags = [], []
        for i in range(n):
            t, end = hours[i] / (ratio if is_b[i] else 1), limit[i] * min(1, 1 / ratio)
            cut = t > end * (1 + 1e-10)
            times.append(end if cut else t)
            flags.append(worn[i] and not cut)
        s = slow_scores(times, flags)
        sums = [sum(s[i] for i in w) for w in ways]
        mean = sum(sums) / len(sums)
        spread = math.sqrt(sum((x - mean) ** 2 for x in sums) / len(sums))
        t = sum(s[i] for i in seen)
        p = min(sum(x >= t - 1e-9 for x in sums), sum(x <= t + 1e-9 for x in sums)) / len(sums)
        return 2 * p, (t - mean) / spread if spread > 1e-6 else 0.0

    raw = [hours[j] / hours[i] for i in range(n) for j in range(n) if is_b[j] and not is_b[i]]
    raw += [x for i in range(n) for c in limit if worn[i]
            for x in ([c / hours[i]] if not is_b[i] else [hours[i] / c]) if (x >= 1) != bool(is_b[i]) or x == 1]
    critical = []
    for c in sorted(raw):
        if not critical or c > critical[-1] * (1 + 1e-10):
            critical.append(c)
    spots = [(critical[0] / 3, 0.0, critical[0])]
    for k, c in enumerate(critical):
        after = critical[k + 1] if k + 1 < len(critical) else math.inf
        spots += [(c, c, c), (c * 3 if after == math.inf else math.sqrt(c * after), c, after)]
    found = [at(r) for r, _, _ in spots]
    z = [x for _, x in found]
    first = next(i for i in range(len(z)) if z[i] <= min(z) + 1e-9)
    last = next(i for i in reversed(range(len(z))) if z[i] >= max(z) - 1e-9)
    if first > last:
        first, last = 0, len(z) - 1
    first, last = first - first % 2, last + last % 2
    kept = [i for i in range(first, last + 1) if found[i][0] > 1 - level + 1e-12]
    if not kept:
        return math.nan, math.nan
    return (0.0 if kept[0] == first else spots[kept[0]][1]), (math.inf if kept[-1] == last else spots[kept[-1]][2])


def test_the_range_equals_the_slow_way():
    """On 60 designs with one common end, with ends of their own, and with reeds lost sooner."""
    rng = np.random.default_rng(31)
    for k in range(60):
        hours, worn, arm, block = small_lives(rng)
        if k % 3 == 0:
            end = np.full(len(hours), float(np.quantile(hours, .6)))
        else:
            end = hours.max() * rng.uniform(.5, 1.2, len(hours)).round(2)
        worn = worn & (hours <= end) if k % 2 else hours <= end
        hours = np.minimum(hours, end)
        if not worn.any():
            continue
        level = (.95, .8, .6)[k % 3]
        got = compare_lives(hours, worn, arm, block, level=level, watched=end)
        low, high = slow_watched(list(hours), list(worn), list(arm == 1), list(block), list(end), level)
        if got.p_value > 1 - level + 1e-12:  # 1 is in its own set
            low, high = min(low, 1.0), max(high, 1.0)
        assert (got.low, got.high) == pytest.approx((low, high), nan_ok=True), k


@pytest.mark.parametrize("ratio", [1.7, .6])
@pytest.mark.parametrize("common", [True, False])
def test_at_the_true_ratio_the_scores_know_nothing_of_the_deal(ratio, common):
    """Whatever the deal, the same lives give the same scores: at most a fifth of all deals reject at 0.2."""
    rng = np.random.default_rng(32)
    life = rng.weibull(2, 8) * 15 + .1
    end = np.full(8, 22.0) if common else rng.uniform(10, 25, 8)
    rejected, ways = 0, list(itertools.combinations(range(8), 4))
    for chosen in ways:
        is_b = np.isin(np.arange(8), chosen)
        lived = life * np.where(is_b, ratio, 1)
        if not (lived <= end).any():
            continue
        # the margin is the true ratio, so the one-sided p at it is that of the truth
        got = compare_lives(np.minimum(lived, end), lived <= end, is_b, matters=max(ratio, 1 / ratio), watched=end)
        rejected += (got.p_below if ratio > 1 else got.p_above) <= .2 + 1e-12
    assert 0 < rejected <= .2 * len(ways)


def test_it_changes_neither_p_nor_an_end_that_never_comes():
    """p and the one ratio where nothing is cut off stay; without any end the range is the plain one."""
    rng = np.random.default_rng(33)
    for _ in range(20):
        hours, worn, arm, block = small_lives(rng)
        plain = compare_lives(hours, worn, arm, block)
        cut = compare_lives(hours, worn, arm, block, watched=np.full(len(hours), hours.max()))
        assert cut.p_value == plain.p_value
        assert cut.reachable_p == plain.reachable_p
        never = compare_lives(hours, worn, arm, block, watched=np.full(len(hours), np.inf), level=.6)
        assert never.p_value == plain.p_value


def test_equal_watching_gives_narrower_ranges():
    """Forty reeds watched for 15 hours: the range is narrower in nearly every trial and still holds the ratio."""
    rng = np.random.default_rng(34)
    arm, narrower, holds = np.tile([0, 1], 20), 0, 0
    for _ in range(20):
        life = rng.weibull(2, 40) * 18 * (1 + .3 * arm)
        data = np.minimum(life, 15), life <= 15, arm
        plain, cut = compare_lives(*data), compare_lives(*data, watched=np.full(40, 15.0))
        narrower += cut.high - cut.low < plain.high - plain.low or cut.high < plain.high == np.inf
        holds += cut.low <= 1.3 <= cut.high
    assert narrower >= 18
    assert holds >= 17


def test_hours_beyond_the_watching_are_refused():
    """No unit is seen for longer than it was watched; lengths must fit."""
    with pytest.raises(InputError, match="`watched` is below `hours` at row 2"):
        compare_lives([3, 9, 4, 5], [1, 1, 1, 1], list("abab"), watched=[8, 8, 8, None])
    with pytest.raises(InputError, match="`watched` has 1 values for 4 units"):
        compare_lives([3, 9, 4, 5], [1, 1, 1, 1], list("abab"), watched=[8])


def test_who_would_have_been_watched_how_long():
    """As the longest mate still going; as all where none is left; up to the cap; without end where all are done."""
    hours = np.array([[5.0, 9.0, 8.0, 4.0, 12.0, 6.0]])
    going = np.array([[False, True, True, False, False, False]])
    sets = list("aaabbb")
    assert watched_hours(hours, going, sets, same_days=True, cap_hours=None)[0] == pytest.approx([9, 9, 8, 9, 12, 9])
    assert watched_hours(hours, going, sets, same_days=True, cap_hours=10)[0] == pytest.approx([9, 9, 8, 9, 12, 9])
    assert watched_hours(hours, going, sets, same_days=False, cap_hours=12)[0] == pytest.approx([12, 9, 8, 12, 12, 12])
    assert watched_hours(hours, going, sets, same_days=False, cap_hours=None) is None
    far = np.where(np.arange(6) == 2, 5.5, hours)  # 9 and 5.5 hours in one set: not watched alike
    assert np.isinf(watched_hours(far, going, sets, same_days=True, cap_hours=None)).all()
    assert np.isinf(watched_hours(hours, ~going & False, sets, same_days=True, cap_hours=None)).all()
