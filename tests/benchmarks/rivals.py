"""The usual tests, on the same simulated data, for many trials at once: what reedlab is measured against.

Each gives a signed score, (k,): the larger in size, the stronger the case; above 0 where the second habit is ahead.
A threshold found by simulation without a difference makes each as careful as reedlab (`recalibrated`).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from reedlab.analysis.batch import BatchTrials
from reedlab.analysis.batch.by_unit import batch_lives
from reedlab.analysis.shuffling.deals import Deals, used_units

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


def recalibrated(score: FloatArray, null: FloatArray, rate: float) -> tuple[float, float]:
    """Return the chance of the right winner, and its standard error, at a threshold that claims `rate` of `null`.

    The error holds that of the threshold too.
    """
    size = np.sort(np.abs(null))[::-1]
    n = len(size)
    slack = np.sqrt(n * rate * (1 - rate))
    chances = [float((score > size[min(n - 1, max(0, round(n * rate + s)))]).mean()) for s in (0, -slack, slack)]
    chance = chances[0]
    return chance, float(np.hypot(np.sqrt(chance * (1 - chance) / len(score)), (chances[2] - chances[1]) / 2))


def paired(values: FloatArray, is_b: BoolArray, pair: list[str]) -> tuple[FloatArray, FloatArray]:
    """Return signed scores of the sign-flip test of pairs, and of the paired t test; nan values leave with their pair.

    Parameters
    ----------
    values : (k, n) float
    is_b : (k, n) bool
        One of each pair.
    pair : (n,) labels
    """
    used = used_units(np.isfinite(values), is_b, pair)
    filled = np.where(used, values, 0.0)
    member = (np.array(pair)[:, None] == np.unique(pair)).astype(float)
    gap = np.where(is_b, filled, -filled) @ member
    here = (used.astype(float) @ member) > 0
    n = here.sum(axis=1)
    mean = gap.sum(axis=1) / np.maximum(n, 1)
    spread = np.sqrt((np.where(here, gap - mean[:, None], 0.0) ** 2).sum(axis=1) / np.maximum(n - 1, 1))
    t = np.where(n > 1, mean * np.sqrt(np.maximum(n, 1)) / np.maximum(spread, 1e-9), 0.0)
    rows = np.flatnonzero(n > 0)
    deals = Deals(is_b, used, pair, samples=4000, seed=1)
    upper, lower = deals.tails(filled[rows], deals.observed(filled[rows], rows), np.full(len(rows), 1e-9), rows)
    flip = np.zeros(len(values))
    # equal p are told apart by t, or no threshold could give a wanted rate
    flip[rows] = np.sign(t[rows]) * (1.001 - np.minimum(1, 2 * np.minimum(upper, lower))
                                     + 1e-6 * np.minimum(np.abs(t[rows]), 100))
    return flip, t


def raw_reeds(trials: BatchTrials, *, slopes: bool = False,
              matched: bool = False) -> tuple[FloatArray, FloatArray]:
    """Return both paired scores of raw reed means (or of their slopes on playing hours), reed by reed.

    The reeds of the two habits are paired within a box by chance; `matched`: within a matched set, in the order of
    their first play, which is as much as a pairing can make of it.
    """
    p = trials.protocol
    place = {r: i for i, r in enumerate(p.reeds)}
    reed_of = np.array([place[u.reeds[0]] for u in p.units])
    y, hours = trials.scores, _hours(trials)
    values = np.stack([_slope(y[:, trials.reed == r], hours[:, trials.reed == r]) if slopes
                       else _mean(y[:, trials.reed == r]) for r in reed_of], axis=1)
    if matched:
        first, block = trials.first_play[:, reed_of], np.array([u.block for u in p.units])
    else:
        first = np.random.default_rng(0).random((len(trials), len(reed_of)))
        block = np.array([u.unit.rpartition("-")[0] for u in p.units])
    order, pair = np.empty(first.shape, dtype=int), np.empty(len(block), dtype=object)
    for b in np.unique(block):
        here = np.flatnonzero(block == b)
        half = len(here) // 2
        for j in range(half):
            pair[here[[j, j + half]]] = f"{b}/{j}"
        # the second habit's reeds last, best first play first within each habit
        order[:, here] = here[np.lexsort((-first[:, here], trials.dealt_b[:, here]), axis=-1)]
    return paired(np.take_along_axis(values, order, axis=1), np.take_along_axis(trials.dealt_b, order, axis=1),
                  pair.tolist())


def raw_days(trials: BatchTrials) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return both paired scores of reed means under each habit, and the paired t of unit means, day by day."""
    p, y = trials.protocol, trials.scores
    b = np.where(trials.unit >= 0, trials.dealt_b[:, trials.unit], False)
    values, pair = [], []
    for r in range(len(p.reeds)):
        mine = (trials.reed == r) & (trials.unit >= 0)
        for second in (False, True):
            values.append(_mean(np.where(b[:, mine] == second, y[:, mine], np.nan)))
            pair.append(str(r))
    is_b = np.broadcast_to(np.arange(len(pair)) % 2 == 1, (len(y), len(pair)))
    by_reed = paired(np.stack(values, axis=1), is_b, pair)
    units = np.stack([_mean(y[:, trials.unit == u]) for u in range(len(p.units))], axis=1)
    return *by_reed, paired(units, trials.dealt_b, [u.block for u in p.units])[1]


def _hours(trials: BatchTrials) -> FloatArray:
    out = np.zeros(trials.minutes.shape)
    for r in np.unique(trials.reed):
        mine = trials.reed == r
        out[:, mine] = (np.cumsum(trials.minutes[:, mine], axis=1) - trials.minutes[:, mine]) / 60
    return out


def _mean(y: FloatArray) -> FloatArray:
    n = np.isfinite(y).sum(axis=1)
    return np.where(n > 0, np.nansum(y, axis=1) / np.maximum(n, 1), np.nan)


def _slope(y: FloatArray, x: FloatArray) -> FloatArray:
    there = np.isfinite(y)
    x = np.where(there, x - _mean(np.where(there, x, np.nan))[:, None], 0.0)
    size = (x**2).sum(axis=1)
    enough = (there.sum(axis=1) >= 3) & (size > 0.01)
    return np.where(enough, (x * np.where(there, y, 0.0)).sum(axis=1) / np.where(enough, size, 1.0), np.nan)


def lives(trials: BatchTrials) -> tuple[FloatArray, FloatArray]:
    """Return signed scores of the plain log-rank test and of the stratified Cox model (likelihood ratio)."""
    found = batch_lives(trials)
    _, stratum = np.unique([u.block for u in trials.protocol.units], return_inverse=True)
    used = found.hours > 0
    return (log_rank(found.hours, found.worn_out & used, trials.dealt_b, used),
            stratified_cox(found.hours, found.worn_out & used, trials.dealt_b, used, stratum))


def _at_risk(hours: FloatArray, is_b: BoolArray, used: BoolArray,
             stratum: npt.NDArray[np.int_]) -> tuple[FloatArray, FloatArray]:
    """Return how many of A and of B in its stratum are still going at each unit's time, (k, n)."""
    there = (hours[:, None, :] >= hours[:, :, None]) & used[:, None, :] & (stratum[:, None] == stratum)
    return (there & ~is_b[:, None, :]).sum(axis=2) * 1.0, (there & is_b[:, None, :]).sum(axis=2) * 1.0


def log_rank(hours: FloatArray, worn: BoolArray, is_b: BoolArray, used: BoolArray) -> FloatArray:
    """Return the log-rank z, (k,): above 0 where B lasts longer. Ties are taken one after the other."""
    a, b = _at_risk(hours, is_b, used, np.zeros(hours.shape[1], dtype=int))
    share = b / np.maximum(a + b, 1)
    score = np.where(worn, share - is_b, 0.0).sum(axis=1)
    spread = np.where(worn, share * (1 - share), 0.0).sum(axis=1)
    out: FloatArray = score / np.sqrt(np.maximum(spread, 1e-12)) * (spread > 1e-12)
    return out


def stratified_cox(hours: FloatArray, worn: BoolArray, is_b: BoolArray, used: BoolArray,
                   stratum: npt.NDArray[np.int_]) -> FloatArray:
    """Return the signed root of the likelihood ratio of Cox's model, stratified, ties by Breslow, (k,)."""
    a, b = _at_risk(hours, is_b, used, stratum)
    total = np.maximum(a + b, 1)
    beta = np.zeros(len(hours))
    for _ in range(30):
        e = np.exp(beta)[:, None]
        share = b * e / np.maximum(a + b * e, 1e-12)
        score = np.where(worn, is_b - share, 0.0).sum(axis=1)
        spread = np.where(worn, share * (1 - share), 0.0).sum(axis=1)
        beta = np.clip(beta + np.clip(score / np.maximum(spread, 1e-9), -1, 1), -8, 8)
    e = np.exp(beta)[:, None]
    gain = np.where(worn, beta[:, None] * is_b - np.log(np.maximum(a + b * e, 1e-12) / total), 0.0).sum(axis=1)
    out: FloatArray = -np.sign(beta) * np.sqrt(np.maximum(2 * gain, 0))
    return out
