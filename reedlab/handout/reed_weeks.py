"""A standing trial's week as it is typed back: a reed's minutes day by day, and whether it is done. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..analysis.units.first_plays import first_plays
from ..rows.tables import Frames
from ..schedule import PlayDay
from ..trial.protocol import Protocol
from .week import to_play

__all__ = ["ReedWeek", "reed_weeks"]


@dataclass(frozen=True)
class ReedWeek:
    """One line of the sheet.

    `reed` is None in a line of the player's own. `days` are those on which it may have been played, `there` the minutes
    that the logbook has of some of them, `gone` why it left service where the logbook says so.
    """

    protocol: Protocol
    reed: str | None
    days: tuple[date, ...]
    there: Mapping[date, float]
    gone: str | None = None

    def sittings(self, minutes: Mapping[date, str], reed: str | None = None, **more: Any) -> list[dict[str, Any]]:
        """Return rows of sittings, a day each in their order; `more` columns stand in every one.

        `minutes` holds what was typed, and `reed` which reed where the line is the player's own.
        """
        reed = reed or self.reed
        dealt = None if self.protocol.masked == "helper" or reed is None else self.protocol.habit_for(reed, 1)
        since = self.protocol.served_since
        return [{"date": on, "reed": reed, "setup": self.protocol.setup, "play_min": typed,
                 "habit": dealt.key if dealt is not None and since[str(reed)] <= on else None, **more}
                for on, typed in sorted(minutes.items())]

    def left(self, minutes: Iterable[date]) -> date:
        """Return the last day in service of a reed ticked as done: the last one played, else the last of the line."""
        return max([*minutes, *self.there], default=self.days[-1])


def reed_weeks(protocol: Protocol, days: Iterable[PlayDay], frames: Frames) -> list[ReedWeek]:
    """Return a line for each reed that serves on some of the days, by code.

    Parameters
    ----------
    protocol : Protocol
        A standing trial.
    days : iterable of PlayDay
        Days gone by and today, as they were planned.
    frames : Frames
        The logbook as it stands.
    """
    serves: dict[str, list[date]] = {}
    for day in days:
        for line in to_play(day):
            serves.setdefault(line.reed, []).append(day.on)
    log = frames.sittings[~first_plays(frames)]
    spent = log.groupby(["reed", log["date"].dt.date])["play_min"].sum()
    gone = {r: (why, on) for r, why, on in zip(frames.retirements["reed"], frames.retirements["reason"],
                                               frames.retirements["date"].dt.date, strict=True)}
    out = []
    for reed, on in sorted(serves.items()):
        why, last = gone.get(reed, (None, on[-1]))
        out.append(ReedWeek(protocol, reed, tuple(d for d in on if d <= last), {
            d: float(spent[reed, d]) for d in on if (reed, d) in spent.index}, why))
    return [x for x in out if x.days]
