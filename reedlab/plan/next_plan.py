"""What a next trial of the same question would show: the forecast itself, played with the player's own numbers."""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from typing import Final

from ..analysis.verdicts.repeats import repeat_level
from ..questions import CATALOGUE
from ..rows.tables import Frames, typed
from ..trial.protocol import Protocol
from ..trial.result import Settle
from .candidates import Desk, Way
from .draft import Draft
from .look_ahead import LOOK_TRIALS, outlook
from .own_world import world_for

__all__ = ["GOOD_CHANCE", "next_plan"]

#: A next trial is named that finds a gap of what matters this often.
GOOD_CHANCE: Final = 0.8
#: Sizes tried, in steps of this trial's: days day by day; reeds, and with them days, reed by reed.
_TIMES: Final = (1.0, 1.5, 2.0, 3.0, 4.0)
_LONGEST = 365
_SEED = 1


def next_plan(protocol: Protocol, frames: Frames, *, trials: int = LOOK_TRIALS,
              times: tuple[float, ...] = _TIMES) -> Settle | None:
    """Play the same plan again, and larger ones, until one finds a gap of what matters 80 times in 100.

    Parameters
    ----------
    protocol : Protocol
        Of a trial that has ended.
    frames : Frames
        The player's logbook: the player and the reeds are simulated as far as it goes.
    trials : int
        Simulated trials of each plan.
    times : tuple of float
        Sizes tried, rising; the first is the same plan again.

    Returns
    -------
    Settle or None
        None for an old diary and for two boxes. Of an own question only the same plan is played again.

    Notes
    -----
    The next trial is judged as it would be: as a repeat (`judge.repeat_p`), by itself. Larger plans take imagined
    reeds beside those of this trial, and as many more days as at the same playing a day.
    """
    question = CATALOGUE.get(protocol.question)
    if question is None or protocol.how_dealt == "not" or protocol.of_boxes:
        return None
    if protocol.crossover:
        question = dataclasses.replace(question, wears_off=protocol.effect_days)
    world = world_for(frames)[0]
    reeds = typed("reeds", frames.reeds[frames.reeds["reed"].isin(protocol.reeds)].assign(set_aside=False))
    desk = Desk(question, reeds, world.minutes_a_day, world, _SEED, protocol.start, protocol.instrument,
                protocol.matters, trials, {"outcome": protocol.outcome, "boxes": frames.boxes})
    level = repeat_level(protocol, frames, more=1)
    way, have, by_day = Way(protocol.design, protocol.outcome), len(reeds), protocol.design == "day_by_day"
    found: tuple[int, float, float] | None = None
    same = math.nan
    for i, k in enumerate(times[:1] if question.key == "own" else times):
        days = round(protocol.days * k)
        more = 0 if by_day else round(have * (k - 1))
        if days > _LONGEST and i:
            break
        plan, shown = _drawn(protocol, desk.draft(way, days, more), again=not i)
        if plan is None:
            continue
        chance = outlook(dataclasses.replace(plan, level=level), shown=shown, world=world, gaps=(),
                         trials=trials).right
        same = chance if not i else same
        found = (days if by_day else have + more, chance, plan.days / 7)
        if chance >= GOOD_CHANCE:
            break
    if found is None or math.isnan(same):
        return None
    size, chance, weeks = found
    return Settle(kind="days" if by_day else "reeds", have=protocol.days if by_day else have, same=same,
                  need=size if chance >= GOOD_CHANCE else None, most=size, chance=chance, gap=protocol.matters,
                  weeks=weeks, trials=trials)


def _drawn(protocol: Protocol, draft: Draft | None, *, again: bool) -> tuple[Protocol | None, Protocol | None]:
    """Return the plan and what is played through in its place: (None, None) where it is refused.

    For the first size the very plan, told as any plan of its shape is where the planner would lay it out the same way.
    """
    if again:
        same = draft is not None and _shape(draft.protocol) == _shape(protocol)
        return protocol, draft.shown if same and draft is not None else None
    return (None, None) if draft is None else (draft.protocol, draft.shown)


def _shape(p: Protocol) -> tuple[object, ...]:
    """Return what a plan shares with every plan of its shape, whatever the codes, days and deal."""
    return (p.design, p.outcome, p.effect_days, p.matters, p.days, p.rating, p.adjust, p.cap_hours, p.worn_out_rule,
            p.worn_out_below, p.good_below, p.in_a_row, sorted(Counter(u.block for u in p.units).values()),
            sorted(Counter(s.day for s in p.slots).values()), len(p.reeds))
