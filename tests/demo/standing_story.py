"""The standing trial of the demo: two years and seven boxes before the other trials, until its last reed was done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

import numpy as np

from reedlab.plan import draw_up_standing
from reedlab.plan.standing import reeds_to_deal
from reedlab.rows.records import Box, Deal, Reed, Retirement, Sitting
from reedlab.rows.tables import typed
from reedlab.trial.opened_boxes import deal_rows, opening, with_boxes
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World
from reedlab.worlds.reeds import Reeds, draw_reeds
from reedlab.worlds.standing import ON_THE_GO

__all__ = ["NAME", "RATIO", "standing_story"]

NAME: Final = "Rinse or wipe"
START: Final = date(2022, 5, 2)
#: The truth, set before the seed was tried: rinsed reeds last 1.6 times as long as those only wiped.
RATIO: Final = 1 / 1.6
_BOXES: Final = tuple(str(n) for n in range(21, 28))
_A_DAY: Final = ((0, 45.0), (1, 35.0))  # minutes of the first and second reed of a day
_REMARK: Final = "a rating now and then"
_RATED: Final = 0.05

Written = tuple[date, tuple[Box | Reed | Deal | Sitting | Retirement, ...]]


@dataclass
class _Play:
    """The trial as it goes: what is left of each reed, and which are on the go."""

    plan: Protocol
    reeds: Reeds
    names: list[str]
    rng: np.random.Generator
    hours: dict[str, float] = field(default_factory=dict)
    active: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)

    def life(self, reed: str) -> tuple[float, bool]:
        """Return the hours at which a reed ends, and whether it is then worn out."""
        at = self.names.index(reed)
        second = self.plan.habit_for(reed, 1) == self.plan.habits[1]
        life, damage = float(self.reeds.life_h[at, 0]) * (RATIO if second else 1.0), float(self.reeds.damage_h[at, 0])
        return min(life, damage), life <= damage


def standing_story(world: World, seed: int) -> tuple[Protocol, list[Written], date]:
    """Return the plan without boxes, what was written down on which day, and the day the trial was ended."""
    names = [f"{b}-{k:02d}" for b in _BOXES for k in range(1, 11)]
    rng = np.random.default_rng(seed)
    reeds = draw_reeds(world, 1, [n.split("-")[0] for n in names], rng)
    plan = draw_up_standing("rinse", typed("reeds", []), start=START, seed=seed, instrument="clarinet", trial=NAME,
                            expected="rinse").protocol
    play = _Play(plan, reeds, names, rng)
    written: list[Written] = []
    boxes, on = list(_BOXES), START
    while boxes or play.active or play.waiting:
        if len(play.active) < ON_THE_GO and not play.waiting and boxes:
            written.append((on, tuple(_opened(play, boxes.pop(0), on))))
        while len(play.active) < ON_THE_GO and play.waiting:
            play.active.append(play.waiting.pop(0))
        if rng.random() >= world.day_off:
            written.append((on, tuple(_day(play, on))))
        on += timedelta(days=1)
    return plan, written, on - timedelta(days=1)


def _opened(play: _Play, box: str, on: date) -> Iterator[Box | Reed | Deal]:
    mine = [n for n in play.names if n.split("-")[0] == box]
    first = {r: float(play.reeds.first_play[play.names.index(r), 0]) for r in mine}
    rows = [Reed(reed=r, box=box, first_play=first[r], first_played=on, set_aside=first[r] <= 2.0) for r in mine]
    yield Box(box=box, instrument="clarinet", cut="standard", strength="3", opened=on, price=25.0)
    yield from rows
    dealt = reeds_to_deal(typed("reeds", [vars(r) for r in rows]), box, seed=play.plan.seed or 0).reeds
    made = opening(play.plan, dealt, on)
    play.plan = with_boxes(play.plan, [*deal_rows(play.plan), *made])
    play.waiting = [str(r) for r in play.rng.permutation(list(dealt))]
    yield from (Deal(**r) for r in made)


def _day(play: _Play, on: date) -> Iterator[Sitting | Retirement]:
    """Two of the reeds on the go in turn, until they end."""
    today, rest = play.active[:2], play.active[2:]
    for (place, minutes), reed in zip(_A_DAY, today, strict=False):
        habit = play.plan.habit_for(reed, 1)
        end, worn = play.life(reed)
        played = min(minutes, max(5.0, 5.0 * round((end - play.hours.get(reed, 0.0)) * 60 / 5)))
        play.hours[reed] = play.hours.get(reed, 0.0) + played / 60
        rated = play.rng.random() < _RATED
        points = float(np.clip(np.round(2 * play.rng.normal(6.5, 1.2)) / 2, 0, 10))
        yield Sitting(date=on, reed=reed, order=place + 1, play_min=played, where="practice",
                      habit=None if habit is None else habit.key, overall=points if rated else None,
                      remark=_REMARK if rated else None)
        if play.hours[reed] >= end - 1 / 24:
            yield Retirement(reed=reed, date=on, reason="worn_out" if worn else "damaged")
            today = [r for r in today if r != reed]
    play.active = [*rest, *today]
