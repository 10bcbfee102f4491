"""Preferences in pairs, read as sensory science reads them: they stand beside the answer and never decide it.

Both methods take every pair as an independent draw; only the reshuffle knows how the order was dealt.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ...errors import InputError
from ...wording import tr

__all__ = ["PairedPreference", "TwoAC", "paired_preference", "two_ac"]

_ROOT2: Final = math.sqrt(2.0)
_WIDEST: Final = 12.0  # d' beyond which a range is told as open


@dataclass(frozen=True)
class PairedPreference:
    """A paired comparison without a third answer.

    `p_value` is that of the two-sided exact binomial test. `apart` is the share of pairs told apart, 2·share - 1, in
    favour of the way preferred more often, with its normal range (ISO 5495).
    """

    p_value: float
    apart: float
    low: float
    high: float


@dataclass(frozen=True)
class TwoAC:
    """Thurstone's model of a paired comparison with "no preference".

    `d_prime` is how far the second lies above the first, in units of the spread of one impression; `tau` how large a
    difference must feel before it is said. The range and the p of "no difference" come from the likelihood.
    """

    d_prime: float
    tau: float
    low: float
    high: float
    p_value: float


def paired_preference(first: int, second: int) -> PairedPreference:
    """Read a paired comparison.

    Parameters
    ----------
    first, second : int
        Pairs in which the one and the other was preferred; those without a preference are left out.

    Raises
    ------
    InputError
        A count below 0, or no pair at all.

    Notes
    -----
    ISO 5495:2005, Sensory analysis - Methodology - Paired comparison test; range as in B.5.2 of Amendment 1:2016.
    """
    from scipy import stats

    _counts(first, second)
    n, most = first + second, max(first, second)
    share = most / n
    reach = float(stats.norm.ppf(0.5 + 0.95 / 2)) * (2 * math.sqrt(share * (1 - share) / n))
    apart = 2 * share - 1
    return PairedPreference(float(stats.binomtest(most, n).pvalue), apart, apart - reach, apart + reach)


def two_ac(first: int, none: int, second: int) -> TwoAC:
    """Read a paired comparison in which "no preference" was allowed.

    Parameters
    ----------
    first, none, second : int
        Pairs in which the first was preferred, neither, or the second.

    Returns
    -------
    TwoAC
        `d_prime` is infinite where one way was never preferred.

    Raises
    ------
    InputError
        A count below 0, or no pair at all.

    Notes
    -----
    P(first) = Φ((-τ - d')/√2) and P(first or none) = Φ((τ - d')/√2): Christensen, Lee and Brockhoff 2012, Food Qual.
    Prefer. 24, 119-128.
    """
    from scipy import optimize, stats

    counts = (first, none, second)
    _counts(*counts)
    n = sum(counts)
    below, up_to = first / n, (first + none) / n
    z1, z2 = float(stats.norm.ppf(below)), float(stats.norm.ppf(up_to))
    if first == 0 or second == 0:
        both = first == 0 and second == 0
        d, tau = (0.0, math.inf) if both else (math.inf if first == 0 else -math.inf, math.nan)
    else:
        d, tau = -(z1 + z2) / _ROOT2, (z2 - z1) / _ROOT2
    best = sum(k * math.log(k / n) for k in counts if k)

    def lost(at: float) -> float:
        """Return twice the log-likelihood lost at this d', with the best tau for it."""
        def less(t: float) -> float:
            p1, p12 = (float(stats.norm.cdf(x)) for x in ((-t - at) / _ROOT2, (t - at) / _ROOT2))
            parts = (p1, p12 - p1, 1 - p12)
            return -sum(k * math.log(max(p, 1e-300)) for k, p in zip(counts, parts, strict=True) if k)

        if none == 0:
            return 2 * (best + less(0.0))
        top = 10.0 + abs(at)
        found = optimize.minimize_scalar(less, bounds=(0.0, top), method="bounded", options={"xatol": 1e-9})
        return 2 * max(0.0, best + float(found.fun))

    reach = float(stats.chi2.ppf(0.95, 1))

    def end(sign: float) -> float:
        start = d if math.isfinite(d) else math.copysign(_WIDEST, d)
        if lost(sign * _WIDEST) <= reach:
            return sign * math.inf
        return float(optimize.brentq(lambda x: lost(x) - reach, start, sign * _WIDEST, xtol=1e-8))

    low, high = (-math.inf, math.inf) if not (first or second) else (end(-1.0), end(1.0))
    return TwoAC(d, tau, low, high, float(stats.chi2.sf(max(0.0, lost(0.0)), 1)))


def _counts(*counts: int) -> None:
    if min(counts) < 0 or sum(counts) == 0:
        raise InputError(tr("Wanted counts of pairs, 0 or more and not all 0; got {counts}.").format(
                             counts=", ".join(map(str, counts))))
