"""What settles each question of the two-week table, and when: by the forecasts of the plan page, for the same player.

Ratings of a day and pairs: the same reeds for longer. Mean ratings and fading, reed by reed: more reeds, over as many
days as the planner gives them. Lives: a standing trial, boxes of ten.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from functools import cache
from typing import Final

import pandas as pd

from reedlab.plan.imagined import box_of_new_reeds
from reedlab.plan.look_ahead import outlook
from reedlab.plan.ranking import LENGTHS
from reedlab.plan.sizes import how_many
from reedlab.plan.standing_outlook import standing_outlook
from reedlab.plan.weigh import known_kind
from reedlab.questions import CATALOGUE, Question
from reedlab.rows.tables import typed
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.outlook import SettledBy
from reedlab.worlds import World

ENOUGH: Final = 0.8
_TWICE: Final = 2.0  # ratio of lives told of beside what matters
_COMMON: Final = {"start": date(2001, 3, 1), "instrument": "clarinet"}


def reeds_of(question: Question, world: World, seed: int) -> pd.DataFrame:
    """Return one box of ten new reeds, or two where boxes are compared."""
    boxes = range(1, 3 if question.key == "cut_or_strength" else 2)
    return typed("reeds", pd.concat([box_of_new_reeds(str(b), world, seed + b).astype(object) for b in boxes],
                                    ignore_index=True))


def what_settles(question: str, outcome: str, world: World, *, trials: int = 300, seed: int = 1) -> str:
    """Return, in words, what settles a question of an outcome: how long, with how many reeds, how surely."""
    return _settles(known_kind(CATALOGUE[question], outcome), question, outcome, world, trials, seed)


def _settles(kind: str, question: str, outcome: str, world: World, trials: int, seed: int) -> str:
    first = next(k for k, q in CATALOGUE.items() if outcome in q.outcomes and known_kind(q, outcome) == kind)
    if OUTCOMES[outcome].lives:
        return lives_settled(world, CATALOGUE[question].matters[outcome])
    if "day_by_day" in OUTCOMES[outcome].designs:
        return _longer(first, outcome, world, trials, seed)
    return _more_reeds(first, outcome, world, trials, seed)


def lives_settled(world: World, matters: float) -> str:
    """Return in which box, and after how many years, a standing trial is settled."""
    seen = standing_outlook(world, minutes_a_day=world.minutes_a_day, matters=matters)
    one, two = (next(r for r in seen.rows if r.ratio == ratio) for ratio in (matters, _TWICE))
    return (f"a standing trial: half of players know {_when(one)[0]}, 80 in 100 {_when(one)[1]}; a life {_TWICE:g} "
            f"times as long {_when(two)[0]} and {_when(two)[1]}")


def _when(row: SettledBy) -> tuple[str, str]:
    found = []
    for boxes, months in ((row.half_boxes, row.half_months), (row.most_boxes, row.most_months)):
        found.append("never within 24 boxes" if boxes is None or months is None else
                     f"by box {math.ceil(boxes)} ({months / 12:.1f} years)")
    return found[0], found[1]


@cache
def _longer(question: str, outcome: str, world: World, trials: int, seed: int) -> str:
    """Return how many days it takes; where no length is enough, the best of them and what it finds."""
    from reedlab.plan.candidates import Desk, Way

    asked = CATALOGUE[question]
    desk = Desk(asked, reeds_of(asked, world, seed), world.minutes_a_day, world, seed, _COMMON["start"], "clarinet",
                None, trials)
    tried = []
    for days in [7 * weeks for weeks in LENGTHS]:
        draft = desk.draft(Way("day_by_day", outcome), days)
        if draft is not None:
            found = outlook(draft.protocol, shown=draft.shown, world=world, gaps=(), trials=trials, seed=seed)
            tried.append((days, found.right, found.same))
    return longer_words(tried)


def longer_words(tried: Sequence[tuple[int, float, float]]) -> str:
    """Return in words what plans of so many days find: (days, named if it is better, called alike if they are)."""
    said = []
    for what, at in (("the better way", 1), ("no difference", 2)):
        enough = [t for t in tried if t[at] >= ENOUGH]
        best = enough[0] if enough else max(tried, key=lambda t: t[at])
        said.append(f"{what}: {best[0]} days ({100 * best[at]:.0f} in 100{'' if enough else ', longer adds none'})")
    return "; ".join(said)


@cache
def _more_reeds(question: str, outcome: str, world: World, trials: int, seed: int) -> str:
    asked = CATALOGUE[question]
    gap = asked.matters[outcome]
    said = []
    for times, name in ((1, "found"), (2, "twice that")):
        need = how_many(question, reeds_of(asked, world, seed), vary="reeds", gap=times * gap, outcome=outcome,
                        chance=ENOUGH, seed=seed, world=world, minutes_a_day=world.minutes_a_day, trials=trials,
                        **_COMMON)
        said.append(f"{name}: {need.reeds} reeds over {need.days} days" if need.days is not None else
                    f"{name}: in {100 * need.chance:.0f} of 100 with 100 reeds")
    return "; ".join(said)
