"""Which of a player's earlier reeds stand beside a new test of lives, and how long they lasted. Pure."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..analysis.units.blind import playing_hours
from ..analysis.units.life_values import Rule, ends_of
from ..rows.tables import Frames
from ..trial.protocol import Protocol

__all__ = ["FEWEST_PAST", "MOST_PAST", "past_lives"]

#: Fewer say little of how soon reeds of a kind wear out, and as many of them must have worn out; more than the newest
#: forty bring nothing more (`tests/benchmarks/past_reeds.py`).
FEWEST_PAST: Final = 10
_FEWEST_WORN: Final = 5
_OUTCOME: Final = "life_hours"  # of good hours too little is known where reeds were not rated
MOST_PAST: Final = 40


def past_lives(frames: Frames, plan: Protocol) -> tuple[tuple[float, bool], ...]:
    """Return the lives of earlier reeds of the same kind, the last to go first: playing hours, and worn out or not.

    Parameters
    ----------
    frames : Frames
        The logbook.
    plan : Protocol
        Only one that compares whole lives reed by reed, with a planned end, has any; its rule says which wore out.

    Returns
    -------
    tuple of (float, bool)
        Of reeds with the trial's one instrument, cut and strength that left service before its first day, whatever
        they were used for; at least `FEWEST_PAST`, else none. Which way any of them was treated is not looked at.
    """
    if plan.outcome != _OUTCOME or plan.standing or plan.design != "reed_by_reed" or plan.how_dealt != "seed":
        return ()
    box_of = dict(zip(frames.reeds["reed"], frames.reeds["box"], strict=True))
    kind_of = {box: (inst, None if cut != cut else cut, None if strength != strength else strength)
               for box, inst, cut, strength in zip(frames.boxes["box"], frames.boxes["instrument"],
                                                   frames.boxes["cut"], frames.boxes["strength"], strict=True)}
    kinds = {kind_of.get(box_of.get(r)) for r in plan.reeds}
    kind = next(iter(kinds), None)
    if len(kinds) != 1 or kind is None or kind[2] is None:
        return ()
    left = frames.retirements[(frames.retirements["date"].dt.date < plan.start).to_numpy()]
    left = left.sort_values(["date", "reed"], ascending=[False, True])
    mine = [(r, why) for r, why in zip(left["reed"], left["reason"], strict=True)
            if kind_of.get(box_of.get(r)) == kind and r not in set(plan.reeds)]
    rows = frames.sittings
    rows = rows[rows["reed"].isin([r for r, _ in mine]) & ~rows["unsure_reed"]]
    rows = rows.sort_values(["date", "order", "sitting"], kind="stable", na_position="last")
    place = {r: i for i, (r, _) in enumerate(mine)}
    at = np.array([place[r] for r in rows["reed"]], dtype=np.int64)
    _, after = playing_hours(at, rows["play_min"].to_numpy(dtype=float))
    ended = ends_of(at, after[None], rows["overall"].to_numpy(dtype=float)[None] if plan.ends_by_ratings else None,
                    np.array([[why for _, why in mine]], dtype="U16"), ["1"] * len(mine),
                    Rule(plan.life_mark, plan.in_a_row, plan.worn_out_rule == "player", None, same_days=False))
    found = tuple((round(float(h), 4), bool(e)) for h, e in zip(ended.hours[0], ended.worn_out[0], strict=True)
                  if h > 0)[:MOST_PAST]
    return found if len(found) >= FEWEST_PAST and sum(e for _, e in found) >= _FEWEST_WORN else ()
