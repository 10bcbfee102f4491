"""What the planner hands back: the plan itself and what it can show."""

from __future__ import annotations

from dataclasses import dataclass

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
    chance : float
        Chance of a right answer if the ways truly differ by what matters, by simulation.
    forecast : Outlook
        The forecast that it comes from, at that one gap.
    layouts : DataFrame
        The layouts that were compared: layout, arrangements, least_p, after_loss, chance, chosen.
    spare : tuple of str
        Usable reeds that were not dealt.
    remarks : tuple of str
        Plain sentences for the player.
    """

    protocol: Protocol
    shown: Protocol
    least_p: float
    least_p_after_loss: float
    forecast: Outlook
    layouts: pd.DataFrame
    spare: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def chance(self) -> float:
        """Chance of a right answer at a true difference of what matters."""
        return self.forecast.right
