"""The reading "if every reed went on fading as so far": expected lives, reshuffled as dealt. Never a verdict."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray
from ...trial.dealing import Labels, layout_dealt
from ...trial.protocol import Protocol
from ...trial.result import Finding
from ..shuffling._units import gather
from ..shuffling.linear import linear_test
from ..shuffling.shuffles import SAMPLES, Shuffles
from ..shuffling.sums import block_centred, tie_of
from ..shuffling.verdict import two_sided
from .expected_lives import ExpectedLives, expected_hours

__all__ = ["READING", "expected_ratio", "read_expected"]

READING = "expected"
_LIMIT = 2**18  # arrangements counted; beyond, one draw serves the p and every ratio tried
_FARTHEST = 100.0  # ratios beyond are not told apart from no end
_STEPS = 60  # ratios tried on either side of 1 before the ends are bisected
_HALVINGS = 20
_SLACK = 1e-12
_TIE = 1e-9

#: From which grid point (none: nowhere) to look which way for the end of a stretch.
_Search = tuple[npt.NDArray[np.intp], int]


def read_expected(protocol: Protocol, expected: ExpectedLives, *, level: float) -> Finding | None:
    """Test the ratio of expected lives; None where no matched set has both habits.

    Parameters
    ----------
    protocol : Protocol
        Gives the deal.
    expected : ExpectedLives
        Computed blind.
    level : float
        Of the range.

    Returns
    -------
    Finding
        `events` are the worn-out reeds of A and of B; all others of `units` are predicted. `means` are the median
        expected hours.

    Notes
    -----
    The statistic sums, over B's reeds, the logarithm of the expected life, centred in its matched set. For a ratio
    all of B's playing hours are divided by it, the ratings stay, and every life is expected anew. p is no smooth
    function of the ratio: ratios 8 % apart are tried from 1/100 to 100 and the outermost ends bisected, so that the
    range is the hull of what is not ruled out, but for holes narrower than that. Which reeds leave is settled at
    ratio 1.
    """
    present = np.isfinite(expected.hours)
    units = gather(present, protocol.arms, expected.lives.blocks, [])
    keep = units.keep
    if not keep.size:
        return None
    values = np.log(expected.hours[keep])
    test = linear_test(values, units.is_b, units.is_b, units.block, level=level, seed=protocol.seed, limit=_LIMIT,
                       samples=SAMPLES)
    whole_b = protocol.dealt_b

    def lives_at(log_ratios: FloatArray) -> FloatArray:
        ratio = np.exp(np.where(whole_b, np.asarray(log_ratios)[:, None], 0.0))
        found = expected_hours(expected.courses.over(ratio), expected.lives.hours / ratio,
                               np.broadcast_to(expected.lives.worn_out, ratio.shape), expected.mark)
        return np.log(found[:, keep])

    estimate, ends = expected_ratio(
        lives_at, units.is_b, units.block, (1 - level, 0.10), seed=protocol.seed, p_at_one=test.p_value)
    (low, high), (low90, high90) = ends
    worn = expected.lives.worn_out[keep]
    hours = expected.hours[keep]
    return Finding(
        outcome=expected.lives.outcome, reading=READING, scale="ratio", estimate=estimate, low=low, high=high,
        low90=low90, high90=high90, level=level, p_value=test.p_value, least_p=test.least_p, exact=test.exact,
        arrangements=test.arrangements, units=units.counts, blocks=units.blocks_used, blocks_dropped=units.dropped,
        events=(int(worn[~units.is_b].sum()), int(worn[units.is_b].sum())),
        means=(float(np.median(hours[~units.is_b])), float(np.median(hours[units.is_b]))))


def expected_ratio(
    lives_at: Callable[[FloatArray], FloatArray], is_b: BoolArray, block: Labels,
    alphas: tuple[float, ...], *, seed: int | None, p_at_one: float,
) -> tuple[float, list[tuple[float, float]]]:
    """Return the estimated ratio, and for each alpha the hull of the ratios not ruled out (0, inf: no end).

    Parameters
    ----------
    lives_at : callable
        (m,) logarithms of ratios -> (m, n) logarithms of lives expected with B's hours divided by them.
    is_b, block : (n,)
    p_at_one : float
        p at ratio 1, which the ranges are kept in line with.

    Notes
    -----
    The estimate is where the statistic crosses its reshuffling mean: the geometric middle of the largest ratio with
    the statistic above it and the smallest with the statistic below it; 0 or inf where there is only one side, nan
    where there is neither, as in `compare_lives`.
    """
    shuffles = Shuffles(layout_dealt(block, is_b), is_b, limit=_LIMIT, samples=SAMPLES, seed=seed)
    grid = np.linspace(-np.log(_FARTHEST), np.log(_FARTHEST), 2 * _STEPS + 1)
    p = _p(lives_at(grid), shuffles)
    searches: list[_Search] = []
    for alpha in alphas:
        kept = np.flatnonzero(p > alpha + _SLACK)
        searches += [(kept[:1], -1), (kept[-1:], 1)]
    limits = np.repeat(alphas, 2)
    found = _edges(grid, searches, lambda at, which: _p(lives_at(at), shuffles) > limits[which] + _SLACK)
    ends = []
    for i, alpha in enumerate(alphas):
        low, high = found[2 * i], found[2 * i + 1]
        if p_at_one > alpha + _SLACK:  # 1 is in its own set, whatever lies between the ratios tried
            low, high = np.fmin(low, 1.0), np.fmax(high, 1.0)
        ends.append((float(low), float(high)))
    side = _side(lives_at(grid), shuffles)
    above, below = np.flatnonzero(side > 0), np.flatnonzero(side < 0)
    signs = np.array([1.0, -1.0])
    left, right = _edges(grid, [(above[-1:], 1), (below[:1], -1)],
                         lambda at, which: _side(lives_at(at), shuffles) == signs[which])
    if not above.size and not below.size:
        return float("nan"), ends
    if not above.size or not below.size:
        return (float("inf") if above.size else 0.0), ends
    return float(np.sqrt(left * right)), ends


def _p(values: FloatArray, shuffles: Shuffles) -> FloatArray:
    """Return the two-sided p of each row of unit values, as `linear_test` finds it."""
    centred = block_centred(values, shuffles.layout)
    upper, lower = shuffles.tails(centred, tie_of(centred, values))
    return two_sided(upper / shuffles.size, lower / shuffles.size)


def _side(values: FloatArray, shuffles: Shuffles) -> FloatArray:
    """Return 1 where the statistic lies above its reshuffling mean, -1 below, 0 on it."""
    gap = shuffles.observed_sums(block_centred(values, shuffles.layout))
    return np.where(np.abs(gap) <= _TIE * np.maximum(1.0, np.abs(values).sum(axis=1)), 0.0, np.sign(gap))


def _edges(grid: FloatArray, searches: list[_Search],
           holds: Callable[[FloatArray, npt.NDArray[np.intp]], BoolArray]) -> FloatArray:
    """Return the last ratio of each search at which it holds; 0 or inf past the grid, nan from nowhere."""
    out = np.full(len(searches), np.nan)
    which, inside, outside = [], [], []
    for k, (start, step) in enumerate(searches):
        if not start.size:
            continue
        i = int(start[0])
        if 0 <= i + step < len(grid):
            which.append(k)
            inside.append(grid[i])
            outside.append(grid[i + step])
        else:
            out[k] = 0.0 if step < 0 else np.inf
    if which:
        places, near, far = np.array(which), np.array(inside), np.array(outside)
        for _ in range(_HALVINGS):
            middle = (near + far) / 2
            yes = holds(middle, places)
            near, far = np.where(yes, middle, near), np.where(yes, far, middle)
        out[places] = np.exp(near)
    return out
