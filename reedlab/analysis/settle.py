"""What would settle a "can't tell yet": how much more, by closed formulas fed with this trial's own spread.

A guide for the next plan, whose chance the planner then simulates. The spread is taken blind to the habits.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..practice import value
from ..result import Settle
from .life_values import Lives
from .sample_size import hazard_ratio, pairs_needed, schoenfeld_events, two_groups_needed
from .unit_values import UnitValues

__all__ = ["CHANCE", "settle_days", "settle_lives", "settle_reeds", "spread_within"]

FloatArray = npt.NDArray[np.float64]

CHANCE = 0.8
_MOST_REEDS = 200
_MOST_DAYS = 730
_MOST_WEEKS = 520.0
_LEAST_REEDS = 8  # 4 v 4 in one set: smallest p 0.029
_LEAST_SETS = 6  # pairs: smallest p 0.031
_KNOWN_EVENTS = 3


def spread_within(values: FloatArray, blocks: tuple[str, ...]) -> float:
    """Return the standard deviation of unit values within their matched sets, blind to the habits.

    nan values leave; nan where no set has two units left.
    """
    labels = np.asarray(blocks)
    total, free = 0.0, 0
    for b in np.unique(labels):
        mine = values[(labels == b) & np.isfinite(values)]
        if len(mine) > 1:
            total += float(((mine - mine.mean()) ** 2).sum())
            free += len(mine) - 1
    return math.sqrt(total / free) if free else math.nan


def settle_reeds(values: UnitValues, *, matters: float, level: float, days: int, could_ever: bool) -> Settle:
    """Return how many reeds would find a true gap of `matters` 4 times in 5 (two-group t test)."""
    have = len(values.units)
    sd = spread_within(values.values, values.blocks)
    need = None
    if math.isfinite(sd):
        each = two_groups_needed(matters, max(sd, 1e-9), chance=CHANCE, level=level)
        if 2 * each <= _MOST_REEDS:
            need = max(_LEAST_REEDS, 2 * math.ceil(each - 1e-9))
    # at the same playing a day, twice the reeds take twice the days
    weeks = days / 7 * max(1.0, need / have) if need is not None else None
    return Settle("reeds", have, need, CHANCE, matters, weeks, could_ever)


def settle_days(values: UnitValues, *, matters: float, level: float, days: int, could_ever: bool) -> Settle:
    """Return how many days of play would find a true gap of `matters` 4 times in 5 (paired t test)."""
    sets = len(set(values.blocks))
    sd = spread_within(values.values, values.blocks)
    need = None
    if math.isfinite(sd) and sets:
        pairs = max(_LEAST_SETS, math.ceil(pairs_needed(matters, max(sd, 1e-9) * math.sqrt(2), chance=CHANCE,
                                                        level=level) - 1e-9))
        wanted = math.ceil(pairs * days / sets - 1e-9)
        need = wanted if wanted <= _MOST_DAYS else None
    return Settle("days", days, need, CHANCE, matters, None if need is None else need / 7, could_ever)


def settle_lives(lives: Lives, *, matters: float, level: float, days: int, could_ever: bool) -> Settle:
    """Return how many reeds must wear out to find a true ratio of `matters` 4 times in 5, and how many weeks.

    Schoenfeld 1981, with the Weibull shape of `practice` (our assumption). Weeks follow from this trial's
    playing a week and its hours per worn-out reed (below three worn out: from the assumed median life).
    """
    have = int(lives.worn_out.sum())
    hazard = hazard_ratio(matters, value("life_shape"))
    need = math.ceil(schoenfeld_events(hazard, chance=CHANCE, level=level) - 1e-9)
    played = float(lives.hours.sum())
    if have >= _KNOWN_EVENTS:
        each = played / have
    else:
        shape = value("life_shape")
        mean = value("life_median_h") / math.log(2) ** (1 / shape) * math.gamma(1 + 1 / shape)
        each = mean / (1 - value("damage_share"))
    weeks = need * each / (played / days * 7) if played > 0 else math.inf
    if not weeks <= _MOST_WEEKS:
        return Settle("worn_out", have, None, CHANCE, matters, None, could_ever)
    return Settle("worn_out", have, need, CHANCE, matters, weeks, could_ever)
