"""The verdict on trials, one or thousands: the shared rule, and each trial's own reasons to hold back.

Early looks follow Haybittle and Peto (Haybittle 1971; Peto et al. 1976): an early look may name a winner
only at p <= 0.001 and never sameness; each look costs 0.001 of the final 0.05. Plans that may be read early go by odds
instead (`early_odds`), and pay for that from the start.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol, cast

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Protocol as Plan
from ...trial.result import Finding, Verdict
from ..shuffling.verdict import SAMENESS_P, decide, inside, two_sided
from .findings import Reading
from .scale_use import ScaleUse

__all__ = ["EARLY_P", "Claims", "Test", "final_p", "judge", "judge_one", "margins", "needed_p", "repeat_p",
           "same_margin", "sameness_p", "still_stand"]

#: An early look names a winner only at this p, and costs this much of the final p.
EARLY_P = 0.001
#: What all repeats of a question may add to the false winners of its first trial, as a share of them.
REPEATS_SHARE = 0.1
_REPEATS_FROM = 0.996  # the first repeat of a trial at 0.95 is judged at 0.99875
_SLACK = 1e-12


def final_p(level: float, looks: int) -> float:
    """Return the p that a winner needs at the planned end after so many early looks (never below one look's)."""
    return max(EARLY_P, (1 - level) - EARLY_P * looks)


def repeat_p(level: float, earlier: int) -> float:
    """Return the p that a winner needs after so many earlier trials of the question by the same player.

    Reading on after every "can't tell" is looking again. The first trial speaks at 1 - level. What all later ones
    may add to that is a tenth of it, however many follow: 1/(n (n + 1)) of that tenth for the n-th repeat, half for
    the trial by itself and half for all trials together (alpha spending, as Lan and DeMets 1983).
    """
    if not earlier:
        return 1 - level
    return (1 - level) * REPEATS_SHARE / (2 * earlier * (earlier + 1))


def needed_p(level: float, *, looks: int, early: bool, earlier: int) -> float:
    """Return the p that a winner needs: after early looks, at one, and in a repeat, where looks count as repeats."""
    own = min(EARLY_P, 1 - level) if early else final_p(level, looks)
    return min(own, repeat_p(level, earlier + looks)) if earlier else own


def sameness_p(level: float) -> float:
    """Return the p of each one-sided test of sameness in a trial whose winner needs 1 - level.

    0.05; in a repeat, whose level is above any that a plan sets, as rare as its winner: who goes on until the two look
    alike will find that by luck, too.
    """
    return SAMENESS_P if level < _REPEATS_FROM else 1 - level


class Test(Protocol):
    """Trials that can be tested at any difference or ratio: `shuffling.linear.Linear`, `life_ratios.LifeRatios`."""

    @property
    def none(self) -> float:
        """No difference: 0, or 1 for ratios."""

    def __len__(self) -> int: ...

    def other_way(self, gap: float | FloatArray, /) -> float | FloatArray:
        """Return the gap that is as large the other way round."""

    def tails(self, gap: float | FloatArray, where: IntArray | None = None, side: int = 0,
              /) -> tuple[FloatArray, FloatArray]:
        """Return the one-sided p that B is ahead by more than `gap`, and by less; `side` 1 or -1: only one of them."""

    def sides(self, where: IntArray, alpha: FloatArray, up: BoolArray, /) -> tuple[BoolArray, BoolArray]:
        """Say whether the whole range lies above, and below, no difference, where that is ruled out.

        `up` says where B is ahead, by the tails at no difference.
        """


@dataclass(frozen=True)
class Claims:
    """What r trials say, (r,) each. `held` is why sameness was not said ("" where there was no reason).

    `p_value`, `p_above`, `p_below` (that the gap is above the lower margin, below the upper one) are nan where the
    verdict did not need them.
    """

    verdict: npt.NDArray[np.str_]
    held: npt.NDArray[np.str_]
    p_value: FloatArray
    p_above: FloatArray
    p_below: FloatArray


def judge(main: Test, as_done: Callable[[IntArray], Test] | None, *, matters: float, alpha: npt.ArrayLike,
          same_p: float, early: npt.ArrayLike = False, finished: npt.ArrayLike = True,
          scale_use: Callable[[IntArray], ScaleUse] | None = None,
          leans: Callable[[IntArray], BoolArray] | None = None, stays: bool = False, full: bool = False) -> Claims:
    """Judge r trials of one plan, one that stands in a logbook or thousands that were simulated.

    Parameters
    ----------
    main : Test
        As planned.
    as_done : callable or None
        Rows -> the same as done; without it sameness is not claimed.
    matters : float
        Points, or a ratio above 1.
    alpha : float or (r,)
        p that a winner needs.
    same_p : float
        p of each one-sided test of sameness.
    early : bool or (r,)
        Opened or ended before the planned end: sameness is never claimed.
    finished : bool or (r,)
        False where a trial that must run until all its reeds are done was stopped sooner: can't tell.
    scale_use : callable, optional
        Rows -> how the rating scale was used; None for lives.
    leans : callable, optional
        Rows -> whether ratings lean on the one before (`leaning.leaning_p`): sameness is never claimed.
    stays : bool
        Reeds have first one way, then the other: what stays for good of a way is seen in one half of the reeds only and
        makes half a gap, so sameness must hold at half of what matters.
    full : bool
        Find every p, even where the verdict does not need it.
    """
    r = len(main)
    alpha, early, finished = (np.broadcast_to(np.asarray(x), (r,)) for x in (alpha, early, finished))
    above, below = margins(main, matters, same_p, full=full)
    within = inside(above, below, same_p)
    held = np.where(within & early, "early", "").astype("U10")
    margin = np.full(r, float(matters))
    ask = np.flatnonzero(within & (held == ""))
    if scale_use is not None and len(ask):
        use = scale_use(ask)
        held[ask] = np.where(use.at_an_end, "ceiling", np.where(use.alike, "all_alike", ""))
        margin[ask] = matters * (1 - use.squeezed)
        ask = ask[held[ask] == ""]
    if len(ask):
        held[ask] = "as_done" if as_done is None else _held(main, as_done(ask), ask, margin[ask], matters, same_p)
        ask = ask[held[ask] == ""]
    if leans is not None and len(ask):
        held[ask] = np.where(leans(ask), "leans", "")
        ask = ask[held[ask] == ""]
    if stays and len(ask) and as_done is not None:
        half = margin[ask] / 2
        holds = inside(*margins(main, half, same_p, where=ask), same_p)
        left = np.flatnonzero(holds)
        if len(left):
            holds[left] = inside(*margins(as_done(ask[left]), half[left], same_p), same_p)
        held[ask] = np.where(holds, "", "stays")
    held = np.where(finished, held, "")
    need = np.flatnonzero(~(within & (held == "")) | full)
    upper, lower = main.tails(main.none, need)
    p_value = np.full(r, np.nan)
    p_value[need] = two_sided(upper, lower)
    higher, fewer = np.zeros(r, dtype=bool), np.zeros(r, dtype=bool)
    clear = (p_value[need] <= alpha[need] + _SLACK) & finished[need]
    wins = need[clear]
    # a set with a hole at no difference: its hull does not exclude it, and nobody wins
    higher[wins], fewer[wins] = main.sides(wins, alpha[wins], (upper < lower)[clear])
    verdict = decide(np.nan_to_num(p_value, nan=1.0), higher, fewer, within, held != "", alpha=alpha, finished=finished)
    return Claims(verdict, held, p_value, above, below)


def margins(test: Test, margin: float | FloatArray, same_p: float, *, where: IntArray | None = None,
            full: bool = False) -> tuple[FloatArray, FloatArray]:
    """Return the one-sided p at both margins; the second only where the first allows sameness, unless `full`."""
    i = np.arange(len(test)) if where is None else where
    each = np.broadcast_to(np.asarray(margin, dtype=float), i.shape)
    above = test.tails(test.other_way(each), i, 1)[0]
    below = np.full(len(above), np.nan)
    need = np.flatnonzero((above <= same_p + _SLACK) | full)
    below[need] = test.tails(each[need], i[need], -1)[1]
    return above, below


def _held(main: Test, done: Test, ask: IntArray, margin: FloatArray, matters: float,
          same_p: float) -> npt.NDArray[np.str_]:
    """Say why sameness does not hold at the margin made smaller by the ends of the scale, as planned and as done."""
    holds = np.ones(len(ask), dtype=bool)
    narrow = np.flatnonzero(margin < matters)
    holds[narrow] = inside(*margins(main, margin[narrow], same_p, where=ask[narrow]), same_p)
    left = np.flatnonzero(holds)
    holds[left] = inside(*margins(done, margin[left], same_p, where=left), same_p)
    out = np.full(len(ask), "", dtype="U10")
    falls = np.flatnonzero(~holds)
    out[falls] = np.where(inside(*margins(done, matters, same_p, where=falls), same_p), "ceiling", "as_done")
    return out


def still_stand(test: Test, verdict: npt.NDArray[np.str_], moved: FloatArray, at: IntArray, *, alpha: npt.ArrayLike,
                matters: float, same_p: float) -> BoolArray:
    """Say whether claims of differences still stand once so much is taken from their gaps.

    `verdict`, `moved` (m,) belong to the test's rows `at` (m,).
    """
    upper, lower = test.tails(moved, at)
    limit = np.broadcast_to(np.asarray(alpha, dtype=float), (len(test),))[at] + _SLACK
    out: BoolArray = np.where(verdict == "b_better", 2 * upper <= limit, 2 * lower <= limit)
    same = np.flatnonzero(verdict == "no_real_difference")
    out[same] = inside(test.tails(moved[same] - matters, at[same])[0], test.tails(moved[same] + matters, at[same])[1],
                       same_p)
    return out


def same_margin(protocol: Plan) -> float:
    """Return the gap in either direction within which sameness may be said: half of what matters in a crossover."""
    return protocol.matters / 2 if protocol.crossover else protocol.matters


def judge_one(main: Reading, as_done: Reading | None, *, matters: float, alpha: float, early: bool = False,
              hint: bool = False, finished: bool = True, scale_use: ScaleUse | None = None,
              leans: bool = False, stays: bool = False) -> tuple[Finding, str]:
    """Give the main finding of one trial its verdict: `judge` for one row.

    `hint`: not shuffled; whatever the numbers say, a hint only. Returns the finding with `verdict` and `exceeds`, and
    why sameness was held back ("" where it was not).
    """
    f = main.finding
    if hint:
        return replace(f, verdict="hint_only"), ""
    if main.test is None:
        return replace(f, verdict="cannot_tell"), ""
    done = None if as_done is None else as_done.test
    said = judge(main.test, None if done is None else lambda _: done, matters=matters, alpha=alpha,
                 same_p=(1 - f.same_level) / 2, early=early, finished=finished,
                 scale_use=None if scale_use is None else lambda _: scale_use,
                 leans=lambda rows: np.full(len(rows), leans), stays=stays)
    found, held = cast(Verdict, str(said.verdict[0])), str(said.held[0])
    if found not in ("a_better", "b_better"):
        return replace(f, verdict=found), held
    # the end of the range nearest no difference, as a gap in the winner's favour
    near = f.low if found == "b_better" else (1 / f.high if f.scale == "ratio" else -f.high)
    return replace(f, verdict=found, exceeds="surely" if near >= matters - _SLACK else "perhaps"), held
