"""What the planner hands back: the plan itself and what it can show."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from ..trial.outlook import Outlook
from ..trial.protocol import Protocol

__all__ = ["Draft"]


@dataclass(frozen=True)
class Draft:
    """A plan that is not started yet.

    Attributes
    ----------
    protocol : Protocol
        Ready to be frozen.
    shown : Protocol
        The plan that is played through in its place: one for all plans of its shape (`stand_in`).
    least_p : float
        Smallest two-sided p that any result of this plan could give.
    least_p_after_loss : float
        The same once the matched set (or square, or pair of days) that costs most is lost; 1 where the plan
        is one single set.
    least_p_after_reed : float
        Reed by reed: the same once the one reed that costs most is lost; day by day equal to
        `least_p_after_loss`.
    chance : float
        Chance of a right answer if the ways truly differ by what matters, by simulation.
    forecast : Outlook
        The forecast that it comes from, at that one gap.
    layouts : DataFrame
        The layouts that were compared: layout, units, arrangements, least_p, after_loss, after_reed, chance,
        chosen.
    spare : tuple of str
        Usable reeds that were not dealt.
    hours : float
        Playing hours of one reed that the plan gives, reed by reed; of rating slots only, day by day.
    worn_out : float or None
        For lives: reeds expected to be worn out by the end.
    remarks : tuple of str
        Plain sentences for the player.
    """

    protocol: Protocol
    shown: Protocol
    least_p: float
    least_p_after_loss: float
    least_p_after_reed: float
    forecast: Outlook
    layouts: pd.DataFrame
    spare: tuple[str, ...] = ()
    hours: float = 0.0
    worn_out: float | None = None
    remarks: tuple[str, ...] = field(default=())

    @property
    def chance(self) -> float:
        """Chance of a right answer at a true difference of what matters."""
        return self.forecast.right
