"""Earlier trials of the same question by the same player: each was a look, and a later one has to allow for it."""

from __future__ import annotations

from typing import Any

import pandas as pd

from ...errors import ReedlabError
from ...rows.tables import Frames
from ...trial.boxes import as_opened
from ...trial.protocol import Protocol
from .judge import repeat_p

__all__ = ["earlier_names", "earlier_trials", "repeat_level"]


def earlier_trials(protocol: Protocol, frames: Frames) -> int:
    """Count the trials of the same question in this logbook that began before this one (`earlier_names`)."""
    return len(earlier_names(protocol, frames))


def earlier_names(protocol: Protocol, frames: Frames) -> tuple[str, ...]:
    """Name the trials of the same question in this logbook that began before this one.

    The same question is the same two ways, whatever they were judged by. Trials that were not shuffled do not count,
    nor those of which nothing was written down, such as one that was set up wrongly and begun again.
    """
    mine, names = protocol.start, []
    place = {name: i for i, name in enumerate(frames.trials["trial"])}
    for _, row in frames.trials.iterrows():
        if row["trial"] == protocol.trial:
            continue
        try:
            other = as_opened(Protocol.from_json(str(row["protocol"])), frames)
        except ReedlabError:  # a plan at fault is told elsewhere
            continue
        # the later of two that begin on one day is the one entered later
        began = other.start < mine or (
            other.start == mine and place[row["trial"]] < place.get(protocol.trial, len(place)))
        if began and _same_question(other, protocol) and _written(other, row["ended"], frames):
            names.append(str(row["trial"]))
    return tuple(names)


def repeat_level(protocol: Protocol, frames: Frames, *, more: int = 0) -> float:
    """Return the level that a trial of this plan will be judged at, given what stands in the logbook, and `more`."""
    return 1 - repeat_p(protocol.level, earlier_trials(protocol, frames) + more)


def _same_question(one: Protocol, two: Protocol) -> bool:
    ways = [[h.key for h in plan.habits] for plan in (one, two)]
    return one.question == two.question and ways[0] == ways[1] and "not" not in (one.how_dealt, two.how_dealt)


def _written(plan: Protocol, ended: Any, frames: Frames) -> bool:
    day = frames.sittings["date"].dt.date
    here = frames.sittings["reed"].isin(plan.reeds) & (day >= plan.start)
    return bool((here if pd.isna(ended) else here & (day <= ended.date())).any())
