"""What an estimate of the player's own numbers starts from, and how firmly it is held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

__all__ = ["PRIOR", "Defaults", "Prior"]


class Defaults(Protocol):
    """The numbers to start from; `reedlab.worlds.World` has them all."""

    @property
    def level(self) -> float: ...  # noqa: D102
    @property
    def box_sd(self) -> float: ...  # noqa: D102
    @property
    def reed_sd(self) -> float: ...  # noqa: D102
    @property
    def wear_per_hour(self) -> float: ...  # noqa: D102
    @property
    def wear_sd(self) -> float: ...  # noqa: D102
    @property
    def mood_sd(self) -> float: ...  # noqa: D102
    @property
    def mood_rho(self) -> float: ...  # noqa: D102
    @property
    def noise_sd(self) -> float: ...  # noqa: D102
    @property
    def pair_noise(self) -> float: ...  # noqa: D102
    @property
    def taste_sd(self) -> float: ...  # noqa: D102
    @property
    def slow_rho(self) -> float: ...  # noqa: D102
    @property
    def air_points_sd(self) -> float: ...  # noqa: D102
    @property
    def life_median_h(self) -> float: ...  # noqa: D102
    @property
    def life_shape(self) -> float: ...  # noqa: D102
    @property
    def minutes_a_day(self) -> float: ...  # noqa: D102
    @property
    def minutes_cv(self) -> float: ...  # noqa: D102
    @property
    def day_off(self) -> float: ...  # noqa: D102
    @property
    def ramp_min(self) -> tuple[float, ...]: ...  # noqa: D102


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
