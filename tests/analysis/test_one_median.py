"""One median life: the answer's and the second opinion's are the same number, and the published one."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from reedlab.analysis.beside.opinions import lives_opinions
from reedlab.analysis.units.life_values import Lives
from reedlab.analysis.verdicts.findings import read_lives

from ._players import by_reed
from .units.test_life_tables import DRUG, ENDED, KEPT, NOT_KEPT, WEEKS, columns


def medians(hours: np.ndarray, ended: np.ndarray, arms: np.ndarray) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the medians of the finding and those of the second opinion, A first."""
    n = len(hours)
    p = by_reed((n,), outcome="life_hours", slots=False)
    p = dataclasses.replace(p, dealt=tuple(p.habits["AB".index(a)].key for a in arms))
    lives = Lives("life_hours", tuple(u.unit for u in p.units), tuple(u.block for u in p.units), hours,
                  ended, np.zeros(n, bool), tuple("worn_out" if e else "still_going" for e in ended),
                  ended, (), ())
    found = read_lives(p, lives, reading="as_planned", level=0.95)
    beside = {q[-1]: v for m, q, v in lives_opinions(lives, found.used, arms) if m == "Kaplan-Meier"}
    assert found.finding.means is not None
    return found.finding.means, (beside["A"], beside["B"])


def same(one: float, two: float) -> bool:
    return one == two or (math.isnan(one) and math.isnan(two))


def test_random_sets_have_one_median() -> None:
    """Ties and censoring as they come; where the curve lies at one half, too."""
    rng = np.random.default_rng(12)
    for _ in range(200):
        n = int(rng.integers(4, 13))
        arms = rng.permutation(np.resize(["A", "B"], n))
        hours = rng.integers(1, 12, n).astype(float)
        one, two = medians(hours, rng.random(n) < 0.7, arms)
        assert all(same(x, y) for x, y in zip(one, two, strict=True)), (one, two)


def test_published_medians() -> None:
    """Remission of leukaemia 23 v 8 weeks (Gehan 1965); maintenance 31 v 23 weeks (Miller 1981)."""
    assert medians(WEEKS, ENDED, np.where(DRUG == "6-MP", "A", "B"))[0] == (23, 8)
    (t1, e1), (t2, e2) = columns(KEPT), columns(NOT_KEPT)
    arms = np.repeat(["A", "B"], [len(t1), len(t2)])
    assert medians(np.r_[t1, t2], np.r_[e1, e2], arms)[0] == pytest.approx((31, 23))
