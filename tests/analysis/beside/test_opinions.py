"""Second opinions against their libraries and published data."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from reedlab.analysis.beside.opinions import difference_opinions, lives_opinions
from reedlab.analysis.units.blind import Cells
from reedlab.analysis.units.life_values import Lives
from reedlab.analysis.units.unit_values import UnitValues


def values(y, blocks) -> UnitValues:
    y = np.asarray(y, dtype=float)
    n = len(y)
    ints, floats = np.arange(n), np.zeros(n)
    cells = Cells(ints, ints, y, ints * 0 + 1, floats, floats, floats)
    return UnitValues("mean_rating", tuple(f"u{i}" for i in range(n)), tuple(blocks), cells, ints, np.eye(n),
                      np.ones(n), np.isfinite(y), y)


def lives(hours, worn) -> Lives:
    n = len(hours)
    worn = np.asarray(worn, dtype=bool)
    return Lives("life_hours", tuple(f"u{i}" for i in range(n)), ("a",) * n, np.asarray(hours, float), worn,
                 np.zeros(n, bool), ("still_going",) * n, worn, (), ())


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
