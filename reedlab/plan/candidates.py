"""The plans worth weighing for one question: drawn up within limits, and played through."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeVar

import pandas as pd

from ..errors import InputError, PlanRefused
from ..questions import Question
from ..trial.outcomes import OUTCOMES
from ..trial.outlook import Option, Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World
from .draft import Draft
from .draw_up import draw_up
from .imagined import with_more_reeds
from .look_ahead import outlook
from .refuse import too_short

__all__ = ["Desk", "Way", "highest_cap"]

_QUICK = 100  # simulations of the planner's own first guess, which only picks the layout
_LEAST_CAP = 0.5  # playing hours of a reed below which a cap makes no sense: our assumption
_FEW = 8  # the fewest reeds with which reed by reed works: four for each way


T = TypeVar("T")


@dataclass(frozen=True)
class Way:
    """One way to ask a question."""

    design: str
    outcome: str

    @property
    def lives(self) -> bool:
        """True where lives are compared."""
        return OUTCOMES[self.outcome].lives


@dataclass
class Desk:
    """Draws up plans for one question and remembers each: `more` are the wishes common to all of them."""

    question: Question
    reeds: pd.DataFrame
    minutes_a_day: float
    world: World
    seed: int
    start: date
    instrument: str
    matters: float | None
    trials: int
    more: dict[str, Any] = field(default_factory=dict)
    step: Callable[[int], None] | None = None
    level_of: Callable[[Protocol], float] | None = None  # what a plan will be judged at; its own level if not given
    refusals: dict[Way, PlanRefused] = field(default_factory=dict)
    _drawn: dict[tuple[Way, int, int], Draft | None] = field(default_factory=dict)
    _played: dict[tuple[Way, int, int], Outlook] = field(default_factory=dict)

    def draft(self, way: Way, days: int, more_reeds: int = 0) -> Draft | None:
        """Return the plan over so many days, or None where it is refused (the reason is kept)."""
        key = (way, days, more_reeds)
        if key not in self._drawn:
            try:
                self._drawn[key] = self._draw(way, days, more_reeds)
            except PlanRefused as no:
                self.refusals.setdefault(way, no)
                self._drawn[key] = None
        return self._drawn[key]

    def option(self, kind: str, way: Way, days: int, more_reeds: int = 0) -> Option | None:
        """Return the plan as an option, played through; None where it is refused."""
        draft = self.draft(way, days, more_reeds)
        if draft is None:
            return None
        key = (way, days, more_reeds)
        if key not in self._played:
            self._played[key] = self._play(draft)
        p = draft.protocol
        return Option(kind=kind, outlook=self._played[key], days=p.days, reeds=len(p.reeds), more_reeds=more_reeds)

    def _play(self, draft: Draft) -> Outlook:
        plan = draft.protocol
        level = plan.level if self.level_of is None else self.level_of(plan)
        return outlook(dataclasses.replace(plan, level=level), shown=draft.shown, world=self.world, gaps=(),
                       trials=self.trials, progress=self.step or False)

    def _draw(self, way: Way, days: int, more_reeds: int) -> Draft:
        table = with_more_reeds(self.reeds, more_reeds, self.world, self.seed) if more_reeds else self.reeds
        given: dict[str, Any] = {
            **self.more, "design": way.design, "outcome": way.outcome, "days": days, "start": self.start,
            "seed": self.seed, "instrument": self.instrument, "minutes_a_day": self.minutes_a_day,
            "world": self.world, "simulations": _QUICK, "compared": False,
            "matters": self.matters if self._asked_about(way) else None}
        if self.question.same_days:
            return draw_up(self.question, table, **given)
        return highest_cap(table[~table["set_aside"]], days, self.minutes_a_day,
                           lambda reeds, cap: draw_up(self.question, reeds, **{**given, "cap_hours": cap}))

    def _asked_about(self, way: Way) -> bool:
        """True where `matters` is in the unit of this way's outcome."""
        asked = self.more.get("outcome") or self.question.outcome_for(self.question.design)
        return self.matters is not None and OUTCOMES[way.outcome].unit == OUTCOMES[asked].unit


def highest_cap(table: pd.DataFrame, days: int, minutes_a_day: float,
                draw: Callable[[pd.DataFrame, float], T]) -> T:
    """Draw a plan whose habit sets the hours with the highest cap that all reeds can reach in the days there are.

    Where that is too low for each reed to be rated often enough, only the best of the first play are taken.

    Parameters
    ----------
    table : DataFrame
        The reeds that may be dealt, with their `first_play`.
    draw : callable
        Given reeds and a cap, returns the plan or raises PlanRefused.
    """
    few = table.sort_values("first_play", ascending=False, kind="stable").head(_FEW)
    last: PlanRefused | None = None
    for reeds in (table, few):
        cap = math.floor(2 * days * minutes_a_day / 60 / max(1, len(reeds))) / 2
        while cap >= _LEAST_CAP:
            try:
                return draw(reeds, cap)
            except PlanRefused as no:
                last = no
                if no.code != "too_short":
                    raise
            cap -= 0.5
    if last is None:
        raise too_short(days, math.ceil(_FEW * 60 / minutes_a_day), tr("the reeds would hardly be played."))
    raise last


def check_limits(minutes_a_day: float, days_limit: int, trials: int) -> None:
    """Raise InputError naming every limit that is out of range."""
    faults = []
    if not 10 <= minutes_a_day <= 720:
        faults.append(tr("minutes of play a day: {minutes_a_day!r}, wanted 10 to 720").format(
                          minutes_a_day=minutes_a_day))
    if not 1 <= days_limit <= 1000:
        faults.append(tr("days at most: {days_limit!r}, wanted 1 to 1000").format(days_limit=days_limit))
    if trials < 50:
        faults.append(tr("`trials` is {trials!r}, wanted at least 50").format(trials=trials))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
