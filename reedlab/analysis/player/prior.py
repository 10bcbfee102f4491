"""How firmly an estimate of the player's own numbers is held to what it starts from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["PRIOR", "Prior"]


@dataclass(frozen=True)
class Prior:
    """How firmly the defaults are held: all our assumptions.

    `spread_sd`: spread of the logarithm of a spread between players; 0.35 says that 19 players in 20 lie
    within a factor of two of the default. `life_events`: a default life weighs
    like so many worn-out reeds. The others are spreads between players of the number itself.
    """

    spread_sd: float = 0.35
    life_events: float = 2.0
    level_sd: float = 0.5
    wear_sd: float = 0.03
    log_minutes_sd: float = 0.5
    days: float = 10.0


PRIOR: Final = Prior()
