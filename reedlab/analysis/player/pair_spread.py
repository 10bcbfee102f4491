"""How much the player's preferences scatter: in trials back to back that are over, and in hidden repeats.

A hidden repeat is one reed tried twice as if it were two, which only the helper knows: whatever is said of it is no
difference between reeds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...errors import InputError, ReedlabError
from ...rows.tables import Frames
from ...trial.calendar import calendar_of
from ...trial.ear_results import Repeats
from ...trial.protocol import Protocol
from ...wording import tr

__all__ = ["PairSpread", "Repeats", "hidden_repeats", "pair_spread"]

_LEVEL = 0.95  # of the ranges
_STEP2 = 0.5**2 / 12  # what rounding to half points adds to a variance


@dataclass(frozen=True)
class PairSpread:
    """Standard deviation of a preference in points, on `df` degrees of freedom, from so many trials and pairs."""

    sd: float
    df: int
    trials: int
    pairs: int


def pair_spread(frames: Frames) -> PairSpread | None:
    """Return the scatter of preferences in trials that are over: within each, pairs that begin with one way together.

    What a way adds, and what going first adds, are thereby left out. A trial is over when every pair is rated, or its
    last day stands in the logbook. Two reeds side by side are left out: their days differ. None without two pairs of
    one trial that begin alike.
    """
    latest = frames.sittings["date"].max()
    squares, df, trials, pairs = 0.0, 0, 0, 0
    for text in frames.trials["protocol"]:
        try:
            plan = Protocol.from_json(str(text))
        except ReedlabError:  # a plan at fault is told elsewhere
            continue
        if not plan.pairs or plan.two_reeds or plan.how_dealt == "not":
            continue
        said = _said(plan, frames)
        over = latest == latest and calendar_of(plan, frames).last_counted <= latest.date()
        if not over and sum(map(len, said)) < len(plan.units):
            continue
        groups = [np.array(x) for x in said if len(x) > 1]
        squares += sum(float(((x - x.mean()) ** 2).sum()) for x in groups)
        df += sum(len(x) - 1 for x in groups)
        pairs += sum(map(len, said))
        trials += bool(groups)
    return PairSpread(math.sqrt(max(0.0, squares / df - _STEP2)), df, trials, pairs) if df else None


def _said(plan: Protocol, frames: Frames) -> tuple[list[float], list[float]]:
    """Return what was said of the pairs, those that were dealt to begin with the first way and with the second."""
    day = {on: n for n, on in enumerate(calendar_of(plan, frames).dates(), start=1)}
    side = {u.cells[0]: arm == "B" for u, arm in zip(plan.units, plan.arms, strict=True)}
    out: tuple[list[float], list[float]] = ([], [])
    rows = frames.sittings[frames.sittings["preference"].notna() & ~frames.sittings["unsure_reed"]]
    for reed, on, points in zip(rows["reed"], rows["date"].dt.date, rows["preference"], strict=True):
        cell = (str(reed), day.get(on, 0))
        if cell in side:
            out[side[cell]].append(float(points))
    return out


def hidden_repeats(points: Sequence[float], same: Sequence[bool]) -> Repeats:
    """Read a sitting of pairs some of which were one reed twice.

    Parameters
    ----------
    points : sequence of float
        How far the first go was ahead, 0 for no difference.
    same : sequence of bool
        Which pairs were one reed twice.

    Raises
    ------
    InputError
        The two differ in length, or fewer than two pairs were one reed twice.

    Notes
    -----
    The "same" pairs of a same-different test are its blanks, and the share of them called different its false alarms;
    their range is that of Clopper and Pearson 1934, Biometrika 26, 404-413. Spread and lean: chi-squared and Student's
    t. The counts are a paired comparison with "no preference" (`beside.preferences`).
    """
    from scipy import stats

    y, blank = np.asarray(points, dtype=float), np.asarray(same, dtype=bool)
    if y.shape != blank.shape or blank.sum() < 2:
        raise InputError(tr("Wanted at least two pairs of one reed, and for every pair what was said of it."))
    x, other = y[blank], y[~blank]
    n, tail = len(x), (1 - _LEVEL) / 2
    sd, mean = float(x.std(ddof=1)), float(x.mean())
    reach = float(stats.t.isf(tail, n - 1)) * sd / math.sqrt(n)
    ends = tuple(sd * math.sqrt((n - 1) / float(stats.chi2.isf(q, n - 1))) for q in (tail, 1 - tail))
    return Repeats(
        same=n, called=int((x != 0).sum()), called_range=_share(int((x != 0).sum()), n), different=len(other),
        told=int((other != 0).sum()), told_range=_share(int((other != 0).sum()), len(other)), spread=sd,
        spread_range=(ends[0], ends[1]), lean=mean, lean_range=(mean - reach, mean + reach))


def _share(k: int, n: int) -> tuple[float, float]:
    from scipy import stats

    if not n:
        return math.nan, math.nan
    found = stats.binomtest(k, n).proportion_ci(_LEVEL, method="exact")
    return float(found.low), float(found.high)
