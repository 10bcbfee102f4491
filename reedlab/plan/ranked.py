"""One row of the ranking: a question asked in one way for so long, what it can settle and what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..trial.outlook import ENOUGH

__all__ = ["Ranked"]


@dataclass(frozen=True, kw_only=True)
class Ranked:
    """One question asked in one way for so long, with what it can settle and what it costs.

    `right` is the chance that the better way is named if the ways differ by what matters, `same` that of "no difference
    that matters" if they are alike; nan where the plan is refused: `refused` says why and `instead` what can be done.
    `offered` are the best of the reeds at hand that the plan was given to take its own from.
    `changes_a_day` are the changes from one reed to the next on a day of play. `boxes` is for designs that go on from
    box to box; for these `weeks` is when half of such trials would be settled.
    """

    question: str
    title: str
    design: str
    outcome: str
    weeks: float
    days: int = 0
    offered: int = 0
    reeds: int = 0
    changes_a_day: float = 0.0
    break_in_days: int = 0
    right: float = math.nan
    same: float = math.nan
    cap_hours: float | None = None
    boxes: float | None = None
    refused: str = ""
    instead: str = ""

    @property
    def useful(self) -> float:
        """Chance of a useful answer: the mean of `right` and `same` (`Outlook.useful`); 0 where it is refused."""
        return 0.0 if self.refused else (self.right + self.same) / 2

    @property
    def can_settle(self) -> bool:
        """True where a useful answer comes more often than not."""
        return self.useful >= ENOUGH
