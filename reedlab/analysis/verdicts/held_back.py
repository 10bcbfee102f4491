"""When a claim is held back: one habit has more ratings missing, or more reeds given up. Blind to the ratings.

A rating that is never written, or written later from memory, and a reed given up by choice can bend an answer in a
way that no test of the ratings sees. So their shares, one for each unit, go through the same reshuffle as the answer.

When it holds an answer back was set by simulation (`tests/benchmarks/awkward_worlds.py`): at most about 1 in 100
ordinary trials. Only the way that looks better can have gained by it, so p is one-sided for a winner, and two-sided
for sameness. And the answer must fall if what is missing was low. A mean of ratings: had the ratings that one way has
missing beyond the other's share been `depth` below the mean, the gap would move by depth · (share of B − share of A).
Lives that end by ratings: had every unrated sitting been below the mark.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray
from ...trial.dealing import Labels
from ...trial.protocol import Protocol
from ...trial.result import Finding, Uneven
from ..shuffling.deals import Deals
from ..shuffling.linear import Linear
from ..shuffling.verdict import two_sided
from ..units.left_out import Counted

__all__ = ["CHOICE_BAR", "Bars", "Falls", "bars_of", "compared", "depth", "held_back", "held_one", "p_made"]

#: (how far the gap is to move in shares missing, which trials) -> whether their claims fall.
Falls = Callable[[FloatArray, npt.NDArray[np.intp]], BoolArray]

_MANY = 0.25  # missing in all: chance alone makes wide gaps
_SURE = 0.01  # p that is enough by itself where the answer cannot be read again in full
CHOICE_BAR = 1 / 16  # p for reeds given up by choice
_LOW = 0.05  # the lowest twentieth of all ratings given
_SLACK = 1e-12
_CLAIMS: Final = ("a_better", "b_better", "no_real_difference")


@dataclass(frozen=True)
class Bars:
    """The p (one-sided for a winner) at which an answer is held back: `checked` if it falls too, `sure` in any case.

    `many` takes the place of `checked` where more than a quarter is missing in all. From a share of `whatever` on it is
    held back if it falls had all that is missing gone against it: where the two ways are held against each other, what
    is left out for how it went shows nowhere else.
    """

    checked: float
    many: float
    sure: float
    whatever: float = 2.0

    def holds(self, p: npt.ArrayLike, missing: npt.ArrayLike, falls: npt.ArrayLike) -> BoolArray:
        """Say where to hold back, for one trial or many; `missing` is the share missing in all."""
        limit = np.where(np.asarray(missing) > _MANY, self.many, self.checked)
        at = np.asarray(p, dtype=float)
        out: BoolArray = (at <= self.sure + _SLACK) | ((at <= limit + _SLACK) & np.asarray(falls, dtype=bool))
        return out

    def may(self, p: npt.ArrayLike) -> BoolArray:
        """Say where it could come to holding back, before the answer is read again."""
        out: BoolArray = np.asarray(p, dtype=float) <= max(self.checked, self.many, self.sure) + _SLACK
        return out


_BARS: Final = {"mean": Bars(1 / 10, 1 / 32, -1.0), "life": Bars(1 / 8, 1 / 32, _SURE), "wear": Bars(-1.0, -1.0, _SURE),
                "none": Bars(-1.0, -1.0, -1.0), "pairs": Bars(-1.0, -1.0, -1.0, whatever=0.15)}


def bars_of(protocol: Protocol) -> Bars:
    """Return the bars for ratings missing; none where a life is the player's word, whatever the ratings.

    In points, ratings missing would have moved the gap by a known amount had they been low.
    """
    if protocol.pairs:
        return _BARS["pairs"]
    if protocol.card.of_points:
        return _BARS["mean"]
    if not protocol.card.lives:
        return _BARS["wear"]
    return _BARS["life" if protocol.ends_by_ratings else "none"]


def depth(ratings: FloatArray) -> FloatArray:
    """Return how far the lowest ratings given lie below the mean, (..., s) -> (...); nan is not given, 0 if none is."""
    y = np.atleast_2d(np.asarray(ratings, dtype=float))
    known = np.isfinite(y)
    some = known.any(axis=-1)
    out = np.zeros(y.shape[:-1])
    if some.any():
        out[some] = np.nanmean(y[some], axis=-1) - np.nanquantile(y[some], _LOW, axis=-1)
    return out.reshape(np.shape(ratings)[:-1])


def compared(told: Counted, is_b: BoolArray, block: Labels, *, seed: int | None = None) -> Uneven:
    """Compare counts by habit: a unit's share is what is reshuffled, 0 where there are none.

    `is_b`, `block` (n,) are the deal.
    """
    (n_a, n_b), (of_a, of_b) = (x[0].astype(int).tolist() for x in told.by_way(is_b[None]))
    counts, out_of = (n_a, n_b), (of_a, of_b)
    if not n_a + n_b:
        return Uneven(told.kind, counts, out_of, 1.0, (1.0, 1.0))
    more_a, more_b = (float(p[0]) for p in _p_more(told.shares(), is_b[None], block, seed=seed))
    return Uneven(told.kind, counts, out_of, float(two_sided(more_a, more_b)), (more_a, more_b))


def held_one(main: Finding, told: Sequence[Counted], is_b: BoolArray, block: Labels, bars: Bars, falls: Falls, *,
             seed: int | None) -> tuple[Finding, str, tuple[Uneven, ...]]:
    """Return the finding of one trial, for which kind it was held back ("" where it was not), and every kind compared.

    Arguments as in `held_back`; `is_b`, `block` (n,) are the deal.
    """
    kind = str(held_back(np.array([main.verdict]), told, is_b[None], block, bars, falls, seed=seed)[0])
    found = (compared(c, is_b, block, seed=seed) for c in told)
    return (replace(main, verdict="cannot_tell", exceeds=None) if kind else main, kind,
            tuple(replace(u, held=u.kind == kind) for u in found))


def _p_more(share: FloatArray, is_b: BoolArray, block: Labels, **how: Any) -> tuple[FloatArray, FloatArray]:
    """Return the one-sided p that A has more, and that B has, of shares (k, n) dealt (k, n); `how` as in `Deals`."""
    if not len(share):
        return np.zeros(0), np.zeros(0)
    upper, lower = Linear(share, np.zeros(share.shape), Deals.whole(is_b, block, **how)).tails(0.0)
    return lower, upper


def held_back(verdict: npt.NDArray[np.str_], told: Sequence[Counted], is_b: BoolArray, block: Labels, bars: Bars,
              falls: Falls, **how: Any) -> npt.NDArray[np.str_]:
    """Return for which kind each of k claims must be held back, (k,); "" where none.

    Parameters
    ----------
    verdict : (k,) str
    told : sequence of Counted
        Of the same trials; counts of one trial may be one row.
    is_b : (k, n) bool
    block : (n,) labels
    bars : Bars
        For ratings missing.
    falls : callable
        (B's share missing less A's, which trials) -> whether their claims fall if what is missing was low; asked
        only where it decides.
    **how
        As in `Deals`.
    """
    out = np.full(len(verdict), "", dtype="U8")
    for c in told:
        if c.kind == "memory":
            continue
        count, of = c.by_way(is_b)
        at = np.flatnonzero(np.isin(verdict, _CLAIMS) & (out == "") & count.any(axis=1))
        p = p_made(verdict[at], *_p_more(c.shares()[at], is_b[at], block, **how))
        if c.kind == "given_up":
            out[at[p <= CHOICE_BAR + _SLACK]] = c.kind
            continue
        at, p = at[bars.may(p)], p[bars.may(p)]
        if len(at):
            a, b = (count / np.maximum(of, 1)).T
            missing = count[at].sum(axis=1) / np.maximum(of[at].sum(axis=1), 1)
            out[at[bars.holds(p, missing, falls((b - a)[at], at))]] = c.kind
        share = count.sum(axis=1) / np.maximum(of.sum(axis=1), 1)
        at = np.flatnonzero(np.isin(verdict, _CLAIMS) & (out == "") & (share >= bars.whatever - _SLACK))
        if len(at):
            fell = falls(np.where(verdict[at] == "a_better", -1, 1) * share[at], at)
            alike = np.flatnonzero(verdict[at] == "no_real_difference")
            if len(alike):
                fell[alike] |= falls(-share[at[alike]], at[alike])
            out[at[fell]] = c.kind
    return out


def p_made(verdict: npt.NDArray[np.str_], more_a: FloatArray, more_b: FloatArray) -> FloatArray:
    """Return the p of what could have made a claim: the winner's way has more; of sameness either way, two-sided."""
    either = two_sided(more_a, more_b)
    out: FloatArray = np.where(verdict == "b_better", more_b, np.where(verdict == "a_better", more_a, either))
    return out
