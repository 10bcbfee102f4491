"""Where a trial stands on a day: running, finished, opened early, ended early, or an old diary."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from ...rows.tables import Frames
from ...trial.arrays import BoolArray
from ...trial.calendar import calendar_of
from ...trial.protocol import Protocol
from ..units.blind import BlindTrial, blind
from ..units.life_values import life_values

__all__ = ["TrialState", "may_claim", "reads_early", "state_of"]


@dataclass(frozen=True)
class TrialState:
    """The state of a trial, and what was read to find it.

    `looks` counts early looks before the planned end (today's own included when opened early); `why` is what
    was written down when it was ended by hand; `unfinished` counts reeds neither worn out nor at the cap,
    in a trial that must run until all are.
    """

    state: str
    trial: BlindTrial
    looks: int
    why: str
    unfinished: int

    @property
    def early(self) -> bool:
        """Read before its planned end."""
        return self.state in ("opened_early", "ended_early")


def reads_early(before_the_end: npt.ArrayLike, all_done: npt.ArrayLike) -> BoolArray:
    """Say where a trial is read early: before its planned end, and not every reed is done.

    For one trial or many. `all_done` is False for ratings: only days end those.
    """
    return np.logical_and(before_the_end, np.logical_not(all_done))


def may_claim(open_end: npt.ArrayLike, all_done: npt.ArrayLike) -> BoolArray:
    """Say where anything may be claimed: a trial that must run until all its reeds are done says nothing sooner."""
    return np.logical_or(np.logical_not(open_end), all_done)


def state_of(protocol: Protocol, frames: Frames, *, today: date, open_early: bool) -> TrialState:
    """Find the state on a day.

    A rating trial is finished once its last day has passed. A life trial is finished then as well, or as soon
    as every reed is worn out, retired or at the cap; where the habit sets the hours and a cap is fixed, only
    then. Ended by hand before that, it is "ended_early". A standing trial runs until it is ended by hand, and is
    finished then: no end was planned.
    """
    row = frames.trials[frames.trials["trial"] == protocol.trial]
    days = calendar_of(protocol, frames)
    ended = days.ended if days.stopped(today) else None
    why = "" if days.ended is None else row["ended_why"].iloc[-1] or ""
    until = today if ended is None else ended
    trial = blind(protocol, frames, until=until)

    unfinished = 0
    if protocol.card.lives:
        done = life_values(trial, protocol.outcome).done
        all_done, unfinished = bool(done.all()), int((~done).sum())
    else:
        all_done = False
    open_end, last = days.open_end, days.last
    if protocol.how_dealt == "not":
        state = "diary"
    elif protocol.standing:  # more boxes may come until the player ends it
        state = "running" if ended is None else "finished"
    elif all_done or days.over(today):
        sooner = ended is not None and (open_end or ended < last)
        state = "ended_early" if reads_early(sooner, all_done) else "finished"
    else:
        state = "opened_early" if open_early else "running"

    mine = frames.looks[frames.looks["trial"] == protocol.trial]
    dates = {d for d in mine["date"].dt.date if d <= until and (open_end or d <= last)}
    if state == "opened_early":
        dates.add(today)
    done_or_open = protocol.standing or may_claim(open_end, all_done)
    return TrialState(state, trial, len(dates), why, 0 if done_or_open else unfinished)
