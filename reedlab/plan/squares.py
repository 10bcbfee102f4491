"""Day by day: squares of two reeds and two days, or pairs of days of one reed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..trial.protocol import Slot, Unit

__all__ = ["day_slots", "day_units"]


def day_units(reeds: Sequence[str], days: int, reeds_a_day: int, rng: np.random.Generator) -> tuple[Unit, ...]:
    """Lay out the units of a day-by-day trial; nothing is dealt yet.

    Days are taken two by two (an odd last day stays free). With one reed a day, each step of two days is
    one reed played on both: two units of one sitting. With more, each step holds as many squares as fit:
    two reeds, two days, the diagonals are the two units, so that both the reed and the day drop out of
    their difference. Reeds that have served least come first, ties by chance, so all serve alike.

    Returns
    -------
    tuple of Unit
        Two to a block; named block.1 and block.2, which says nothing of the habit.
    """
    served = dict.fromkeys(reeds, 0)
    units: list[Unit] = []
    k = 0
    for first in range(1, days, 2):
        chance = dict(zip(reeds, rng.random(len(reeds)), strict=True))
        order = sorted(reeds, key=lambda r: (served[r], chance[r]))
        if reeds_a_day == 1:
            groups: list[tuple[str, ...]] = [(order[0],)]
        else:
            squares = min(reeds_a_day, len(reeds)) // 2
            chosen = order[:2 * squares]
            rng.shuffle(chosen)
            groups = [(chosen[2 * i], chosen[2 * i + 1]) for i in range(squares)]
        for group in groups:
            k += 1
            block = f"{k:02d}"
            for r in group:
                served[r] += 1
            if len(group) == 1:
                (r,) = group
                cells: tuple[tuple[tuple[str, int], ...], ...] = (((r, first),), ((r, first + 1),))
            else:
                r, s = sorted(group)
                cells = (((r, first), (s, first + 1)), ((r, first + 1), (s, first)))
            units += [Unit(f"{block}.{i + 1}", block, tuple(sorted(group)), c) for i, c in enumerate(cells)]
    return tuple(units)


def day_slots(units: Sequence[Unit], rng: np.random.Generator) -> tuple[Slot, ...]:
    """Put the cells of each day in a shuffled order that does not know what is dealt."""
    by_day: dict[int, list[str]] = {}
    for unit in units:
        for reed, day in unit.cells:
            by_day.setdefault(day, []).append(reed)
    out = []
    for day in sorted(by_day):
        order = sorted(by_day[day])
        rng.shuffle(order)
        out += [Slot(day, i + 1, r) for i, r in enumerate(order)]
    return tuple(out)
