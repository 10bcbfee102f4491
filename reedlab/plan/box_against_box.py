"""Comparing two boxes, cuts or strengths, where no coin can deal the habit to a reed.

A reed's cut is fixed when it is made. Two honest things can be done.

Day by day, two boxes: every day one reed is drawn by chance from each box and a coin says which is played
first. The unit is a place in the day. The draws are fresh each day, so the days are fair repeats for the
question "do the reeds of these two boxes play alike for me?". They say nothing of other boxes.

Reed by reed, many boxes: one reed is drawn by chance from every box, so that the unit is a box. The labels
are shuffled among boxes, but were never dealt: the trial is marked "not dealt" and gives a hint at most.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from ..errors import PlanRefused
from ..rows.tables import typed
from ..trial.dealing import deal
from ..trial.protocol import Habit, Slot, Unit
from ..wording import tr
from .refuse import too_few_reeds

__all__ = ["box_habits", "box_units", "cuts_of_boxes", "one_from_each"]

FEWEST_BOXES = 4


def box_habits(by_box: Mapping[str, Sequence[str]]) -> tuple[Habit, Habit]:
    """Return the two ways of a trial of two boxes; refuses any other number of boxes."""
    boxes = sorted(by_box)
    if len(boxes) != 2:
        raise PlanRefused(
            tr("Day by day compares the reeds of two boxes; you gave {n}.").format(n=len(boxes)),
            tr("Give the usable reeds of two boxes, at least two of each."), "box_is_arm")
    if min(len(by_box[b]) for b in boxes) < 2:
        raise PlanRefused(tr("One reed cannot speak for its box."),
                         tr("Give at least two usable reeds of each box; five or more are better."), "box_is_arm")
    one, two = (Habit(f"box-{b}", tr("reeds of box {b}").format(b=b), tr("Play the reed drawn from box {b}.").format(
                                                                          b=b)) for b in boxes)
    return one, two


def box_units(by_box: Mapping[str, Sequence[str]], days: int, pairs: int, *, seed: int, rng: np.random.Generator,
              ) -> tuple[tuple[Unit, ...], tuple[bool, ...], tuple[Slot, ...]]:
    """Lay out and deal a trial of two boxes.

    Parameters
    ----------
    by_box : mapping of two boxes to their reeds
    days, pairs : int
        Days, and pairs of reeds a day (drawn without repeats within a day, afresh every day).

    Returns
    -------
    units, is_b, slots
        Units are named day.place; `is_b` says which play a reed of the second box.
    """
    first, second = (list(by_box[b]) for b in sorted(by_box))
    names = [(d, 2 * k + place) for d in range(1, days + 1) for k in range(pairs) for place in (1, 2)]
    blocks = [f"{d:02d}" if pairs == 1 else f"{d:02d}-{(place + 1) // 2}" for d, place in names]
    is_b = deal(blocks, 1, seed=seed)
    units, slots = [], []
    for d in range(1, days + 1):
        draw = {False: list(rng.permutation(first)[:pairs]), True: list(rng.permutation(second)[:pairs])}
        for i in np.flatnonzero([day == d for day, _ in names]):
            _, place = names[i]
            reed = str(draw[bool(is_b[i])].pop())
            units.append(Unit(f"{d:02d}.{place}", blocks[i], (reed,), ((reed, d),)))
            slots.append(Slot(d, place, reed))
    return tuple(units), tuple(bool(b) for b in is_b), tuple(slots)


def cuts_of_boxes(by_box: Mapping[str, Sequence[str]], boxes: pd.DataFrame | None) -> dict[str, list[str]]:
    """Return the boxes of each of two cuts (or strengths), refusing what cannot tell cut from box."""
    table = None if boxes is None else typed("boxes", boxes).set_index("box")
    kinds: dict[str, list[str]] = {}
    for box in sorted(by_box):
        known = table is not None and box in table.index
        cut = (table.at[box, "cut"], table.at[box, "strength"]) if known and table is not None else (None, None)
        name = " ".join(str(c) for c in cut if c) or tr("box {box}").format(box=box)
        kinds.setdefault(name, []).append(box)
    fewest = min((len(v) for v in kinds.values()), default=0)
    if len(kinds) != 2 or fewest < FEWEST_BOXES:
        have = "; ".join(f"{len(v)} of {k}" if not k.startswith("box ") else k for k, v in kinds.items()) or "none"
        raise PlanRefused(
            tr("A cut comes in boxes, and boxes of one cut differ too. You have these boxes: {have}. With so few, cut "
               "and box cannot be told apart.").format(have=have),
            tr("Bring at least {fewest_boxes} boxes of each of two cuts, written down with their cut or strength. Or "
               "ask day by day which of two boxes plays better.").format(fewest_boxes=FEWEST_BOXES), "box_is_arm")
    return kinds


def one_from_each(by_box: Mapping[str, Sequence[str]], kinds: Mapping[str, Sequence[str]],
                  rng: np.random.Generator) -> tuple[tuple[str, ...], tuple[bool, ...], tuple[Habit, Habit]]:
    """Draw one reed from every box. Returns the reeds in shuffled order, which are of the second cut, the ways."""
    names = sorted(kinds)
    drawn = [(str(rng.choice(list(by_box[b]))), i == 1) for i, name in enumerate(names) for b in kinds[name]]
    if len(drawn) < 2 * FEWEST_BOXES:
        raise too_few_reeds(len(drawn), [(b, len(r)) for b, r in by_box.items()], None, False, True)
    order = rng.permutation(len(drawn))
    one, two = (Habit(f"cut-{i + 1}", name, tr("Play the reeds of {name}.").format(
                                                name=name)) for i, name in enumerate(names))
    return tuple(drawn[i][0] for i in order), tuple(drawn[i][1] for i in order), (one, two)
