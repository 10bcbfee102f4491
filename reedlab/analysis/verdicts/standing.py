"""Where a trial stands on a day: running, finished, opened early, ended early, or an old diary."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ...rows.tables import Frames
from ...trial.calendar import calendar_of
from ...trial.protocol import Protocol
from ..units.blind import BlindTrial, blind
from ..units.life_values import life_values

__all__ = ["Standing", "standing"]


@dataclass(frozen=True)
class Standing:
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


def standing(protocol: Protocol, frames: Frames, *, today: date, open_early: bool) -> Standing:
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
    open_end, last, passed = days.open_end, days.last, days.passed(today)
    if protocol.how_dealt == "not":
        state = "diary"
    elif protocol.standing:  # more boxes may come until the player ends it
        state = "running" if ended is None else "finished"
    elif all_done or passed:
        state = "finished" if ended is None or all_done or ended >= last else "ended_early"
    elif ended is not None:
        state = "ended_early" if open_end or ended < last else "finished"
    else:
        state = "opened_early" if open_early else "running"

    mine = frames.looks[frames.looks["trial"] == protocol.trial]
    dates = {d for d in mine["date"].dt.date if d <= until and (open_end or d <= last)}
    if state == "opened_early":
        dates.add(today)
    return Standing(state, trial, len(dates), why, unfinished if open_end and not protocol.standing else 0)
