"""Every outcome by its key. All of them take a `BlindTrial`: none can see which habit was dealt or used."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from .blind import BlindTrial
from .day_ratings import day_rating
from .life_values import Lives, good_hours, life_hours
from .reed_ratings import mean_rating, wear_rate
from .unit_values import UnitValues

__all__ = ["LIVES", "RATINGS", "life_values", "rating_values"]

#: Outcomes made of ratings: (blind trial, adjustments) -> UnitValues.
RATINGS: Final[Mapping[str, Callable[[BlindTrial, Sequence[str]], UnitValues]]] = MappingProxyType(
    {"day_rating": day_rating, "mean_rating": mean_rating, "wear_rate": wear_rate})
#: Outcomes in playing hours: blind trial -> Lives.
LIVES: Final[Mapping[str, Callable[[BlindTrial], Lives]]] = MappingProxyType(
    {"life_hours": life_hours, "good_hours": good_hours})


def rating_values(trial: BlindTrial, outcome: str, adjust: Sequence[str] = ()) -> UnitValues:
    """Return the units' values of a rating outcome; KeyError if `outcome` is not one."""
    return RATINGS[outcome](trial, adjust)


def life_values(trial: BlindTrial, outcome: str) -> Lives:
    """Return the units' lives; KeyError if `outcome` is not one of lives."""
    return LIVES[outcome](trial)
