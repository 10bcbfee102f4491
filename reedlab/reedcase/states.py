"""Every reed in use as it stands on a day."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
import pandas as pd

from ..analysis.player.own_ratings import reed_hours
from ..rows.tables import Frames
from ..schedule.limits import daily_limit, own_value
from ..trial.calendar import calendar_of
from ..trial.practice import RAMP, value
from ..trial.protocol import Protocol

__all__ = ["ReedState", "states"]

_RUN: Final = 3  # sittings compared with as many before them: our assumption
_SHOWN: Final = 12  # ratings of a reed's course


@dataclass(frozen=True)
class ReedState:
    """One reed on one day.

    `hours` are playing hours; `at_least` is True where it was broken in before the logbook knew it, so that the
    usual break-in was added. `play_days` are days of play in the logbook, without the short first play. `step` is 0
    for a reed that is broken in, else which day of its break-in comes next (1 is the first). `trial` names the
    running trial it serves in. Where that is sealed (`sealed`), `recent` and `trend` are empty. `recent` holds its
    last twelve ratings, oldest first. `trend` is "down", "up", "steady" or None (too few).
    """

    reed: str
    box: str
    hours: float
    at_least: bool
    play_days: int
    first: date | None
    last_played: date | None
    today_min: float
    limit_min: float
    step: int
    set_aside: bool
    worked_on: bool
    trial: str | None
    sealed: bool
    first_play: float | None
    recent: tuple[float, ...]
    trend: str | None

    @property
    def broken_in(self) -> bool:
        """True once the usual days of break-in are behind it."""
        return self.step == 0

    @property
    def room_min(self) -> float:
        """Minutes it may still be played on this day."""
        return max(0.0, self.limit_min - self.today_min)


def states(frames: Frames, running: Mapping[str, Protocol], on: date, *, opened: Collection[str] = (),
           noise_sd: float = 1.0) -> list[ReedState]:
    """Return the state of every reed in service on a date, in the order of their codes.

    Parameters
    ----------
    frames : Frames
    running : mapping
        The running trials by name (`schedule.running_schedules`).
    on : date
    opened : collection of str
        Trials that were opened on purpose; the reeds of the others stay sealed.
    noise_sd : float
        Spread of the player's ratings of one reed that never changes, points.
    """
    gone = set(frames.retirements.loc[frames.retirements["date"].dt.date <= on, "reed"])
    played = reed_hours(frames, RAMP)
    played = played[played["date"].dt.date <= on]
    by_reed = dict(iter(played.groupby("reed", sort=False)))
    plan_of = {reed: (name, p) for name, p in running.items() for reed in p.reeds}
    number = {name: calendar_of(p, frames).number(on) for name, p in running.items()}
    out = []
    for row in frames.reeds.sort_values("reed").to_dict("records"):
        reed = str(row["reed"])
        if reed in gone:
            continue
        sittings = by_reed.get(reed, played.iloc[:0])
        dates = sorted(set(sittings["date"].dt.date))
        days = sorted(set(sittings.loc[~sittings["is_first"], "date"].dt.date))
        unlogged = bool(len(sittings)) and bool(sittings["play_day"].isna().all())
        today_min = float(sittings.loc[sittings["date"].dt.date == on, "play_min"].sum())
        before = sum(d < on for d in days)
        step = 0 if unlogged or before >= len(RAMP) else before + 1
        name, plan = plan_of.get(reed, (None, None))
        sealed = name is not None and name not in opened
        ratings = [float(v) for v in sittings["overall"].dropna()]
        if pd.notna(row["worked_on"]):  # it is another reed since then
            ratings = [float(v) for v in sittings.loc[sittings["date"] >= row["worked_on"], "overall"].dropna()]
        first = row["first_played"].date() if pd.notna(row["first_played"]) else (dates[0] if dates else None)
        out.append(ReedState(
            reed=reed, box=str(row["box"]),
            hours=float(sittings["after_h"].max()) if len(sittings) else 0.0,
            at_least=unlogged, play_days=len(days), first=first, last_played=dates[-1] if dates else None,
            today_min=today_min, limit_min=_limit(plan, reed, step, number.get(name or "")),
            step=step, set_aside=bool(row["set_aside"]), worked_on=bool(pd.notna(row["worked_on"])), trial=name,
            sealed=sealed, first_play=float(row["first_play"]) if pd.notna(row["first_play"]) else None,
            recent=() if sealed else tuple(ratings[-_SHOWN:]), trend=None if sealed else _trend(ratings, noise_sd)))
    return out


def _limit(plan: Protocol | None, reed: str, step: int, number: int | None) -> float:
    if plan is None:
        limit, own_ramp = value("daily_limit_min"), None
    else:
        dealt = plan.habit_for(reed, number or 1)
        habit = None if dealt is None else dealt.key
        limit, own_ramp = daily_limit(plan, habit), own_value(plan, habit, "break_in_ramp_min")
    return min(limit, RAMP[step - 1]) if step and own_ramp is None else limit


def _trend(ratings: Sequence[float], noise_sd: float) -> str | None:
    """Say where the ratings go: the last three against the three before, beyond what their noise would give."""
    if len(ratings) < 2 * _RUN:
        return None
    late, early = np.mean(ratings[-_RUN:]), np.mean(ratings[-2 * _RUN:-_RUN])
    wide = 2 * noise_sd * np.sqrt(2 / _RUN)
    return "down" if late - early < -wide else "up" if late - early > wide else "steady"
