"""Reed by reed: which reed is rated on which day, where both ways play the same days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..trial.crossover import Halves
from ..trial.protocol import Slot

__all__ = ["days_of_a_round", "even_slots", "halves_slots"]


def _day_plan(sizes: Sequence[int], a_day: int) -> list[list[tuple[int, int]]]:
    """Return the days of one round, each a list of (set, reeds of it that day).

    A set that fits on one day is played whole; a larger one is spread evenly over as few days as it
    needs. Small sets share a day, largest first.
    """
    days: list[list[tuple[int, int]]] = []
    room: list[int] = []
    for i in sorted(range(len(sizes)), key=lambda i: -sizes[i]):
        n = sizes[i]
        if n <= a_day:
            for d, free in enumerate(room):
                if free >= n:
                    days[d].append((i, n))
                    room[d] -= n
                    break
            else:
                days.append([(i, n)])
                room.append(a_day - n)
        else:
            parts = -(-n // a_day)
            for j in range(parts):
                here = n // parts + (j < n % parts)
                days.append([(i, here)])
                room.append(0)  # nothing joins part of a set, so that its days stay alike
    return days


def days_of_a_round(sizes: Sequence[int], a_day: int) -> int:
    """Return the days it takes until every reed has been rated once."""
    return len(_day_plan(sizes, a_day))


def even_slots(sets: Sequence[Sequence[str]], days: int, a_day: int, rng: np.random.Generator) -> tuple[Slot, ...]:
    """Lay out rating slots: every reed once a round, a round after the other, while whole rounds fit.

    The reeds of a set play on the same day, or, if the set is larger than `a_day`, on as few days as it
    needs, cut anew by chance each round. The order of sets within a round and of reeds within a day is
    shuffled. Nothing here knows what is dealt, so every allowed arrangement could have had these slots.

    Parameters
    ----------
    sets : sequence of sequences of str
    days : int
        Days left over after the last whole round stay free.
    a_day : int
        At most so many slots a day.
    """
    plan = _day_plan([len(s) for s in sets], a_day)
    out: list[Slot] = []
    for r in range(days // len(plan)):
        turns = [list(rng.permutation(list(s))) for s in sets]
        for k, d in enumerate(rng.permutation(len(plan))):
            today: list[str] = []
            for i, n in plan[d]:
                today += [str(turns[i].pop()) for _ in range(n)]
            rng.shuffle(today)
            day = r * len(plan) + k + 1
            out += [Slot(day, j + 1, reed) for j, reed in enumerate(today)]
    return tuple(out)


def halves_slots(sets: Sequence[Sequence[str]], halves: Halves, a_day: int, rng: np.random.Generator,
                 ) -> tuple[Slot, ...]:
    """Lay out the slots of a crossover: as `even_slots`, as many rounds in each half, each at the end of its half.

    Nothing is rated while the way before wears off; days left over add to that time.
    """
    free = halves.counted % days_of_a_round([len(s) for s in sets], a_day)
    out = []
    for first in (0, halves.first):
        behind = first + halves.effect_days + free
        out += [replace(s, day=s.day + behind) for s in even_slots(sets, halves.counted - free, a_day, rng)]
    return tuple(out)
