"""Every rating outcome by its key. All take a `BlindTrial`: none can see which habit was dealt or used."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from ...errors import InputError
from .blind import BlindTrial
from .day_ratings import day_rating
from .reed_ratings import mean_rating, wear_rate
from .unit_values import UnitValues

__all__ = ["RATINGS", "rating_values"]

#: Outcomes made of ratings: (blind trial, adjustments) -> UnitValues. Lives need no code of their own: a card's mark
#: ends them (`life_values`).
RATINGS: Final[Mapping[str, Callable[[BlindTrial, Sequence[str]], UnitValues]]] = MappingProxyType(
    {"day_rating": day_rating, "mean_rating": mean_rating, "wear_rate": wear_rate})


def rating_values(trial: BlindTrial, outcome: str, adjust: Sequence[str] = ()) -> UnitValues:
    """Return the units' values of a rating outcome; InputError if `outcome` is not one."""
    if outcome not in RATINGS:
        raise InputError(f"`outcome` is {outcome!r}, wanted one made of ratings: {', '.join(RATINGS)}.")
    return RATINGS[outcome](trial, adjust)
