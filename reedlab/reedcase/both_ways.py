"""What may be shown of the reeds of a day-by-day trial while it is sealed: how they stand against each other.

A reed that serves both ways is rated once each way on each of its pairs of days (in a square, or by itself). Let its
rating on a day be a level of its own, plus that day's, plus `gap` where the second way was dealt. Which day of a
pair has which way was the coin's doing.

* The mean of a pair is level + both days' mean + gap/2, **whichever way the coin fell**. A function of such means
  alone says nothing of the deal: given what is shown, every arrangement that the plan could have dealt is as likely
  as before.
* Such a mean does move with the gap itself (all of them by gap/2), so beside the ratings from before the trial it
  would hint at it. The means are therefore shown **less the mean of the trial's reeds**: gap/2, the same for all,
  falls out. What is left has the same distribution for every gap, so whatever anyone believed of the gap, in
  whatever shape, stays as it was: the likelihood is flat.

So the differences between reeds are shown and nothing else: no level, no course, no single pair. They are worked out
by least squares from pairs whose reed was rated both ways, with the days evened out where the plan lets reeds share
them; from at least `FEWEST` pairs of a reed, of days gone by, to the nearest half point; their give and take comes
from a fixed noise, not from these ratings. A pair with a day on which another way was used than dealt is left out,
for its mean is no longer level + gap/2.

What this rests on: the gap is the same for all reeds (were it not, half of how much more a reed gains than the others
is among what is shown, never the gap they share), and whether a rating is written down does not hang on its way. The
page adds nothing to what it tells by itself; a player who also remembers today's ratings of two reeds can set them
against these differences, which tells no more than remembering both days of one square, where the reeds drop out.

`tests/reedcase/test_both_ways.py` plays every arrangement of a plan, over many gaps: what is shown is the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import numpy as np

from ..analysis.units.blind import blind
from ..rows.tables import Frames
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol

__all__ = ["FEWEST", "Against", "against_each_other", "of_ratings", "pairs_of"]

#: Pairs of days of a reed before anything is said of it: our assumption.
FEWEST: Final = 3
_STEP: Final = 0.5


@dataclass(frozen=True)
class Against:
    """One reed against the mean of its trial's reeds: points above it, give or take `give` (two errors), from `pairs`.

    Both are rounded to half a point, `give` to half a point at least.
    """

    above: float
    give: float
    pairs: int


def pairs_of(plan: Protocol) -> Iterator[tuple[str, tuple[int, int]]]:
    """Yield (reed, its two trial days) for each pair of days on which the plan has it serve both ways, once each.

    This follows from how the plan was laid out, not from how it was dealt.
    """
    blocks: dict[str, list[tuple[tuple[str, int], ...]]] = {}
    for unit in plan.units:
        blocks.setdefault(unit.block, []).append(unit.cells)
    for cells in blocks.values():
        if len(cells) != 2:
            continue
        days = [{reed: [d for r, d in side if r == reed] for reed, _ in side} for side in cells]
        for reed in days[0]:
            one, two = days[0][reed], days[1].get(reed, [])
            if len(one) == len(two) == 1:
                first, last = sorted((one[0], two[0]))
                yield reed, (first, last)


def against_each_other(plan: Protocol, frames: Frames, on: date, noise_sd: float) -> dict[str, Against]:
    """Return how the reeds of a running day-by-day trial stand against each other, by overall rating.

    Parameters
    ----------
    plan : Protocol
    frames : Frames
    on : date
        Only ratings of days before it count.
    noise_sd : float
        Spread of two ratings of one unchanged reed; a default, never a number from this trial's ratings.

    Returns
    -------
    dict of reed to Against
        Empty where reeds do not serve both ways, and until two reeds have `FEWEST` pairs each.
    """
    if plan.design != "day_by_day" or plan.pairs or plan.how_dealt == "not":
        return {}
    cells = blind(replace(plan, rating="overall"), frames, until=on - timedelta(days=1)).cells()
    rated = {(plan.reeds[int(r)], int(d)): float(y)
             for r, d, y in zip(cells.reed, cells.day, cells.rating, strict=True)}
    spoilt = _other_way_used(plan, frames)
    return of_ratings(plan, {cell: y for cell, y in rated.items() if cell not in spoilt}, noise_sd)


def of_ratings(plan: Protocol, rated: Mapping[tuple[str, int], float], noise_sd: float) -> dict[str, Against]:
    """Return the same from the ratings by reed and trial day."""
    whole = [(reed, days, (rated[reed, days[0]] + rated[reed, days[1]]) / 2) for reed, days in pairs_of(plan)
             if all((reed, d) in rated for d in days)]
    count = Counter(reed for reed, _, _ in whole)
    enough = [r for r in plan.reeds if count[r] >= FEWEST]
    whole = [x for x in whole if x[0] in enough]
    if len(enough) < 2:
        return {}
    above, error = _levels([enough.index(r) for r, _, _ in whole], [days for _, days, _ in whole],
                           np.array([y for _, _, y in whole]), len(enough))
    return {r: Against(_half(above[i]), max(_STEP, _half(2 * noise_sd / np.sqrt(2) * error[i])), count[r])
            for i, r in enumerate(enough)}


def _levels(reed: list[int], days: list[tuple[int, int]], mean: np.ndarray, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Return each reed's level less the mean of all, and its error for pairs of unit error; days out where they can be.

    Parameters
    ----------
    reed, days, mean
        (m,) by pair: the reed's place, its two days, and the mean of the two ratings.
    n : int
        Reeds.
    """
    held = sorted(set(days))
    x = np.zeros((len(mean), n + len(held)))
    x[np.arange(len(mean)), reed] = 1
    x[np.arange(len(mean)), [n + held.index(d) for d in days]] = 1
    if np.linalg.matrix_rank(x) < n + len(held) - 1:  # some reed shares no days with the others: the days stay in
        x = x[:, :n]
    centre = np.eye(n, x.shape[1]) - np.r_[np.ones(n), np.zeros(x.shape[1] - n)] / n
    inverse = centre @ np.linalg.pinv(x)
    return inverse @ mean, np.sqrt((inverse**2).sum(axis=1))


def _half(x: float) -> float:
    """Return x to the nearest half, halves of it away from 0, whatever the last digits of the arithmetic say."""
    return float(np.sign(x) * np.floor(abs(x) / _STEP + 0.5 + 1e-9) * _STEP) + 0.0


def _other_way_used(plan: Protocol, frames: Frames) -> set[tuple[str, int]]:
    """Return the (reed, trial day) on which another way was written down than dealt."""
    dealt = {cell: key for unit, key in zip(plan.units, plan.dealt, strict=True) for cell in unit.cells}
    rows = frames.sittings[frames.sittings["habit"].notna() & frames.sittings["reed"].isin(plan.reeds)]
    calendar = calendar_of(plan, frames)
    out = set()
    for reed, on, habit in zip(rows["reed"], rows["date"].dt.date, rows["habit"], strict=True):
        cell = (reed, calendar.number(on) or 0)
        if cell in dealt and dealt[cell] != habit:
            out.add(cell)
    return out
