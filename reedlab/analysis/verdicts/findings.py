"""From unit values and the deal to a finding: the one place where values and habits meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ...trial.arrays import BoolArray, FloatArray
from ...trial.outcomes import OUTCOMES
from ...trial.protocol import Protocol
from ...trial.result import Finding
from ..shuffling._units import Units, gather
from ..shuffling.coin_odds import CoinOdds
from ..shuffling.deals import Deals
from ..shuffling.in_full import InFull
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.linear import Linear
from ..shuffling.past_lives import PastLives
from ..shuffling.shuffles import SAMPLES
from ..shuffling.verdict import SAMENESS_P
from ..units.life_tables import median_life
from ..units.life_values import Lives
from ..units.unit_values import UnitValues

__all__ = ["Reading", "read_difference", "read_lives"]

_NAN = float("nan")
#: Arrangements drawn for an old diary: only its estimate is told, and years of days need not be shuffled so often.
_DIARY_SAMPLES: Final = 1_000


@dataclass(frozen=True)
class Reading:
    """A finding with what its verdict needs besides: its test, of one row (None: nothing to test), and who counted.

    `used` (n,) marks the units that counted.
    """

    finding: Finding
    test: Linear | LifeRatios | CoinOdds | None
    used: BoolArray


def _gathered(present: BoolArray, protocol: Protocol) -> tuple[Units, BoolArray]:
    """Return what is left to compare, and which units (n,) that are."""
    units = gather(present, protocol.arms, protocol.blocks, [])
    used = np.zeros(len(present), dtype=bool)
    used[units.keep] = True
    return units, used


def read_difference(
    protocol: Protocol, values: UnitValues, share: FloatArray, *, reading: str, level: float,
    same_p: float = SAMENESS_P,
) -> Reading:
    """Test the gap of an outcome that is linear in the ratings.

    Parameters
    ----------
    protocol : Protocol
        Gives the deal.
    values : UnitValues
        Computed blind.
    share : ndarray (c,)
        How much of each cell counts as B: as dealt or as done.
    reading : str
        Name of the reading, for the finding.
    level : float
        Of the range.
    same_p : float
        p of each one-sided test of sameness: the finding's second range is at 1 - 2 `same_p`.
    """
    units, used = _gathered(values.present, protocol)
    card = OUTCOMES[values.outcome]
    means = None if card.pairs else _means_of_ways(values, share, used) if card.crossover else (
        _mean(values.plain[used & ~protocol.dealt_b]), _mean(values.plain[used & protocol.dealt_b]))
    common: dict[str, Any] = {
        "outcome": values.outcome, "reading": reading, "scale": card.scale, "level": level,
        "units": units.counts, "blocks": units.blocks_used, "blocks_dropped": units.dropped, "means": means,
        "rating": protocol.rating, "same_level": 1 - 2 * same_p}
    if not units.keep.size:
        return Reading(Finding(**common, **InFull.nothing(0.0).told()), None, used)
    deals = Deals.whole(units.is_b, units.block, seed=protocol.seed,
                        samples=_DIARY_SAMPLES if protocol.how_dealt == "not" else SAMPLES)
    test = Linear(values.values[None, units.keep], values.effect(share)[None, units.keep], deals)
    return Reading(Finding(**common, **test.in_full(0, level=level, same_p=same_p).told()), test, used)


def _means_of_ways(values: UnitValues, share: FloatArray, used: BoolArray) -> tuple[float, float]:
    """Return the mean of the reeds' mean ratings with either way, of reeds that had both."""
    n = len(values.units)
    out = []
    for with_way in (share < 0.5, share >= 0.5):
        count = np.bincount(values.unit_of_cell, with_way, n)
        total = np.bincount(values.unit_of_cell, values.cells.rating * with_way, n)
        here = used & (count > 0)
        out.append(_mean(total[here] / count[here]))
    return out[0], out[1]


def read_lives(
    protocol: Protocol, lives: Lives, *, reading: str, level: float, damage_counts: bool = False,
    share: FloatArray | None = None, medians: bool = True, same_p: float = SAMENESS_P,
) -> Reading:
    """Test the ratio of lives.

    Parameters
    ----------
    protocol, lives
        The deal, and lives computed blind.
    reading, level, same_p
        As in `read_difference`.
    damage_counts : bool
        A damaged reed counts as worn out at that hour.
    share : ndarray (n,), optional
        Share of each unit's sittings done on B, for the reading as done.
    medians : bool
        False leaves out the median lives, which decide nothing.
    """
    event = lives.worn_out | lives.damaged if damage_counts else lives.worn_out
    units, used = _gathered(lives.hours > 0, protocol)
    groups = (used & ~protocol.dealt_b, used & protocol.dealt_b)
    events = tuple(int(event[who].sum()) for who in groups)
    means = tuple(_median(lives.hours, event, who) if medians else _NAN for who in groups)
    common: dict[str, Any] = {
        "outcome": lives.outcome, "reading": reading, "scale": "ratio", "level": level, "units": units.counts,
        "blocks": units.blocks_used, "blocks_dropped": units.dropped, "events": events, "means": means,
        "same_level": 1 - 2 * same_p}
    if not units.keep.size:
        return Reading(Finding(**common, **InFull.nothing(1.0).told()), None, used)
    keep = units.keep
    deals = Deals.whole(units.is_b, units.block, seed=protocol.seed)
    test = LifeRatios(lives.hours[None, keep], event[None, keep], deals,
                      share=None if share is None else share[None, keep],
                      watched=None if lives.watched is None else lives.watched[None, keep],
                      past=PastLives.of(protocol.past_lives))
    return Reading(Finding(**common, **test.in_full(0, level=level, same_p=same_p).told()), test, used)


def _mean(values: FloatArray) -> float:
    return float(values.mean()) if len(values) else _NAN


def _median(hours: FloatArray, event: BoolArray, who: BoolArray) -> float:
    return median_life(hours[who], event[who]) if who.any() else _NAN
