"""One result seen the way a sentence needs it: names, who leads, sizes in the player's own units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Final

from ..trial.calendar import runs_until_done
from ..trial.outcomes import OUTCOMES, no_gap
from ..trial.protocol import Protocol
from ..trial.result import Finding, Remark, TrialResult
from ..wording import date_month, tr
from . import numbers
from .names import one_line, spoken

__all__ = ["Case", "Gap", "long_date"]

_RATED: Final = {"overall": "rating", "response": "response", "tone": "tone", "stiffness": "stiffness"}
_SPANS: Final = (10, 5, 2, 1)
_SETS: Final = {"reed": "matched set", "diagonal": "swap", "sitting": "pair of days", "pair": "pair set"}
_UNITS: Final = {"reed": "reed", "diagonal": "pair of ratings", "sitting": "day of play", "pair": "pair"}
_SET_NOUNS: Final = {"matched set": tr("matched set"), "swap": tr("swap"), "pair of days": tr("pair of days"),
                     "draw": tr("draw"), "day of play": tr("day of play"), "pair set": tr("set of pairs")}


def long_date(day: date) -> str:
    """Return a date as "14 March 2026", whatever the computer's language."""
    return tr("{day} {year}").format(day=date_month(day), year=day.year)


@dataclass(frozen=True)
class Gap:
    """A size and its range, seen from one habit: a difference above 0 or a ratio above 1 favours it."""

    best: float
    low: float
    high: float


@dataclass(frozen=True)
class Case:
    """A `TrialResult` with the small facts that every sentence about it needs."""

    result: TrialResult

    @property
    def plan(self) -> Protocol:
        """The frozen plan."""
        return self.result.protocol

    @property
    def main(self) -> Finding | None:
        """The finding that carries the verdict; None while sealed."""
        return self.result.main

    @property
    def verdict(self) -> str | None:
        """The verdict; None while sealed."""
        return self.main.verdict if self.main else None

    @property
    def kind(self) -> str:
        """What is compared: rating, response, tone, stiffness, pair, reeds, wear, life or good."""
        return self.kind_of(self.plan.outcome)

    def kind_of(self, outcome: str, rating: str = "") -> str:
        """Return the kind of any outcome of this trial; `rating` is the column read, else the plan's own."""
        if self.plan.two_reeds:
            return "reeds"
        return OUTCOMES[outcome].kind or _RATED.get(rating or self.plan.rating, "rating")

    @property
    def is_ratio(self) -> bool:
        """Whether the gap is a ratio of playing hours."""
        return self.plan.card.lives

    @property
    def noun(self) -> str:
        """The unit of a difference: a point, or a step of stiffness."""
        return self.noun_of(self.plan.rating)

    def noun_of(self, rating: str) -> str:
        """Return the unit of a difference in a column of ratings, the plan's own where it is not said."""
        return "step" if (rating or self.plan.rating) == "stiffness" else "point"

    @cached_property
    def span(self) -> int:
        """Playing hours over which wear is told: no more than half the reeds were really played."""
        units = self.result.units
        if units is None or "hours" not in units or not len(units):
            return 1
        half = float(units["hours"].median())
        return next((s for s in _SPANS if s <= half), 1)

    def name(self, side: str) -> str:
        """Return the habit's own name for side "A" or "B" as it stands in a sentence, in quotes where it must."""
        return spoken(self.plan.habits["AB".index(side)].name)

    def other(self, side: str) -> str:
        """Return the other habit's own name."""
        return self.name("A" if side == "B" else "B")

    def plain_name(self, side: str) -> str:
        """Return the habit's own name in one line, to stand alone: in a legend or at the head of a column."""
        return one_line(self.plan.habits["AB".index(side)].name)

    def name_of(self, key: str) -> str:
        """Return the habit's own name for its key."""
        return self.name("A" if key == self.plan.habits[0].key else "B")

    @property
    def winner(self) -> str | None:
        """The side with the better verdict, or None."""
        return {"a_better": "A", "b_better": "B"}.get(self.verdict or "")

    @property
    def enough(self) -> str:
        """Whether a winner's gap is "surely", "perhaps" or "not" as big as what matters; "" without a winner."""
        if self.main is None or self.winner is None:
            return ""
        gap = self.gap(self.main, self.winner)
        if self.main.exceeds == "surely" or (self.main.exceeds is None and gap.low >= self.matters):
            return "surely"
        return "not" if gap.high < self.matters else "perhaps"

    def leaning(self, found: Finding) -> str | None:
        """Return the side that a finding's estimate favours; None where, rounded, it favours neither."""
        zero = no_gap(found.scale)
        if math.isnan(found.estimate) or self._rounds_away(found):
            return None
        return "B" if found.estimate > zero else "A"

    def _rounds_away(self, found: Finding) -> bool:
        """Whether the estimate, told as finely as its range allows, is no gap."""
        if found.scale == "ratio":
            return 1 / 1.05 < found.estimate < 1.05
        k = self.unit_scale(found.outcome)
        return abs(k * found.estimate) < numbers.step_for(k * found.low, k * found.high) / 2

    @property
    def lead(self) -> str | None:
        """The winner, or else the side the estimate leans to."""
        return self.winner or (self.leaning(self.main) if self.main else None)

    def unit_scale(self, outcome: str) -> float:
        """Return what a difference is multiplied by to be told (wear is told over `span` hours)."""
        return float(self.span) if OUTCOMES[outcome].per_hour else 1.0

    def gap(self, found: Finding, side: str) -> Gap:
        """Return the finding seen from `side`, in told units."""
        if found.scale == "ratio":
            if side == "B":
                return Gap(found.estimate, found.low, found.high)
            return Gap(_upside_down(found.estimate), _upside_down(found.high), _upside_down(found.low))
        k = self.unit_scale(found.outcome)
        if side == "B":
            return Gap(k * found.estimate, k * found.low, k * found.high)
        return Gap(-k * found.estimate, -k * found.high, -k * found.low)

    @property
    def set_noun(self) -> str:
        """What is shuffled within: a matched set of reeds, a swap of two reeds over two days, a pair of days."""
        return _SET_NOUNS[self._set]

    @property
    def _set(self) -> str:
        if self.plan.two_reeds and len({u.block for u in self.plan.units}) == len({s.day for s in self.plan.slots}):
            return "day of play"
        return "draw" if self.plan.of_boxes else _SETS[self.plan.unit_kind]

    def sets(self, n: float) -> str:
        """Return so many of them: "1 matched set", "7 swaps"."""
        return numbers.count(n, self._set)

    def counted_units(self, n: float) -> str:
        """Return so many units, each counted once: "12 reeds", "14 days of play", "1 pair of ratings"."""
        return numbers.count(n, "rating" if self.plan.of_boxes else _UNITS[self.plan.unit_kind])

    @property
    def matters(self) -> float:
        """The smallest difference that matters, in told units."""
        return self.plan.matters * self.unit_scale(self.plan.outcome)

    def lines(self, found: Finding) -> tuple[float, ...]:
        """Return the sizes that rounding must not cross: no gap, and what matters (for the main outcome)."""
        zero = no_gap(found.scale)
        main = found.outcome == self.plan.outcome and found.rating in ("", self.plan.rating)
        return (zero, self.matters) if main else (zero,)

    def size(self, found: Finding, x: float) -> str:
        """Return a size without its side: "1.2 points", "1.8 times". Ratios below 1 are turned over."""
        if found.scale == "ratio":
            return numbers.times(x if x >= 1 else _upside_down(x), self.lines(found))
        step = numbers.step_for(*(self.unit_scale(found.outcome) * e for e in (found.low, found.high)))
        return numbers.size(x, self.noun_of(found.rating), step, self.lines(found))

    @property
    def matters_text(self) -> str:
        """What matters, in words: "1 point", "half a point in 5 playing hours", "1.5 times as long"."""
        if self.is_ratio:
            return tr("{times} as long").format(times=numbers.times(self.plan.matters))
        text = numbers.size(self.matters, self.noun, 0.1)
        if self.kind == "wear":
            return tr("{size} in {hours}").format(size=text, hours=numbers.hours(self.span))
        return text

    @property
    def gap_text(self) -> str:
        """The gap that matters as a thing to be found: "a gap of 1 point", "a life 1.5 times as long"."""
        said = tr("a life {size}") if self.is_ratio else tr("a gap of {size}")
        return said.format(size=self.matters_text)

    @property
    def early(self) -> bool:
        """Whether the answer was read before the planned end."""
        return self.result.state in ("opened_early", "ended_early")

    @property
    def is_diary(self) -> bool:
        """Whether nothing was shuffled."""
        return self.verdict == "hint_only" or self.result.state == "diary"

    @property
    def never(self) -> bool:
        """Whether this trial could never have told."""
        return self.remark("could_never_tell") is not None

    @property
    def lost_too_much(self) -> bool:
        """Whether the plan could have told, and what is left of it could not."""
        gone = self.remark("could_never_tell")
        return gone is not None and gone.fact("why") == "too_few_blocks" and self.remark("too_few_blocks") is None

    @property
    def until_done(self) -> bool:
        """Whether the trial has no last day: it stands, or runs until every reed is worn out or reaches its cap."""
        return runs_until_done(self.plan)

    def remark(self, code: str) -> Remark | None:
        """Return the remark with this code, or None."""
        return next((r for r in self.result.remarks if r.code == code), None)

    @property
    def opens(self) -> date:
        """The first day on which the answer may be read."""
        return date.fromisoformat(self.result.progress.last_day[:10]) + timedelta(days=1)


def _upside_down(ratio: float) -> float:
    if ratio == 0:
        return math.inf
    return 0.0 if math.isinf(ratio) else 1 / ratio
