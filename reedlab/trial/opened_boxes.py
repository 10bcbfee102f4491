"""The boxes of a standing trial: each dealt as it is opened, from the frozen plan alone, and written down.

What is written down (the table of deals) is what happened; what the plan deals is worked out anew wherever the two
are to be held together. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from ..errors import InputError
from ..wording import tr
from .dealing import deal_box
from .protocol import Protocol, Unit

if TYPE_CHECKING:
    from ..rows.tables import Frames

__all__ = ["as_opened", "boxes_opened", "deal_rows", "dealt_otherwise", "opening", "plans_of",
           "with_boxes"]

Row = Mapping[str, Any]


def opening(plan: Protocol, reeds: Sequence[str], on: date, *, number: int | None = None) -> list[dict[str, Any]]:
    """Deal the next box and return its rows of the table of deals.

    Parameters
    ----------
    plan : Protocol
        A standing trial, with the boxes opened so far.
    reeds : sequence of str
        Those to deal, best first play first; reeds set aside are not among them.
    on : date
        The day it is dealt.
    number : int, optional
        Which box of the trial it is; default the next.

    Raises
    ------
    InputError
        It is no standing trial, it has not begun, a reed serves in it already, or there are too few.
    """
    if not plan.standing or plan.seed is None:
        raise InputError(tr("The trial '{trial}' does not take in new boxes: all its reeds were dealt at the "
                            "start.").format(trial=plan.trial))
    if on < plan.start:
        raise InputError(tr("The trial '{trial}' begins on {start}; no box can be dealt before.").format(
                             trial=plan.trial, start=plan.start))
    twice = sorted(set(reeds) & set(plan.reeds)) or sorted({r for r in reeds if list(reeds).count(r) > 1})
    if twice:
        raise InputError(tr("Dealt in '{trial}' already: {twice}.").format(trial=plan.trial, twice=", ".join(twice)))
    number = boxes_opened(plan) + 1 if number is None else number
    sets, is_b = deal_box(len(reeds), plan.standing, seed=plan.seed, number=number)
    keys = [h.key for h in plan.habits]
    return [{"trial": plan.trial, "number": number, "place": i, "reed": reed, "matched_set": label,
             "habit": keys[int(b)], "date": on}
            for i, (reed, label, b) in enumerate(zip(reeds, sets, is_b, strict=True), start=1)]


def boxes_opened(plan: Protocol) -> int:
    """Return how many boxes a standing trial has dealt."""
    return max((int(u.block.split(".")[0]) for u in plan.units), default=0) if plan.standing else 0


def with_boxes(plan: Protocol, rows: Iterable[Row]) -> Protocol:
    """Return a standing plan with the boxes in rows of the table of deals; any other plan as it is.

    Rows of other trials and rows that lack a value are passed over.
    """
    if not plan.standing:
        return plan
    keys = {h.key for h in plan.habits}
    mine = sorted((r for r in rows if r.get("trial") == plan.trial and r.get("habit") in keys and None not in (
        r.get("number"), r.get("place"), r.get("reed"), r.get("matched_set"), r.get("date"))),
        key=lambda r: (r["number"], r["place"]))
    mine = list({r["reed"]: r for r in reversed(mine)}.values())[::-1]  # a reed twice is told elsewhere
    return replace(plan, units=tuple(Unit(r["reed"], r["matched_set"], (r["reed"],)) for r in mine),
                   dealt=tuple(r["habit"] for r in mine), since=tuple(_day(r["date"]) for r in mine))


def deal_rows(plan: Protocol) -> list[dict[str, Any]]:
    """Return the rows of the table of deals for the boxes that a standing plan has opened; none for other plans."""
    rows: list[dict[str, Any]] = []
    for unit, habit, on in zip(plan.units, plan.dealt, plan.since, strict=True) if plan.standing else ():
        number = int(unit.block.split(".")[0])
        place = sum(r["number"] == number for r in rows) + 1
        rows.append({"trial": plan.trial, "number": number, "place": place, "reed": unit.unit,
                     "matched_set": unit.block, "habit": habit, "date": on})
    return rows


def as_opened(plan: Protocol, frames: Frames) -> Protocol:
    """Return a standing plan with the boxes that a logbook's frames hold; any other plan as it is."""
    if not plan.standing:
        return plan
    rows = frames.deals[frames.deals["trial"] == plan.trial]
    return with_boxes(plan, rows.to_dict("records"))


def plans_of(frames: Frames) -> dict[str, Protocol]:
    """Return by name every trial's plan, of a standing trial with the boxes that it has opened."""
    return {str(name): as_opened(Protocol.from_json(text), frames)
            for name, text in zip(frames.trials["trial"], frames.trials["protocol"], strict=True) if text}


def dealt_otherwise(plan: Protocol, rows: Sequence[Row]) -> list[int]:
    """Return the places of those rows, all of one box, that the plan deals otherwise than they say."""
    at = sorted(range(len(rows)), key=lambda i: rows[i]["place"])
    if plan.seed is None or len(rows) < 2:
        return list(at)
    sets, is_b = deal_box(len(rows), plan.standing, seed=plan.seed, number=rows[0]["number"])
    keys = [h.key for h in plan.habits]
    return [i for k, i in enumerate(at) if (rows[i]["place"], rows[i]["matched_set"], rows[i]["habit"])
            != (k + 1, sets[k], keys[int(is_b[k])])]


def _day(value: Any) -> date:
    return value.date() if hasattr(value, "date") else value
