"""How firmly an estimate of the player's own numbers is held to what it starts from: all our assumptions."""

from __future__ import annotations

from typing import Final

__all__ = ["DAYS", "LEVEL_SD", "LIFE_EVENTS", "LOG_MINUTES_SD", "SPREAD_SD", "WEAR_SD"]

#: Spread of the logarithm of a spread between players: 19 players in 20 lie within a factor of two of the default.
SPREAD_SD: Final = 0.35
#: A default life weighs like so many worn-out reeds.
LIFE_EVENTS: Final = 2.0
#: Spreads between players of the number itself: the level, the wear of an hour, the logarithm of the minutes of a day.
LEVEL_SD: Final = 0.5
WEAR_SD: Final = 0.03
LOG_MINUTES_SD: Final = 0.5
#: A default share of days off weighs like so many days.
DAYS: Final = 10.0
