"""Preferences in pairs against published numbers, and against plain enumeration."""

from __future__ import annotations

import itertools
import math

import pytest
from scipy import stats

from reedlab.analysis.beside.preferences import paired_preference, two_ac
from reedlab.errors import InputError


def test_the_paired_comparison_is_that_of_iso_5495() -> None:
    """ISO 5495:2005/Amd.1:2016, B.5.2: 32 of 44 (two-sided) and 21 of 30; figures as printed, cut or rounded there."""
    salty, crisp = paired_preference(32, 12), paired_preference(9, 21)
    errors = [(x.high - x.apart) / stats.norm.ppf(0.975) for x in (salty, crisp)]
    assert (round(salty.apart, 2), round(errors[0], 3), round(salty.low, 2)) == (0.45, 0.134, 0.19)
    assert salty.high == pytest.approx(0.71, abs=0.01)
    assert (round(crisp.apart, 1), round(errors[1], 3)) == (0.4, 0.167)
    assert crisp.apart - crisp.low == pytest.approx(crisp.high - crisp.apart)


@pytest.mark.parametrize(("first", "second"), [(10, 0), (7, 3), (5, 5), (12, 32), (1, 0)])
def test_its_p_counts_every_outcome_that_is_no_likelier(first: int, second: int) -> None:
    n = first + second
    ways = sum(math.comb(n, k) for k in range(n + 1) if math.comb(n, k) <= math.comb(n, first))
    assert paired_preference(first, second).p_value == pytest.approx(ways / 2**n)


def test_no_preference_is_read_as_the_published_example() -> None:
    """(2, 2, 6): vignette "twoACexamples" of the R package sensR 1.5-3 (Christensen, Lee and Brockhoff 2023)."""
    found = two_ac(2, 2, 6)
    assert (found.tau, found.d_prime) == pytest.approx((0.4159726, 0.7742595), abs=1e-7)
    assert (round(found.low, 3), round(found.high, 3)) == (-0.271, 1.859)
    assert found.p_value == pytest.approx(0.14798, abs=5e-6)
    assert stats.chi2.isf(found.p_value, 1) ** 0.5 == pytest.approx(1.446718, abs=1e-5)


def test_turned_round_it_says_the_same_of_the_other() -> None:
    one, other = two_ac(3, 5, 12), two_ac(12, 5, 3)
    assert (other.d_prime, other.low, other.high) == pytest.approx((-one.d_prime, -one.high, -one.low), abs=1e-6)
    assert (other.tau, other.p_value) == pytest.approx((one.tau, one.p_value), abs=1e-9)


def test_the_likelihood_is_that_of_a_fine_grid() -> None:
    """An independent search over both numbers: no better likelihood is found than at d' and tau, and the same range."""
    counts = (4, 3, 9)
    found = two_ac(*counts)

    def of(d: float, t: float) -> float:
        p = stats.norm.cdf([(-t - d) / 2**0.5, (t - d) / 2**0.5])
        return sum(k * math.log(q) for k, q in zip(counts, (p[0], p[1] - p[0], 1 - p[1]), strict=True))

    best = of(found.d_prime, found.tau)
    profile: dict[float, float] = {}
    for i, j in itertools.product(range(-20, 60), range(1, 60)):
        d, t = i / 20, j / 40
        profile[d] = max(profile.get(d, -math.inf), of(d, t))
    assert max(profile.values()) <= best
    inside = [d for d, y in profile.items() if 2 * (best - y) <= stats.chi2.ppf(0.95, 1) - 0.01]
    assert found.low - 1e-9 <= min(inside) <= found.low + 0.1
    assert found.high - 0.1 <= max(inside) <= found.high + 1e-9


def test_answers_at_an_end_leave_the_range_open() -> None:
    clear = two_ac(0, 2, 8)
    assert (clear.d_prime, clear.high) == (math.inf, math.inf)
    assert 0 < clear.low < 3
    forced = two_ac(3, 0, 9)  # without ties it is the plain choice of two: d' = √2 z(share)
    assert forced.tau == 0
    assert forced.d_prime == pytest.approx(2**0.5 * stats.norm.ppf(0.75))
    nothing = two_ac(0, 6, 0)
    assert (nothing.d_prime, nothing.low, nothing.high) == (0.0, -math.inf, math.inf)
    assert nothing.p_value > 0.99


def test_no_pair_is_no_preference() -> None:
    for counts in ((0, 0, 0), (-1, 2, 2)):
        with pytest.raises(InputError, match="Wanted counts of pairs"):
            two_ac(*counts)
    with pytest.raises(InputError, match="Wanted counts of pairs"):
        paired_preference(0, 0)
