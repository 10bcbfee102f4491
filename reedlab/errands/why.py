"""Why not just try it? The casual comparison and the fair plan on the same imagined players, to show a class."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
from statsmodels.stats.proportion import proportion_confint

from ..analysis.batch import judge_batch
from ..errors import InputError
from ..plan import draw_up
from ..rows.tables import typed
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World, batch_trials, simulate
from ..worlds.casual import casual_trials

__all__ = ["METHODS", "Told", "Why", "fair_plan", "why"]

#: The ways of comparing, in the order they are shown: key, reeds on the go (0: the fair plan).
METHODS: tuple[tuple[str, int], ...] = (("one reed", 1), ("three reeds", 3), ("fair", 0))
_PART = 100
_MOST = 5000


@dataclass(frozen=True)
class Told:
    """What one way of comparing told so many players: the second way is better, the first is, or they are the same.

    A casual trial that finds nothing claims nothing here, though its player may well take it for "the same".
    """

    method: str
    players: int
    second: int
    first: int
    same: int = 0

    @property
    def named(self) -> int:
        """Players who were told of a better way."""
        return self.first + self.second

    @property
    def ends(self) -> tuple[float, float]:
        """Ends of the exact 95 % range of the share told of a better way (Clopper & Pearson 1934)."""
        low, high = proportion_confint(self.named, self.players, alpha=0.05, method="beta")
        return float(np.nan_to_num(low)), float(np.nan_to_num(high, nan=1.0))


@dataclass(frozen=True)
class Why:
    """Both comparisons on imagined players.

    Attributes
    ----------
    ratings : (days,) float
        The casual trial of one player who was told of a difference that is not there, nan on a day off; the
        second way starts half-way. None where nobody was.
    alike, apart : tuple of Told
        By `METHODS`; where the ways are alike, and where the second is truly better by `gap` points.
    days : int
        Days of the fair plan.
    reeds : int
        Its reeds.
    """

    ratings: npt.NDArray[np.float64] | None
    alike: tuple[Told, ...]
    apart: tuple[Told, ...]
    gap: float
    players: int
    seed: int
    days: int
    reeds: int


def fair_plan(seed: int) -> Protocol:
    """Return the usual fair plan of the same question: four reeds of one box, a fortnight, day by day."""
    reeds = typed("reeds", [{"reed": f"1-{k:02d}", "box": "1", "first_play": 7.0 - k / 2} for k in range(1, 5)])
    return draw_up("wetting", reeds, start=date(2026, 1, 5), seed=seed, instrument="clarinet",
                   design="day_by_day").protocol


def why(players: int = 300, seed: int = 1, *, gap: float = 1.0,
        step: Callable[[int], object] | None = None) -> Why:
    """Let imagined players compare two ways, casually and fairly, where these are alike and where they differ.

    Parameters
    ----------
    players : int
        Players for each comparison, 10 to 5000.
    seed : int
        Same seed, same players.
    gap : float
        True difference where there is one, in points.
    step : callable, optional
        Told how many players have just been done; there are ``2 * len(METHODS) * players``.

    Raises
    ------
    InputError
        A number is out of range.

    Notes
    -----
    The casual comparison is `worlds.casual`: a fortnight each way and a t-test at 0.05. The fair one goes through
    the outcome, test and verdict that a player's own trial goes through (`analysis.batch`).
    """
    faults = []
    if isinstance(players, bool) or not isinstance(players, int) or not 10 <= players <= _MOST:
        faults.append(tr("Players: {players!r}, wanted a whole number from 10 to {most}.").format(
                          players=players, most=_MOST))
    if isinstance(seed, bool) or not isinstance(seed, int) or not 0 <= seed < 2**31:
        faults.append(tr("Number of the draw: {seed!r}, wanted a whole number, 0 or more.").format(seed=seed))
    if not 0 < gap <= 5:
        faults.append(tr("True difference: {gap!r}, wanted above 0, at most 5 points.").format(gap=gap))
    if faults:
        raise InputError("\n".join(faults))
    tell = step or (lambda done: None)
    plan = fair_plan(seed)
    ratings, told = None, []
    for truth in (0.0, gap):
        now = World(effect_points=truth)
        row = []
        for method, reeds in METHODS:
            if not reeds:
                row.append(_fair(now, players, seed, tell))
                continue
            tried = casual_trials(now, players, seed, reeds=reeds)
            claimed = tried.p_value <= 0.05
            row.append(Told(method, players, int((claimed & (tried.gap > 0)).sum()),
                            int((claimed & (tried.gap < 0)).sum())))
            if ratings is None and not truth and claimed.any():
                ratings = tried.ratings[_telling(tried.p_value, tried.gap)]
            tell(players)
        told.append(tuple(row))
    return Why(ratings, told[0], told[1], gap, players, seed, plan.days, len(plan.reeds))


def _telling(p_value: npt.NDArray[np.float64], gap: npt.NDArray[np.float64]) -> int:
    """Return a player told of a difference: the middle one of them by the size of the gap, no extreme case."""
    claimed = np.flatnonzero(p_value <= 0.05)
    return int(claimed[np.argsort(np.abs(gap[claimed]), kind="stable")[len(claimed) // 2]])


def _fair(world: World, players: int, seed: int, tell: Callable[[int], object]) -> Told:
    plan = fair_plan(seed)
    first = second = same = 0
    seeds = np.random.SeedSequence([seed, 5]).generate_state(-(-players // _PART))
    for i, s in enumerate(seeds):
        n = min(_PART, players - i * _PART)
        verdict = judge_batch(batch_trials(simulate(plan, world, n, int(s), fresh_deals=True))).verdict
        first += int((verdict == "a_better").sum())
        second += int((verdict == "b_better").sum())
        same += int((verdict == "no_real_difference").sum())
        tell(n)
    return Told("fair", players, second, first, same)
