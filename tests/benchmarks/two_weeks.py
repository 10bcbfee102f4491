"""Print the two-week truth: what the default two-week plan of every question can and cannot show.

Run: ``python -m tests.benchmarks.two_weeks [trials]``. The numbers are our assumptions played through.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from reedlab.errors import PlanRefused
from reedlab.plan.candidates import Desk, Way
from reedlab.plan.look_ahead import outlook
from reedlab.questions import CATALOGUE
from reedlab.summary.words.forecast import gap_words
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.outlook import Outlook
from reedlab.worlds import World

from .settles import reeds_of, what_settles

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
    settles: str = ""

    @property
    def wrong(self) -> float:
        """Chance of naming a way where there is no difference; nan without a plan."""
        if self.plan is None:
            return float("nan")
        odds = self.plan.at(self.plan.alike)
        return odds.a_better + odds.b_better


def two_weeks(world: World | None = None, *, minutes_a_day: float = 60, trials: int = 1000, seed: int = 1,
              lives: bool = True, settles: int = 0, progress: bool = False) -> list[TwoWeeks]:
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
    settles : int
        Say what settles each, too, from so many trials of each plan tried (`settles.py`); 0 leaves it out.
    """
    world = (World() if world is None else world).but(minutes_a_day=minutes_a_day)
    out = []
    for key, question in CATALOGUE.items():
        reeds = reeds_of(question, world, seed)
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
            out.append(TwoWeeks(key, question.title, way.outcome, found, found.at(twice).b_better, settles=(
                what_settles(key, way.outcome, world, trials=settles, seed=seed) if settles else "")))
    return out


_HEAD: Final = (
    "Question", "Judged by", "Plan", "Matters", "Names the better way, if it is better by that",
    "... by twice that", "Says \"no difference that matters\", if there is none", "Names a way, if there is none",
    "Smallest chance p", "What settles it, and when")


def two_weeks_table(rows: Sequence[TwoWeeks]) -> str:
    """Return the table, chances as times in 100; twice a ratio means its square."""
    lines = ["| " + " | ".join(_HEAD) + " |", "|" + "---|" * len(_HEAD)]
    for r in rows:
        if r.plan is None:
            lines.append(f"| {r.title} | {OUTCOMES[r.outcome].short} | none: {r.why} |" + " |" * (len(_HEAD) - 3))
            continue
        p = r.plan.protocol
        kind = "day by day" if p.design == "day_by_day" else "reed by reed"
        plan = f"{kind}, {len(p.reeds)} reeds, {p.days} days"
        if p.card.lives:
            plan += f"; {_few(r.plan.worn_out)} worn out"
        cells = [r.title, OUTCOMES[r.outcome].short, plan, gap_words(p), _in_100(r.plan.right), _in_100(r.twice),
                 _in_100(r.plan.same), _in_100(r.wrong), _least(r.plan.least_p), r.settles]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _in_100(share: float) -> str:
    if math.isnan(share):
        return ""
    return "almost never" if share < 0.005 else f"{100 * share:.0f}"


def _least(p: float) -> str:
    return f"{p:.3f}" if p >= 0.001 else "below 0.001"


def _few(n: float) -> str:
    return f"{n:.1f}" if n < 10 else f"{n:.0f}"


def main(trials: int = 1000) -> None:
    start = time.perf_counter()
    print(two_weeks_table(two_weeks(trials=trials, settles=300, progress=sys.stderr.isatty())))
    print(f"{trials} simulated trials at each true gap; standard error at most {50 / trials ** 0.5:.1f} in 100; "
          f"{time.perf_counter() - start:.0f} s.")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
