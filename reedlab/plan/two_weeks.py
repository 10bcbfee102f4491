"""What a player can and cannot learn in two weeks: every question of the catalogue, by the forecast."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import pandas as pd

from ..errors import PlanRefused
from ..questions import CATALOGUE
from ..rows.tables import typed
from ..trial.outlook import Outlook
from ..worlds import World
from ._bar import Progress
from .candidates import Desk, Way
from .imagined import box_of_new_reeds
from .look_ahead import outlook

__all__ = ["TwoWeeks", "two_weeks"]

_DAYS = 14


@dataclass(frozen=True)
class TwoWeeks:
    """One question asked for two weeks, of one outcome. `plan` is None where it is refused; `why` says so."""

    question: str
    title: str
    outcome: str
    plan: Outlook | None
    twice: float
    why: str = ""

    @property
    def wrong(self) -> float:
        """Chance of naming a way where there is no difference; nan without a plan."""
        if self.plan is None:
            return float("nan")
        odds = self.plan.at(self.plan.alike)
        return odds.a_better + odds.b_better


def two_weeks(world: World | None = None, *, minutes_a_day: float = 60, trials: int = 1000, seed: int = 1,
              lives: bool = True, progress: Progress = False) -> list[TwoWeeks]:
    """Forecast the two-week plan of every question, and of its life where it has one.

    One box of ten reeds with first-play ratings (two boxes where boxes are compared), no helper, an hour a day;
    the outcome is each question's default one. Where the habit sets the hours, the cap is what two weeks allow.

    Parameters
    ----------
    world : World, optional
        Default: our assumptions.
    trials : int
        Simulated trials at each true gap: none, what matters, twice that (of a ratio: its square).
    lives : bool
        Add the life in playing hours of every question that allows it.
    """
    world = (World() if world is None else world).but(minutes_a_day=minutes_a_day)
    out = []
    for key, question in CATALOGUE.items():
        boxes = 2 if key == "cut_or_strength" else 1
        reeds = typed("reeds", pd.concat([box_of_new_reeds(str(b), world, seed + b).astype(object)
                                          for b in range(1, boxes + 1)], ignore_index=True))
        first = question.outcome_for(question.design)
        ways = [Way(question.design, first)]
        if lives and "life_hours" in question.outcomes:
            ways.append(Way("reed_by_reed", "life_hours"))
        for way in ways:
            desk = Desk(question, reeds, minutes_a_day, world, seed, date(2001, 3, 1), "clarinet", None, trials)
            draft = desk.draft(way, _DAYS)
            if draft is None:
                refusal: PlanRefused = desk.refusals[way]
                out.append(TwoWeeks(key, question.title, way.outcome, None, float("nan"), refusal.reason))
                continue
            m = draft.protocol.matters
            twice = m * m if draft.protocol.card.lives else 2 * m
            found = outlook(draft.protocol, shown=draft.shown, world=world, gaps=(twice,), trials=trials, seed=seed,
                            progress=progress)
            out.append(TwoWeeks(key, question.title, way.outcome, found, found.at(twice).b_better))
    return out
