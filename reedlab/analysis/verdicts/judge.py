"""The verdict on a trial: the shared rule, and the trial's own reasons to hold back.

Early looks follow Haybittle and Peto (Haybittle 1971; Peto et al. 1976): an early look may name a winner
only at p <= 0.001 and never sameness; each look costs 0.001 of the final 0.05.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import cast

from ...trial.outcomes import no_gap
from ...trial.result import Finding, Uneven, Verdict
from ..shuffling.verdict import SAMENESS_P, decide, inside
from .findings import Reading
from .scale_use import ScaleUse

__all__ = ["EARLY_P", "final_p", "judge", "needed_p", "repeat_p", "same_by_tests", "sameness_p"]

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


def same_by_tests(reading: Reading) -> bool:
    """Say whether both one-sided tests put the gap inside what matters (Schuirmann 1987)."""
    return bool(inside(reading.p_above, reading.p_below, (1 - reading.finding.same_level) / 2))


def judge(
    main: Reading, as_done: Reading | None, *, matters: float, alpha: float, early: bool = False,
    hint: bool = False, finished: bool = True, scale_use: ScaleUse | None = None, uneven: Sequence[Uneven] = (),
    holds: Callable[[Finding, Uneven], bool] | None = None, leans: bool = False,
) -> tuple[Finding, str]:
    """Give the main finding its verdict.

    Parameters
    ----------
    main, as_done : Reading
        As planned and as done. Without an as-done reading sameness is not claimed.
    matters : float
        Points, or a ratio above 1.
    alpha : float
        p that a winner needs; the finding's range is at 1 - alpha.
    early : bool
        Opened or ended before the planned end: sameness is never claimed.
    hint : bool
        Not shuffled: whatever the numbers say, a hint only.
    finished : bool
        False where a trial that must run until all its reeds are done was stopped sooner: can't tell.
    scale_use : ScaleUse, optional
        How the rating scale was used; None for lives.
    uneven, holds
        What was missing or given up by habit, and whether that holds a claim back.
    leans : bool
        Ratings lean on the one before (`leaning.leaning_p`): sameness is never claimed.

    Returns
    -------
    the finding with `verdict` and `exceeds`, and why an answer was held back ("" where it was not): sameness, or
    either answer where the reason is a kind of `uneven`.
    """
    said, held = _claim(main, as_done, matters, alpha, early, hint, finished, scale_use, leans)
    for u in uneven:
        if holds is not None and holds(said, u):
            return replace(said, verdict="cannot_tell", exceeds=None), u.kind
    return said, held


def _claim(main: Reading, as_done: Reading | None, matters: float, alpha: float, early: bool, hint: bool,
           finished: bool, scale_use: ScaleUse | None, leans: bool) -> tuple[Finding, str]:
    f = main.finding
    if hint:
        return replace(f, verdict="hint_only"), ""
    if not finished:
        return replace(f, verdict="cannot_tell"), ""
    none = no_gap(f.scale)
    same = same_by_tests(main)
    held = _held(main, as_done, matters, early, scale_use, leans) if same else ""
    # a set with a hole at no difference: its hull does not exclude it, and nobody wins
    found = cast(Verdict, str(decide(f.p_value, f.low > none, f.high < none, same, bool(held), alpha=alpha)))
    if found == "no_real_difference":
        return replace(f, verdict=found), ""
    if found == "cannot_tell":
        return replace(f, verdict=found), held
    # the end of the range nearest no difference, as a gap in the winner's favour
    near = f.low if found == "b_better" else (1 / f.high if f.scale == "ratio" else -f.high)
    return replace(f, verdict=found, exceeds="surely" if near >= matters - _SLACK else "perhaps"), held


def _held(main: Reading, as_done: Reading | None, matters: float, early: bool,
          scale_use: ScaleUse | None, leans: bool) -> str:
    if early:
        return "early"
    if scale_use is not None and scale_use.at_an_end:
        return "ceiling"
    if scale_use is not None and scale_use.alike:
        return "all_alike"
    if as_done is None or not same_by_tests(as_done):
        return "as_done"
    if scale_use is not None and not all(_inside(r, matters * (1 - scale_use.squeezed)) for r in (main, as_done)):
        return "ceiling"
    return "leans" if leans else ""


def _inside(reading: Reading, margin: float) -> bool:
    """Say whether the 90 % range lies inside the margin, that is whether both one-sided tests say so."""
    return -margin < reading.finding.low90 and reading.finding.high90 < margin
