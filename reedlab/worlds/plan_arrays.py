"""A plan as arrays: which reed is played when, and which unit each sitting belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..trial.dealing import draw_from, layout_dealt
from ..trial.protocol import Protocol, Slot
from ..trial.world import World
from ..wording import tr

__all__ = ["PlanArrays", "deal_anew", "minute_limits", "plan_arrays"]

#: Reeds a day where a plan names no slots: our assumption.
_REEDS_A_DAY = 4


@dataclass(frozen=True)
class PlanArrays:
    """A plan as arrays. Sittings are ordered by day, then place in the day; a reed sits once a day.

    `slot_unit` is -1 where a sitting counts for no unit. `day_slices` are the (first, last) sittings
    of each day that has any.
    """

    reeds: tuple[str, ...]
    boxes: tuple[str, ...]
    reed_blocks: tuple[str, ...]
    n_days: int
    slot_day: NDArray[np.int_]
    slot_order: NDArray[np.int_]
    slot_reed: NDArray[np.int_]
    slot_unit: NDArray[np.int_]
    day_slices: tuple[tuple[int, int], ...]
    blocks: tuple[str, ...]
    dealt_b: NDArray[np.bool_]


def plan_arrays(protocol: Protocol) -> PlanArrays:
    """Return the plan as arrays; InputError if it has no reed to play."""
    reeds = protocol.reeds
    if not reeds:
        raise InputError(tr("The plan {trial!r} names no reeds: nothing can be played.").format(trial=protocol.trial))
    index = {r: i for i, r in enumerate(reeds)}
    unit_of: dict[tuple[str, int], int] = {}
    whole: dict[str, int] = {}
    block_of = dict.fromkeys(reeds, "")
    for i, unit in enumerate(protocol.units):
        for reed in unit.reeds:
            if not unit.cells:
                whole[reed] = i
                block_of[reed] = unit.block
        unit_of.update(dict.fromkeys(unit.cells, i))
    slots = sorted((s for s in _slots(protocol) if s.reed in index), key=lambda s: (s.day, s.order))
    once: dict[tuple[int, str], Slot] = {}
    for s in slots:
        once.setdefault((s.day, s.reed), s)
    slots = list(once.values())
    day = np.array([s.day for s in slots])
    cuts = np.flatnonzero(np.diff(day)) + 1
    edges = [0, *cuts.tolist(), len(slots)]
    return PlanArrays(
        reeds=reeds, boxes=tuple(r.rpartition("-")[0] for r in reeds),
        reed_blocks=tuple(block_of[r] for r in reeds), n_days=protocol.days,
        slot_day=day, slot_order=np.array([s.order for s in slots]),
        slot_reed=np.array([index[s.reed] for s in slots]),
        slot_unit=np.array([unit_of.get((s.reed, s.day), whole.get(s.reed, -1)) for s in slots]),
        day_slices=tuple(pairwise(edges)),
        blocks=protocol.blocks,
        dealt_b=protocol.dealt_b)


def _slots(protocol: Protocol) -> list[Slot]:
    if protocol.slots:
        return list(protocol.slots)
    cells = [(r, d) for u in protocol.units for r, d in u.cells]
    if cells:
        seen: dict[int, int] = {}
        out = []
        for reed, day in sorted(cells, key=lambda c: (c[1], c[0])):
            seen[day] = seen.get(day, 0) + 1
            out.append(Slot(day, seen[day], reed))
        return out
    reeds = protocol.reeds
    a_day = min(_REEDS_A_DAY, len(reeds))
    return [Slot(d, k + 1, reeds[((d - 1) * a_day + k) % len(reeds)])
            for d in range(1, protocol.days + 1) for k in range(a_day)]


def minute_limits(protocol: Protocol, world: World) -> NDArray[np.float64]:
    """Return the most minutes of a reed on its first, second ... and any later day of play, (2, days).

    One row for each habit: the habit under test replaces the usual break-in or daily limit with its own.
    """
    usual = [*world.ramp_min, world.daily_limit_min]
    own = {(habit, what): minutes for habit, what, minutes in protocol.overrides}
    names = [*(tr("ramp_day{k}_min").format(k=k + 1) for k in range(len(world.ramp_min))), "daily_limit_min"]
    return np.array([[own.get((h.key, name), minutes) for name, minutes in zip(names, usual, strict=True)]
                     for h in protocol.habits])


def deal_anew(plan: PlanArrays, n: int, rng: np.random.Generator) -> NDArray[np.bool_]:
    """Return `n` fresh deals, (units, n), each as the plan could have dealt."""
    return draw_from(layout_dealt(plan.blocks, plan.dealt_b), n, int(rng.integers(2**63))).T
