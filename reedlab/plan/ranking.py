"""Every question, design and length that a player could give a trial, ranked by what it can settle.

Each is played through as any plan is (`look_ahead`), so a plan drawn up afterwards has the very chance that is told
here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from ..errors import PlanRefused
from ..questions import CATALOGUE, Question
from ..trial.outcomes import OUTCOMES
from ..trial.outlook import ENOUGH
from ._bar import Progress, bar
from .at_hand import break_in_days
from .candidates import Way, check_limits
from .look_ahead import LOOK_TRIALS
from .means import Means
from .standing import OUTCOME, can_stand
from .standing_outlook import standing_outlook
from .usable import Usable, usable_reeds
from .weigh import Asked, weighed

__all__ = ["LENGTHS", "Ranked", "Ranking", "all_plans", "how_many_plans", "rank", "ranking_steps"]

#: Weeks tried: what a player may give to one question.
LENGTHS: Final = (2, 4, 8, 13, 26)
_AS_GOOD: Final = 0.05  # a longer plan must be better by more than this to be told first: our assumption
_SEED: Final = 0  # of the shuffle among reeds alike; it never shows
#: Months that a player may give to a trial that asks for nothing on any one day: our assumption.
_MONTHS: Final = 36.0
_DAYS_A_MONTH: Final = 365.25 / 12


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


@dataclass(frozen=True)
class Ranking:
    """All rows, the most useful first, and what they were weighed for."""

    rows: tuple[Ranked, ...]
    means: Means
    trials: int

    def of(self, question: str) -> tuple[Ranked, ...]:
        """Return the rows of one question, the most useful first."""
        return tuple(r for r in self.rows if r.question == question)

    def from_box_to_box(self, question: str) -> Ranked | None:
        """Return the plan of a question that goes on from box to box, the most useful one if there are several."""
        return next((r for r in self.of(question) if r.boxes is not None and not r.refused), None)

    def changing_ways(self, question: str) -> Ranked | None:
        """Return the plan of a question in which reeds have first one way, then the other: the most useful one."""
        return next((r for r in self.of(question) if _asks_more(r) and not r.refused), None)

    def best(self) -> tuple[Ranked, ...]:
        """Return one row a question: its most useful one; where that can settle it, the shortest about as useful.

        Only plans that end within the player's weeks are meant, and none that hangs on what the player alone knows:
        that what a way does is gone again after some days.
        """
        found = []
        for key in dict.fromkeys(r.question for r in self.rows):
            rows = [r for r in self.of(key) if r.boxes is None and not _asks_more(r)]
            if not rows:
                continue
            as_good = [r for r in rows if r.can_settle and r.useful >= rows[0].useful - _AS_GOOD] or rows[:1]
            found.append(min(as_good, key=lambda r: (r.weeks, -r.useful)))
        return tuple(sorted(found, key=lambda r: (bool(r.refused), -r.useful)))


def standing_rows(means: Means, question: Question) -> Iterable[Ranked]:
    """Yield the row of a standing trial of a question, if it can be asked by one.

    `right` and `same` are the chances of being settled within three years; `boxes` and `weeks` are when half of such
    trials are settled if lives differ by what matters (24 boxes and the time they take where it takes longer). It asks
    for no change of reed on any day.
    """
    if not can_stand(question) or question.key == "own":
        return
    matters = question.matters[OUTCOME]
    seen = standing_outlook(means.world, minutes_a_day=means.minutes_a_day, matters=matters, months=_MONTHS)
    mine = next((r for r in seen.rows if r.ratio == matters), seen.rows[0])
    boxes = 24.0 if mine.half_boxes is None else mine.half_boxes
    months = boxes * seen.box_months if mine.half_months is None else mine.half_months
    days = round(months * _DAYS_A_MONTH)
    yield Ranked(question=question.key, title=question.title, design="standing", outcome=OUTCOME,
                 weeks=days / 7, days=days, reeds=10 * math.ceil(boxes), boxes=math.ceil(boxes),
                 right=seen.right, same=seen.same)


#: Designs beside those of the catalogue that are judged at their end: each gives its rows for one player and question.
FURTHER: Final[tuple[Callable[[Means, Question], Iterable[Ranked]], ...]] = (standing_rows,)


def _asks_more(row: Ranked) -> bool:
    return bool(row.outcome) and OUTCOMES[row.outcome].crossover


def rank(means: Means, *, questions: Sequence[str] | None = None, trials: int = LOOK_TRIALS,
         progress: Progress = False) -> Ranking:
    """Rank every question, design and length for one player.

    Parameters
    ----------
    means : Means
    questions : sequence of str, optional
        Keys of the catalogue; all but a question of the player's own if not given.
    trials : int
        Simulated trials of each plan at each true gap.
    progress : bool or callable
        True shows a bar; a callable is told how many more plans are weighed.
    """
    work = ranking_steps(means, questions=questions, trials=trials)
    with bar(progress, how_many_plans(means, questions), "plans") as tick:
        while True:
            try:
                next(work)
            except StopIteration as end:
                done: Ranking = end.value
                return done
            tick(1)


def how_many_plans(means: Means, questions: Sequence[str] | None = None) -> int:
    """Return how many plans there are to weigh."""
    return len(all_plans(means, questions))


def ranking_steps(means: Means, *, questions: Sequence[str] | None = None,
                  trials: int = LOOK_TRIALS) -> Generator[Ranked, None, Ranking]:
    """Yield each row as it is weighed, and return the ranking: for a page that shows it meanwhile."""
    check_limits(means.minutes_a_day, 7 * means.weeks, trials)
    usable: dict[bool, Usable] = {}
    rows = []
    for q, way, days in all_plans(means, questions):
        if q.from_new not in usable:
            usable[q.from_new] = _usable(means, q.from_new)
        rows.append(_row(means, usable[q.from_new], q, way, days, trials))
        yield rows[-1]
    rows += [row for q in _asked(questions) for more in FURTHER for row in more(means, q)]
    return Ranking(tuple(sorted(rows, key=lambda r: (bool(r.refused), -r.useful, r.weeks))), means, trials)


def _asked(questions: Sequence[str] | None) -> list[Question]:
    return [CATALOGUE[k] for k in (questions or CATALOGUE) if k != "own"]


def all_plans(means: Means, questions: Sequence[str] | None = None) -> list[tuple[Question, Way, int]]:
    """Return every question, way of asking it and number of days that there is to weigh."""
    lengths = sorted({*(w for w in LENGTHS if w < means.weeks), means.weeks})
    return [(q, Way(d, o), 7 * w) for q in _asked(questions) for d in q.designs for o in q.outcomes_for(d)
            for w in lengths]


def _usable(means: Means, new: bool) -> Usable:
    return usable_reeds(means.reeds, seed=_SEED, left_out=means.played if new else (), boxes=means.boxes,
                        instrument=means.instrument)


def _row(means: Means, usable: Usable, q: Question, way: Way, days: int, trials: int) -> Ranked:
    head: dict[str, Any] = {"question": q.key, "title": q.title, "design": way.design, "outcome": way.outcome,
                            "weeks": days / 7}
    cell = weighed(Asked(means, usable, q, way, days, trials))
    if isinstance(cell, PlanRefused):
        return Ranked(**head, days=days, refused=cell.reason, instead=cell.instead)
    best = usable.best_first()[:cell.reeds]
    return Ranked(**head, **vars(cell), break_in_days=0 if q.from_new else break_in_days(
        best, means.ramps, means.minutes_a_day))
