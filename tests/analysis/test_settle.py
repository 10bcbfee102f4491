"""What would settle it, against the published sample sizes, and second opinions against their libraries."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from reedlab.analysis.blind import Cells
from reedlab.analysis.life_values import Lives
from reedlab.analysis.opinions import difference_opinions, lives_opinions
from reedlab.analysis.settle import settle_days, settle_lives, settle_reeds, spread_within
from reedlab.analysis.unit_values import UnitValues


def values(y, blocks) -> UnitValues:
    y = np.asarray(y, dtype=float)
    n = len(y)
    ints, floats = np.arange(n), np.zeros(n)
    cells = Cells(ints, ints, y, ints * 0 + 1, floats, floats, floats)
    return UnitValues("mean_rating", tuple(f"u{i}" for i in range(n)), tuple(blocks), cells, ints, np.eye(n),
                      np.ones(n), np.isfinite(y), y)


def test_spread_is_pooled_within_matched_sets() -> None:
    y = np.array([1.0, 3.0, 10.0, 10.0, 16.0, np.nan])
    want = math.sqrt((2 + 24) / 3)
    assert spread_within(y, ("a", "a", "b", "b", "b", "b")) == pytest.approx(want)
    assert math.isnan(spread_within(np.array([1.0]), ("a",)))


def test_days_wanted_are_those_of_cohens_34_pairs() -> None:
    """A gap of half the spread of pair gaps wants 33.367 pairs (Cohen 1988): 34 sets of two days are 68 days."""
    d = np.sqrt(2) * np.array([-1, 1] * 7)  # set gaps; unit spread within sets 2 / sqrt 2
    y = np.column_stack([np.zeros(14), d]).ravel()
    v = values(y, np.repeat([f"s{i}" for i in range(14)], 2))
    sd_gap = spread_within(v.values, v.blocks) * math.sqrt(2)
    s = settle_days(v, matters=0.5 * sd_gap, level=0.95, days=28, could_ever=True)
    assert (s.kind, s.have, s.need, s.weeks) == ("days", 28, 68, pytest.approx(68 / 7))


def test_reeds_wanted_are_those_of_the_two_group_t_test() -> None:
    """A gap of one standard deviation wants 16.71 a group (Cohen 1988, computed): 34 reeds."""
    v = values([0, 2, 0, 2, 0, 2, 0, 2], ["a"] * 8)
    sd = spread_within(v.values, v.blocks)
    s = settle_reeds(v, matters=sd, level=0.95, days=21, could_ever=True)
    assert (s.need, s.have) == (34, 8)
    assert s.weeks == pytest.approx(3 * 34 / 8)
    assert settle_reeds(v, matters=sd / 50, level=0.95, days=21, could_ever=True).need is None
    assert settle_reeds(v, matters=50 * sd, level=0.95, days=21, could_ever=True).need == 8


def lives(hours, worn) -> Lives:
    n = len(hours)
    worn = np.asarray(worn, dtype=bool)
    return Lives("life_hours", tuple(f"u{i}" for i in range(n)), ("a",) * n, np.asarray(hours, float), worn,
                 np.zeros(n, bool), ("still_going",) * n, worn, (), ())


def test_worn_out_reeds_wanted_are_schoenfelds() -> None:
    """Lives in the ratio sqrt 2 with shape 2 have hazards in the ratio 2: 65.35 events (Schoenfeld 1981)."""
    s = settle_lives(lives([10.0] * 20, [True] * 10 + [False] * 10), matters=math.sqrt(2), level=0.95, days=70,
                     could_ever=True)
    assert (s.kind, s.have, s.need) == ("worn_out", 10, 66)
    assert s.weeks == pytest.approx(66 * 20 / 20)  # 20 h of playing an event, 20 h a week


def test_too_many_weeks_are_not_asked_for() -> None:
    s = settle_lives(lives([0.1] * 4, [False] * 4), matters=1.2, level=0.95, days=70, could_ever=False)
    assert (s.need, s.weeks, s.could_ever) == (None, None, False)


def test_paired_opinions_on_the_published_sleep_data() -> None:
    """Student 1908, ten pairs: t 4.0621, p 0.002833, range 0.7001142 to 2.4598858 (R `sleep` help page)."""
    a = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
    b = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])
    v = values(np.r_[a, b], [f"p{i}" for i in range(10)] * 2)
    found = {(m, q): x for m, q, x in difference_opinions(v, np.ones(20, bool), np.array(["A"] * 10 + ["B"] * 10))}
    assert found["paired t", "t"] == pytest.approx(4.0621, abs=5e-5)
    assert found["paired t", "p"] == pytest.approx(0.002833, abs=5e-7)
    assert found["paired t", "low"] == pytest.approx(0.7001142, abs=5e-8)
    assert found["paired t", "high"] == pytest.approx(2.4598858, abs=5e-8)


def test_unpaired_opinions_are_welch_and_mann_whitney() -> None:
    rng = np.random.default_rng(0)
    a, b = rng.normal(6, 1, 7), rng.normal(7, 2, 5)
    v = values(np.r_[a, b], ["x"] * 12)
    found = {(m, q): x for m, q, x in difference_opinions(v, np.ones(12, bool), np.array(["A"] * 7 + ["B"] * 5))}
    assert found["Welch t", "p"] == pytest.approx(stats.ttest_ind(b, a, equal_var=False).pvalue)
    assert found["Mann-Whitney", "p"] == pytest.approx(stats.mannwhitneyu(a, b).pvalue)


def test_the_mixed_model_finds_a_gap_within_reeds() -> None:
    rng = np.random.default_rng(2)
    reed = np.repeat([f"1-{i}" for i in range(6)], 20)
    arm = np.tile(["A", "B"], 60)
    level = np.repeat(rng.normal(6, 1, 6), 20)
    points = pd.DataFrame({"reed": reed, "arm": arm, "hours": rng.uniform(0, 5, 120),
                           "rating": level + (arm == "B") * 1.0 + rng.normal(0, 0.3, 120)})
    v = values([6.0, 7.0], ["x", "x"])
    found = {(m, q): x for m, q, x in difference_opinions(v, np.ones(2, bool), np.array(["A", "B"]), points)}
    assert found["mixed model (level for each reed)", "gap"] == pytest.approx(1.0, abs=0.2)


def test_opinions_on_too_little_say_so() -> None:
    v = values([6.0, 6.0, np.nan], ["x", "x", "x"])
    found = difference_opinions(v, np.array([True, True, False]), np.array(["A", "B", "B"]))
    assert any("not defined" in q for _, q, _ in found)
    found = lives_opinions(lives([5.0, 6.0], [False, False]), np.ones(2, bool), np.array(["A", "B"]))
    assert any("not defined" in q for _, q, _ in found)
    assert lives_opinions(lives([5.0], [False]), np.zeros(1, bool), np.array(["A"]))
