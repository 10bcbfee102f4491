"""What a plan can show, said before the start: plain data, no words, no figures."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import pandas as pd

from .protocol import Protocol

__all__ = ["ENOUGH", "Advice", "LifeNeeds", "Odds", "Option", "Outlook", "SettledBy", "StandingOutlook"]

#: A plan is said to be able to answer from this chance of a useful answer on: our assumption.
ENOUGH = 0.5


@dataclass(frozen=True)
class Odds:
    """Shares of `trials` simulated trials that end with each verdict, at one true gap (B minus A, or B over A)."""

    gap: float
    a_better: float
    b_better: float
    no_real_difference: float
    cannot_tell: float
    trials: int

    def error(self, share: float) -> float:
        """Return the Monte-Carlo standard error of a share (Wilson's centre, so that 0 and 1 have one)."""
        p = (share * self.trials + 2) / (self.trials + 4)
        return math.sqrt(p * (1 - p) / self.trials)


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What one plan can show.

    Attributes
    ----------
    protocol : Protocol
    odds : tuple of Odds
        By rising gap, all in favour of the second way; no gap and what matters are among them.
    least_p : float
        Smallest two-sided p that any result could give; for lives, what the worn-out reeds of the middle trial could.
    sittings, hours : float
        Expected rated sittings and playing hours of one reed.
    worn_out : float
        Reeds expected to be worn out by the end if the ways are alike.
    """

    protocol: Protocol
    odds: tuple[Odds, ...]
    least_p: float
    sittings: float
    hours: float
    worn_out: float

    @property
    def alike(self) -> float:
        """The gap that is none: 0, or a ratio of 1."""
        return self.protocol.card.none

    def at(self, gap: float) -> Odds:
        """Return the odds at one of the simulated gaps; KeyError if it is not among them."""
        for o in self.odds:
            if math.isclose(o.gap, gap, rel_tol=1e-9, abs_tol=1e-12):
                return o
        raise KeyError(gap)

    def to_frame(self) -> pd.DataFrame:
        """Return one row for each gap: gap, share of trials with each verdict, trials, and each share's `..._error`."""
        out = pd.DataFrame([dataclasses.asdict(o) for o in self.odds])
        shares = out.columns.difference(["gap", "trials"], sort=False)
        return out.assign(**{f"{name}_error": [o.error(getattr(o, name)) for o in self.odds] for name in shares})

    @property
    def right(self) -> float:
        """Chance that the better way is named if the ways truly differ by what matters."""
        return self.at(self.protocol.matters).b_better

    @property
    def same(self) -> float:
        """Chance of "no difference that matters" if the ways are truly alike."""
        return self.at(self.alike).no_real_difference

    @property
    def useful(self) -> float:
        """Chance of a useful answer: the mean of `right` and `same`.

        As if the ways were as likely to differ by just what matters as to be alike: our assumption, and
        only a yardstick to rank plans by.
        """
        return (self.right + self.same) / 2


@dataclass(frozen=True, kw_only=True)
class Option:
    """One plan that could be played, and its cost.

    `kind` is "as_asked", "other_design", "other_outcome", "more_weeks", "more_reeds" or "other_question".
    `reeds` are those in the plan, `more_reeds` those to be got first.
    """

    kind: str
    outlook: Outlook
    days: int
    reeds: int
    more_reeds: int = 0

    @property
    def weeks(self) -> float:
        """Length in weeks."""
        return self.days / 7

    @property
    def useful(self) -> float:
        """Chance of a useful answer (`Outlook.useful`)."""
        return self.outlook.useful


@dataclass(frozen=True)
class SettledBy:
    """When trials of one true ratio are settled: half of them, and 80 in 100. None: not within 24 boxes."""

    ratio: float
    half_boxes: float | None
    half_months: float | None
    most_boxes: float | None
    most_months: float | None


@dataclass(frozen=True)
class StandingOutlook:
    """What a standing trial can show.

    Attributes
    ----------
    rows : tuple of SettledBy
        By rising ratio of lives, in favour of either way.
    alike : SettledBy
        When two ways that are alike are called so; its `ratio` is 1.
    matters : float
    minutes_a_day, box_months : float
        Playing a day, and how long a box lasts if the ways are alike.
    right, same : float
        Chance, by the months that were asked for, that the better way is named if lives differ by what matters, and of
        "no difference that matters" if they are alike.
    """

    rows: tuple[SettledBy, ...]
    alike: SettledBy
    matters: float
    minutes_a_day: float
    box_months: float
    right: float
    same: float


@dataclass(frozen=True)
class LifeNeeds:
    """What it takes to learn which way makes reeds last longer: a first guess, from lives alone.

    `reeds` and `days` find a true `ratio` with `chance` at `minutes_a_day`; None where more than `most` reeds.
    """

    ratio: float
    chance: float
    minutes_a_day: float
    reeds: int | None
    days: int | None
    worn_out: float
    most: int


@dataclass(frozen=True, kw_only=True)
class Advice:
    """The best plan within the player's reeds and days, and two others.

    Attributes
    ----------
    ask : str
        The question.
    asked : Option or None
        The plan as asked for, within the limits; None where it was refused: `refused` says why.
    best : Option or None
        The feasible plan with the best chance of a useful answer; the one asked for if it is about as good.
    others : tuple of Option
        Up to two of other kinds, best chance first.
    nearby : Option or None
        A plan for another question that can be answered, where no feasible plan for this one can.
    life : LifeNeeds or None
        Where the question can be asked of lives.
    own_numbers : bool
        The player and the reeds were simulated from the player's own logbook as far as it goes.
    """

    ask: str
    asked: Option | None
    best: Option | None
    others: tuple[Option, ...]
    nearby: Option | None
    life: LifeNeeds | None
    minutes_a_day: float
    days_limit: int
    reeds_at_hand: int
    refused: str | None = None
    own_numbers: bool = False

    @property
    def can_answer(self) -> bool:
        """True where a feasible plan gives a useful answer more often than not."""
        return self.best is not None and self.best.useful >= ENOUGH

    @property
    def options(self) -> tuple[Option, ...]:
        """All plans of this question, best chance first."""
        found = [o for o in (self.best, *self.others) if o is not None]
        return tuple(sorted(found, key=lambda o: -o.useful))
