"""Earlier trials of the same question by the same player: each was a look, and a later one has to allow for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from ...errors import ReedlabError
from ...rows.tables import Frames
from ...trial.opened_boxes import as_opened
from ...trial.protocol import Protocol
from .judge import repeat_p

__all__ = ["earlier_names", "level_of_next", "repeat_level"]


def earlier_names(protocol: Protocol, frames: Frames) -> tuple[str, ...]:
    """Name the trials of the same question in this logbook that began before this one.

    The same question is the same two ways, whatever they were judged by; a standing trial counts only those judged by
    lives, for it alone would be set back for years by a fortnight's ratings. Trials that were not shuffled do not
    count, nor those of which nothing was written down, such as one that was set up wrongly and begun again.
    """
    if protocol.how_dealt == "not":
        return ()
    names = list(frames.trials["trial"])
    mine = names.index(protocol.trial) if protocol.trial in names else len(names)
    # the later of two that begin on one day is the one entered later
    return tuple(name for name, other in _trials_of(protocol.question, _ways(protocol), frames)
                 if name != protocol.trial and (other.card.lives or not protocol.standing)
                 and (other.start, names.index(name)) < (protocol.start, mine))


def level_of_next(question: str, ways: Sequence[str], level: float, frames: Frames) -> float:
    """Return the level that a next trial of a question and its two ways (keys) will be judged at."""
    return 1 - repeat_p(level, sum(1 for _ in _trials_of(question, list(ways), frames)))


def repeat_level(protocol: Protocol, frames: Frames, *, more: int = 0) -> float:
    """Return the level that a trial of this plan will be judged at, given what stands in the logbook, and `more`."""
    return 1 - repeat_p(protocol.level, len(earlier_names(protocol, frames)) + more)


def _ways(plan: Protocol) -> list[str]:
    return [h.key for h in plan.habits]


def _trials_of(question: str, ways: list[str], frames: Frames) -> Iterator[tuple[str, Protocol]]:
    """Yield the trials that were shuffled, ask this of these ways, and of which something was written down."""
    for _, row in frames.trials.iterrows():
        try:
            plan = as_opened(Protocol.from_json(str(row["protocol"])), frames)
        except ReedlabError:  # a plan at fault is told elsewhere
            continue
        if (plan.question == question and _ways(plan) == ways and plan.how_dealt != "not"
                and _written(plan, row["ended"], frames)):
            yield str(row["trial"]), plan


def _written(plan: Protocol, ended: Any, frames: Frames) -> bool:
    day = frames.sittings["date"].dt.date
    here = frames.sittings["reed"].isin(plan.reeds) & (day >= plan.start)
    return bool((here if pd.isna(ended) else here & (day <= ended.date())).any())
