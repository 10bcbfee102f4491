"""From what was written down in k trials to k verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..remarks.leaning import LEANS_P, leaning_p
from ..remarks.uneven import depth
from ..shuffling.deals import Deals, used_units
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.linear import Linear
from ..shuffling.shuffles import EXACT_LIMIT
from ..shuffling.sums import FloatArray
from ..shuffling.verdict import decide, inside
from ..verdicts.judge import EARLY_P, final_p, sameness_p
from ..verdicts.scale_use import ratings_used
from .life_values import batch_lives
from .rating_values import batch_values
from .trials import BatchTrials
from .uneven import held_back, unrated_low

__all__ = ["BatchVerdicts", "judge_batch"]

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int_]
_SLACK = 1e-12


@dataclass(frozen=True)
class BatchVerdicts:
    """Verdicts of k trials, (k,) each, in the words of `Finding.verdict`.

    `p_above`, `p_below` are nan where they were not needed for the verdict, `estimate` of lives and `p_at` where
    they were not asked for. `p_at` (k, len(at)) is the two-sided p at each asked-for difference or ratio: the
    range at 1 - alpha covers it where p > alpha. `used` (k, n) are the units that counted. `least_p` is the smallest p
    that these units (lives: whatever their dealing) could give. `uneven`: the
    claim was held back because one habit had more missing, or more reeds given up; `leans`: sameness was, because
    ratings lean on the one before.
    """

    verdict: npt.NDArray[np.str_]
    estimate: FloatArray
    p_value: FloatArray
    p_above: FloatArray
    p_below: FloatArray
    p_at: FloatArray
    used: BoolArray
    least_p: FloatArray
    uneven: BoolArray
    leans: BoolArray


def judge_batch(trials: BatchTrials, *, looks: int = 0, early: bool = False, day: int | None = None,
                full: bool = False, at: Sequence[float] = (), hold: bool = True, limit: int = EXACT_LIMIT,
                samples: int = 20_000, seed: int | None = None) -> BatchVerdicts:
    """Judge k simulated trials of one plan as `analysis.trial.analyse` judges one.

    Parameters
    ----------
    trials : BatchTrials
    looks : int
        Early looks that were taken; each costs 0.001 of the final p.
    early : bool
        This is an early look itself: a winner only at p <= 0.001, sameness never.
    day : int, optional
        Read at the end of this trial day; None: at the planned end.
    full : bool
        Find every p, and the estimates of lives, even where the verdict does not need them.
    at : sequence of float
        Differences (or ratios) at which to give the two-sided p as well.
    hold : bool
        False: do not hold a claim back where one habit has more missing or ratings lean on the one before (to see what
        that changes).
    limit, samples, seed
        Above `limit` arrangements, `samples` are drawn with `seed`. Up to the default every arrangement counts.
    """
    if day is not None:
        trials = trials.until(day)
    lives = trials.protocol.card.lives
    how = _judge_lives if lives else _judge_ratings
    return how(trials, looks=looks, early=early, full=full, at=at, day=day, hold=hold,
               sampling={"limit": limit, "samples": samples, "seed": seed})


def _alphas(level: float, looks: int, early: BoolArray) -> FloatArray:
    return np.where(early, min(EARLY_P, 1 - level), final_p(level, looks))


def _same(test: Linear | LifeRatios, margin: float | FloatArray, same_p: float, full: bool = False,
          where: IntArray | None = None) -> tuple[FloatArray, FloatArray]:
    """Return the one-sided p at both margins; the second only where the first allows sameness, unless `full`."""
    i = np.arange(len(test.rows)) if where is None else where
    each = np.broadcast_to(np.asarray(margin, dtype=float), i.shape)
    above = test.tails(test.other_way(each), i)[0]
    below = np.full(len(above), np.nan)
    need = np.flatnonzero((above <= same_p + _SLACK) | full)
    below[need] = test.tails(each[need], i[need])[1]
    return above, below


def _stands(test: Linear, verdict: npt.NDArray[np.str_], moved: FloatArray, at: IntArray, alpha: FloatArray,
            matters: float, same_p: float) -> BoolArray:
    """Say whether claims still stand once so much is taken from their gaps; `at` are their places in the test."""
    upper, lower = test.tails(moved, at)
    out: BoolArray = np.where(verdict == "b_better", 2 * upper <= alpha[at] + _SLACK, 2 * lower <= alpha[at] + _SLACK)
    same = np.flatnonzero(verdict == "no_real_difference")
    low, high = test.tails(moved[same] - matters, at[same])[0], test.tails(moved[same] + matters, at[same])[1]
    out[same] = inside(low, high, same_p)
    return out


def _judge_ratings(trials: BatchTrials, *, looks: int, early: bool, full: bool, at: Sequence[float],
                   day: int | None, hold: bool, sampling: dict[str, int | None]) -> BatchVerdicts:
    p = trials.protocol
    k = len(trials)
    block = [u.block for u in p.units]
    values = batch_values(trials)
    used = used_units(values.present, trials.dealt_b, block)
    deals = Deals(trials.dealt_b, used, block, **sampling)  # type: ignore[arg-type]
    rows = np.flatnonzero(used.any(axis=1))
    u = values.values
    same_p = sameness_p(p.level)
    test = Linear(u[rows], values.effect(_of_cells(trials, trials.dealt_b))[rows], deals, rows)

    out = {name: np.full(k, fill) for name, fill in
           (("estimate", np.nan), ("p_value", 1.0), ("p_above", 1.0), ("p_below", 1.0))}
    out["estimate"][rows] = test.estimates()
    above, below = _same(test, p.matters, same_p, full)
    out["p_above"][rows], out["p_below"][rows] = above, below
    within = inside(above, below, same_p)
    held = np.full(len(rows), early)
    ask = np.flatnonzero(within & ~held)
    if len(ask):
        scale = ratings_used(values.rated[rows[ask]], p.rating)
        held[ask] = scale.at_an_end | scale.alike
        margin = (p.matters * (1 - scale.squeezed))[~held[ask]]
        ask = ask[~held[ask]]
        narrow = margin < p.matters
        held[ask[narrow]] = ~inside(*_same(test, margin[narrow], same_p, where=ask[narrow]), same_p)
        margin, ask = margin[~held[ask]], ask[~held[ask]]
    if len(ask):
        of = rows[ask]
        done = Linear(u[of], values.effect(_done(trials))[of], deals, of)
        held[ask] = ~inside(*_same(done, margin, same_p), same_p)
        ask = ask[~held[ask]]
    leans = np.zeros(k, dtype=bool)
    if hold and len(ask) and p.design == "day_by_day":
        held[ask] = leans[rows[ask]] = leaning_p(values.rated[rows[ask]], trials.reed, trials.day) <= LEANS_P
    alpha = _alphas(p.level, looks, np.full(len(rows), early))
    higher, lower = np.zeros(len(rows), dtype=bool), np.zeros(len(rows), dtype=bool)
    need = np.flatnonzero(~(within & ~held) | full)
    upper_p, lower_p = test.tails(0.0, need)
    p_value = np.minimum(1.0, 2 * np.minimum(upper_p, lower_p))
    out["p_value"][rows] = np.nan
    out["p_value"][rows[need]] = p_value
    wins = need[p_value <= alpha[need] + _SLACK]
    higher[wins], lower[wins] = test.sides(wins, alpha[wins])
    verdict = np.full(k, "cannot_tell", dtype="U18")
    found = np.nan_to_num(out["p_value"][rows], nan=1.0)
    verdict[rows] = decide(found, higher, lower, within, held, alpha=alpha)
    back = np.zeros(k, dtype=bool)
    if hold:
        of_row = np.zeros(k, dtype=int)
        of_row[rows] = np.arange(len(rows))

        def falls(apart: FloatArray, which: IntArray) -> BoolArray:
            if not p.card.of_points:
                return np.zeros(len(which), dtype=bool)
            moved = apart * depth(trials.scores[which])
            return ~_stands(test, verdict[which], moved, of_row[which], alpha, p.matters, same_p)

        back = held_back(trials, verdict, falls, day=day, sampling=sampling)
        verdict[back] = "cannot_tell"
    p_at = np.ones((k, len(at)))
    for j, d in enumerate(at):
        p_at[rows, j] = np.minimum(1.0, 2 * np.minimum(*test.tails(d)))
    return BatchVerdicts(verdict, out["estimate"], out["p_value"], out["p_above"], out["p_below"], p_at, used,
                         np.minimum(1.0, 2 / deals.size), back, leans)


def _of_cells(trials: BatchTrials, by_unit: BoolArray | FloatArray) -> FloatArray:
    """Return numbers of units (k, n) as numbers of sittings (k, s); 0 where a sitting counts for no unit."""
    out: FloatArray = np.where(trials.unit >= 0, by_unit[:, trials.unit], 0.0)
    return out


def _share_of_units(trials: BatchTrials) -> FloatArray:
    """Return the share of each unit's sittings done on B (k, n); as dealt where it has none."""
    member = (trials.unit[:, None] == np.arange(trials.dealt_b.shape[1])).astype(float)
    count = trials.counted.astype(float) @ member
    done = (trials.counted & trials.used_b).astype(float) @ member
    return np.where(count > 0, done / np.maximum(count, 1.0), trials.dealt_b)


def _done(trials: BatchTrials) -> FloatArray:
    """Return the share done on B of each sitting's reed (reed by reed) or of the sitting itself, (k, s)."""
    if trials.protocol.design == "reed_by_reed":
        return _of_cells(trials, _share_of_units(trials))
    return trials.used_b.astype(float)


def _judge_lives(trials: BatchTrials, *, looks: int, early: bool, full: bool, at: Sequence[float],
                 day: int | None, hold: bool, sampling: dict[str, int | None]) -> BatchVerdicts:
    p = trials.protocol
    k = len(trials)
    block = [u.block for u in p.units]
    lives = batch_lives(trials)
    used = used_units(lives.hours > 0, trials.dealt_b, block)
    deals = Deals(trials.dealt_b, used, block, **sampling)  # type: ignore[arg-type]
    rows = np.flatnonzero(used.any(axis=1))

    def ratios(of: IntArray, share: FloatArray | None = None) -> LifeRatios:
        return LifeRatios(lives.hours[of], lives.worn_out[of], deals, of, share=share,
                          watched=None if lives.watched is None else lives.watched[of])

    test = ratios(rows)
    is_early = (early & ~lives.all_done)[rows]  # every reed done: finished, whatever the day

    out = {name: np.full(k, fill) for name, fill in
           (("estimate", np.nan), ("p_value", 1.0), ("p_above", 1.0), ("p_below", 1.0))}
    if full:
        out["estimate"][rows] = test.estimates()
    same_p = sameness_p(p.level)
    above, below = _same(test, p.matters, same_p, full)
    out["p_above"][rows], out["p_below"][rows] = above, below
    within = inside(above, below, same_p)
    held = is_early.copy()
    ask = np.flatnonzero(within & ~held)
    if len(ask):
        done = ratios(rows[ask], _share_of_units(trials)[rows[ask]])
        held[ask] = ~inside(*_same(done, p.matters, same_p), same_p)
    alpha = _alphas(p.level, looks, is_early)
    higher, lower = np.zeros(len(rows), dtype=bool), np.zeros(len(rows), dtype=bool)
    need = np.flatnonzero(~(within & ~held) | full)
    longer, shorter = test.tails(1.0, need)
    p_value = np.minimum(1.0, 2 * np.minimum(longer, shorter))
    out["p_value"][rows] = np.nan
    out["p_value"][rows[need]] = p_value
    wins = need[(p_value <= alpha[need] + _SLACK) & ~lives.unfinished[rows[need]]]
    higher[wins], lower[wins] = test.sides(wins, alpha[wins])
    verdict = np.full(k, "cannot_tell", dtype="U18")
    verdict[rows] = decide(np.nan_to_num(out["p_value"][rows], nan=1.0), higher, lower, within, held, alpha=alpha,
                           finished=~lives.unfinished[rows])
    back = np.zeros(k, dtype=bool)
    if hold:
        def falls(_: FloatArray, which: IntArray) -> BoolArray:
            low = unrated_low(trials.take(which))
            again = _judge_lives(low, looks=looks, early=early, full=False, at=(), day=day, hold=False,
                                 sampling=sampling)
            return again.verdict != verdict[which]

        back = held_back(trials, verdict, falls, day=day, worn_out=lives.worn_out, sampling=sampling)
        verdict[back] = "cannot_tell"
    least = np.ones(k)
    least[rows] = test.least_p()
    p_at = np.ones((k, len(at)))
    for j, ratio in enumerate(at):
        p_at[rows, j] = np.minimum(1.0, 2 * np.minimum(*test.tails(ratio)))
    return BatchVerdicts(verdict, out["estimate"], out["p_value"], out["p_above"], out["p_below"], p_at, used,
                         least, back, np.zeros(k, dtype=bool))
