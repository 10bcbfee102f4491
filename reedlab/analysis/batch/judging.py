"""From what was written down in k trials to k verdicts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.calendar import runs_until_done
from ...trial.crossover import planned_b
from ...trial.protocol import Protocol
from ..remarks.leaning import LEANS_P, leaning_p
from ..shuffling.coin_odds import CoinOdds
from ..shuffling.deals import Deals, used_units
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.linear import Linear
from ..shuffling.past_lives import PastLives
from ..shuffling.verdict import two_sided
from ..units.left_out import Counted
from ..units.shares import share_done, share_of_halves
from ..verdicts.held_back import bars_of, depth, held_back
from ..verdicts.judge import EARLY_P, Claims, Test, final_p, judge, same_margin, sameness_p, still_stand
from ..verdicts.scale_use import ScaleUse, ratings_used
from ..verdicts.state import may_claim, reads_early
from .by_unit import (
    batch_coins,
    batch_lives,
    batch_odds,
    batch_values,
    given_up_by_unit,
    left_for_ends,
    missing_by_unit,
    unrated_low,
)
from .trials import BatchTrials

__all__ = ["BatchVerdicts", "judge_batch"]



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


@dataclass(frozen=True)
class _Read:
    """k trials read: the tests of those `rows` (r,) in which anything can be compared, and what judging them needs.

    `alpha`, `early`, `finished` (r,) as in `judge`; `worn_out` (k, n) of lives; `falls` says, given all k verdicts,
    which of some claims fall if what is missing was low. `odds` are those on the way, at the planned end of trials that
    may be read early.
    """

    rows: IntArray
    used: BoolArray
    main: Linear | LifeRatios | CoinOdds
    as_done: Callable[[IntArray], Test]
    alpha: FloatArray
    early: BoolArray
    finished: BoolArray
    falls: Callable[[npt.NDArray[np.str_], FloatArray, IntArray], BoolArray]
    scale_use: Callable[[IntArray], ScaleUse] | None = None
    leans: Callable[[IntArray], BoolArray] | None = None
    worn_out: BoolArray | None = None
    odds: CoinOdds | None = None

    def claims(self, p: Protocol, *, hold: bool = True, full: bool = False) -> Claims:
        """Judge the rows."""
        said = judge(self.main, self.as_done, matters=p.matters, alpha=self.alpha, same_p=sameness_p(p.level),
                     early=self.early, finished=self.finished, scale_use=self.scale_use,
                     leans=self.leans if hold else None, stays=p.crossover, full=full)
        if self.odds is not None:
            which = np.flatnonzero((said.verdict == "cannot_tell") & self.odds.named())
            path = self.odds.path(0.0, which)
            said.verdict[which] = np.where(self.odds.up(path), "b_better", "a_better")
            said.p_value[which] = 1 / path.most
        return said


def judge_batch(trials: BatchTrials, *, looks: int = 0, early: bool = False, day: int | None = None,
                full: bool = False, at: Sequence[float] = (), hold: bool = True,
                samples: int = 20_000, seed: int | None = None) -> BatchVerdicts:
    """Judge k simulated trials of one plan as `analysis.trial.analyse` judges one.

    Parameters
    ----------
    trials : BatchTrials
    looks : int
        Early looks that were taken; each costs 0.001 of the final p, but of a plan that may be read early nothing.
    early : bool
        This is an early look itself: a winner only at p <= 0.001, or by the odds of a plan that may be read early;
        sameness never.
    day : int, optional
        Read at the end of this trial day; None: at the planned end.
    full : bool
        Find every p, and the estimates of lives, even where the verdict does not need them.
    at : sequence of float
        Differences (or ratios) at which to give the two-sided p as well.
    hold : bool
        False: do not hold a claim back where one habit has more missing or ratings lean on the one before (to see what
        that changes).
    samples, seed
        Where there are more arrangements than are counted (`Deals`), `samples` are drawn with `seed`.
    """
    if day is not None:
        trials = trials.until(day)
    p, k = trials.protocol, len(trials)
    how = {"samples": samples, "seed": seed}
    read = _lives(trials, looks, early, how) if p.card.lives else _ratings(trials, looks, early, how, day)
    rows, claims = read.rows, read.claims(p, hold=hold, full=full)

    def spread(values: npt.ArrayLike, fill: Any) -> npt.NDArray[Any]:
        out = np.full(k, fill, dtype=np.asarray(values).dtype)
        out[rows] = values
        return out

    verdict = spread(claims.verdict, "cannot_tell")
    back = np.zeros(k, dtype=bool)
    said = np.flatnonzero(verdict != "cannot_tell")
    if hold and len(said):
        some = trials.take(said)
        told = [Counted("missing", *missing_by_unit(some, day), halves=p.crossover)]
        if p.design == "reed_by_reed":
            gone = given_up_by_unit(some, None if read.worn_out is None else read.worn_out[said])
            told.append(Counted("given_up", gone, np.ones(gone.shape), halves=p.crossover))
        back[said] = held_back(verdict[said], told, some.dealt_b, p.blocks, bars_of(p),
                               lambda apart, which: read.falls(verdict, apart, said[which]), **how) != ""
        verdict[back] = "cannot_tell"
    p_at = np.ones((k, len(at)))
    for j, gap in enumerate(at):
        p_at[rows, j] = two_sided(*read.main.tails(gap))
    quick = full or not p.card.lives
    return BatchVerdicts(
        verdict, spread(read.main.estimates() if quick else np.full(len(rows), np.nan), np.nan),
        spread(claims.p_value, 1.0), spread(claims.p_above, 1.0), spread(claims.p_below, 1.0), p_at, read.used,
        spread(read.main.least_p(), 1.0), back, spread(claims.held == "leans", False))


def _ratings(trials: BatchTrials, looks: int, early: bool, how: dict[str, Any], day: int | None) -> _Read:
    p = trials.protocol
    values = batch_values(trials)
    used = used_units(values.present, trials.dealt_b, p.blocks)
    deals = Deals(trials.dealt_b, used, p.blocks, **how)
    rows = np.flatnonzero(used.any(axis=1))
    u = values.values
    main = Linear(u[rows], values.effect(_planned(trials))[rows], deals, rows)
    alpha = _alpha(p.level, looks, np.full(len(rows), early))
    odds = None
    if p.read_early:
        coins = batch_coins(trials, values, _planned(trials), rows, day)
        odds = batch_odds(trials, coins)
        alpha = (np.full(len(rows), 1 / odds.bar) if early else
                 left_for_ends(odds, coins, 1 - p.level, how["seed"]))
    by_odds = odds.told(main.estimates()) if early and odds is not None else None
    test = main if by_odds is None else by_odds
    row_of = np.zeros(len(trials), dtype=int)
    row_of[rows] = np.arange(len(rows))

    def as_done(ask: IntArray) -> Linear | CoinOdds:
        if by_odds is not None:
            return batch_odds(trials, batch_coins(trials, values, _done(trials), rows[ask], day))
        return Linear(u[rows[ask]], values.effect(_done(trials))[rows[ask]], deals, rows[ask])

    def falls(verdict: npt.NDArray[np.str_], apart: FloatArray, which: IntArray) -> BoolArray:
        if not p.card.of_points:
            return np.zeros(len(which), dtype=bool)
        moved, at = apart * depth(trials.scores[which]), row_of[which]
        stands = still_stand(test, verdict[which], moved, at, alpha=alpha, matters=same_margin(p),
                             same_p=sameness_p(p.level))
        if odds is not None and not early:
            named = odds.named()[at] & (verdict[which] != "no_real_difference")
            stands |= named & still_stand(odds, verdict[which], moved, at, alpha=1 / odds.bar, matters=p.matters,
                                          same_p=sameness_p(p.level))
        return ~stands

    def leans(ask: IntArray) -> BoolArray:
        out: BoolArray = leaning_p(values.rated[rows[ask]], trials.reed, trials.day) <= LEANS_P
        return out

    return _Read(rows, used, test, as_done, alpha, np.full(len(rows), early),
                 np.ones(len(rows), dtype=bool), falls, odds=None if early else odds,
                 scale_use=lambda ask: ratings_used(values.rated[rows[ask]], p.rating),
                 leans=leans if p.design == "day_by_day" and not p.pairs else None)


def _lives(trials: BatchTrials, looks: int, early: bool, how: dict[str, Any]) -> _Read:
    p = trials.protocol
    lives = batch_lives(trials)
    used = used_units(lives.hours > 0, trials.dealt_b, p.blocks)
    deals = Deals(trials.dealt_b, used, p.blocks, **how)
    rows = np.flatnonzero(used.any(axis=1))
    all_done = np.all(lives.done[rows], axis=1)
    past = PastLives.of(p.past_lives)

    def ratios(of: IntArray, share: FloatArray | None = None) -> LifeRatios:
        return LifeRatios(lives.hours[of], lives.worn_out[of], deals, of, share=share,
                          watched=None if lives.watched is None else lives.watched[of], past=past)

    def falls(verdict: npt.NDArray[np.str_], apart: FloatArray, which: IntArray) -> BoolArray:
        low = _lives(unrated_low(trials.take(which)), looks, early, how)
        again = np.full(len(which), "cannot_tell", dtype=verdict.dtype)
        again[low.rows] = low.claims(p).verdict
        out: BoolArray = again != verdict[which]
        return out

    is_early = reads_early(early, all_done)
    return _Read(rows, used, ratios(rows), lambda ask: ratios(rows[ask], _share_of_units(trials)[rows[ask]]),
                 _alpha(p.level, looks, is_early), is_early, may_claim(runs_until_done(p), all_done), falls,
                 worn_out=lives.worn_out)


def _alpha(level: float, looks: int, early: BoolArray) -> FloatArray:
    return np.where(early, min(EARLY_P, 1 - level), final_p(level, looks))


def _of_cells(trials: BatchTrials, by_unit: BoolArray | FloatArray) -> FloatArray:
    """Return numbers of units (k, n) as numbers of sittings (k, s); 0 where a sitting counts for no unit."""
    out: FloatArray = np.where(trials.unit >= 0, by_unit[:, trials.unit], 0.0)
    return out


def _planned(trials: BatchTrials) -> FloatArray:
    """Return 1 where a sitting was to be done with B, (k, s)."""
    return planned_b(trials.protocol.halves, _of_cells(trials, trials.dealt_b), trials.day)


def _share_of_units(trials: BatchTrials) -> FloatArray:
    """Return the share of each unit's sittings done on B (k, n); as dealt where it has none."""
    return share_done(trials.unit, trials.counted, trials.used_b, trials.dealt_b)


def _done(trials: BatchTrials) -> FloatArray:
    """Return the share done on B of each sitting's reed (reed by reed) or of the sitting itself, (k, s)."""
    p = trials.protocol
    if p.halves is not None:
        share = share_of_halves(p, trials.unit, trials.day, trials.counted, trials.used_b, len(p.units))
        return share[:, trials.unit, p.halves.of(trials.day)]
    if p.design == "reed_by_reed":
        return _of_cells(trials, _share_of_units(trials))
    return trials.used_b.astype(float)
