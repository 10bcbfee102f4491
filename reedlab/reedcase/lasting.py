"""How long reeds may still last, with a width that says how little is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..analysis.player.spreads import LIFE_EVENTS, Estimate

__all__ = ["LOW", "LifeBelief", "Span", "belief", "left", "reserve"]

#: A span runs from the 1st to the 9th tenth: four times in five the truth should lie in it.
LOW: Final = 0.1
_DRAWS: Final = 2000


@dataclass(frozen=True)
class Span:
    """A range that should hold the truth four times in five."""

    low: float
    high: float


@dataclass(frozen=True)
class LifeBelief:
    """What is believed of lives T: T^shape is exponential, its rate gamma with `alpha` and rate `beta`.

    `worn_out` counts the player's own reeds that it rests on.
    """

    alpha: float
    beta: float
    shape: float
    worn_out: int


def belief(life: Estimate, shape: float) -> LifeBelief:
    """Return the belief behind the estimate of a median life.

    Parameters
    ----------
    life : Estimate
        `own_numbers(...)["life_median_h"]`: a Weibull of fixed shape with a conjugate prior that weighs like
        `LIFE_EVENTS` worn-out reeds.
    shape : float
        The Weibull shape it was made with.
    """
    alpha = LIFE_EVENTS + life.rests_on
    scale = life.value / math.log(2) ** (1 / shape)
    return LifeBelief(alpha, alpha * scale**shape, shape, life.rests_on)


def left(life: LifeBelief, played_h: float, share: float) -> float:
    """Return the playing hours left that a reed of this age falls short of with probability `share`.

    The player's own lives are uncertain too, so the width is that of a forecast: given a reed that still plays
    after a hours, P(T^k - a^k > x) = (beta / (beta + x))^alpha (Lomax). Its own hours are among those that the
    belief rests on already.
    """
    more = life.beta * ((1 - share) ** (-1 / life.alpha) - 1)
    total: float = (played_h**life.shape + more) ** (1 / life.shape)
    return total - played_h


def span(life: LifeBelief, played_h: float) -> Span:
    """Return the hours left of one reed."""
    return Span(left(life, played_h, LOW), left(life, played_h, 1 - LOW))


def reserve(life: LifeBelief, played_h: Sequence[float], hours_a_day: float, least: int) -> Span | None:
    """Return the days until fewer than `least` of these reeds are left, played in turn; None if so already.

    Parameters
    ----------
    played_h : sequence of float
        Playing hours of each reed in use.
    hours_a_day : float
        Hours of playing a calendar day, over all reeds.
    least : int
        Reeds wanted on the go.
    """
    n = len(played_h)
    if n < least or hours_a_day <= 0:
        return None
    rng = np.random.default_rng(n)
    rate = rng.gamma(life.alpha, 1 / life.beta, (_DRAWS, 1))
    age = np.asarray(played_h, dtype=float)
    total = (age**life.shape + rng.exponential(1.0, (_DRAWS, n)) / rate) ** (1 / life.shape)
    ends = np.sort(total - age, axis=1)[:, : n - least + 1]
    steps = np.diff(ends, axis=1, prepend=0.0)
    days = (steps * np.arange(n, least - 1, -1)).sum(axis=1) / hours_a_day
    low, high = np.quantile(days, [LOW, 1 - LOW])
    return Span(float(low), float(high))
