"""What is on today, and what looks odd about an entry: plain functions, no widgets, no clock."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..analysis.units.blind import blind
from ..analysis.units.first_plays import first_plays
from ..analysis.units.progress import due_cells, planned_cells
from ..rows.tables import Frames
from ..schedule import Line, PlayDay, running_schedules, what_to_play
from ..schedule.diary import Diary, diary_of
from ..trial.calendar import calendar_of
from ..trial.practice import value
from ..trial.protocol import Habit, Protocol
from ..wording import tr

__all__ = ["TrialDay", "due_now", "needs_rating", "odd_things", "reeds_in_use", "running", "trial_day"]


@dataclass(frozen=True)
class TrialDay:
    """A trial on one date. `state`: "waiting", "paused", "on" or "over"; `day` counts from 1 when "on".

    `fixed` is False where the trial fixes no ratings for its days. `play` is the day's whole plan: what is due,
    what a concert asks for, what rests, and what would suit the rest of the day. `rated` of the `planned` ratings
    are in the book, made-up ones too. `missing` are those of days gone by that the answer still lacks and that
    could still be entered: (trial day, date, reed).
    """

    protocol: Protocol
    on: date
    state: str
    day: int | None
    first: date
    last: date
    fixed: bool
    rated: int
    planned: int
    play: PlayDay
    missing: tuple[tuple[int, date, str], ...] = ()

    @property
    def due(self) -> tuple[Line, ...]:
        """The reeds of the trial that are due, done or not."""
        return self.play.owed

    def way_for(self, reed: str) -> Habit | None:
        """Return the way that the plan has for a reed on this day, if it has one."""
        return None if self.day is None else self.protocol.habit_for(reed, self.day)


def trial_day(protocol: Protocol, frames: Frames, on: date, play: PlayDay | None = None) -> TrialDay:
    """Return where a trial stands on a date, `play` being its plan for it where that has been made already.

    Nothing in it depends on how the reeds were rated.
    """
    calendar = calendar_of(protocol, frames).dates()
    play = what_to_play(protocol, frames, on) if play is None else play
    state = "on" if play.state == "day_off" else play.state
    if state == "paused" and on < protocol.start:
        state = "waiting"
    trial = blind(protocol, frames, until=on)
    slots = planned_cells(trial)
    asked, done = due_cells(trial, on)
    return TrialDay(protocol, on, state, play.number if state == "on" else None, calendar[0], calendar[-1],
                    bool(slots), len(done), len(slots), play,
                    tuple(_still_open(protocol, frames, sorted((d, calendar[d - 1], r) for r, d in asked - done))))


def _still_open(protocol: Protocol, frames: Frames,
                cells: Iterable[tuple[int, date, str]]) -> Iterator[tuple[int, date, str]]:
    """Yield the missed ratings that may have been played: no day off, the reed in service and not done with."""
    gone = dict(zip(frames.retirements["reed"], frames.retirements["date"].dt.date, strict=True))
    aside = set(frames.reeds.loc[frames.reeds["set_aside"], "reed"])
    off = set(frames.days.loc[frames.days["day_off"], "date"].dt.date)
    diary: Diary | None = None
    for number, on, reed in cells:
        if on in off or reed in aside or (reed in gone and gone[reed] <= on):
            continue
        diary = diary or diary_of(protocol, frames, date.max)
        if not diary.done(reed) or on <= max(diary.played[reed], default=on):
            yield number, on, reed


def running(protocols: Mapping[str, Protocol], frames: Frames, on: date) -> list[TrialDay]:
    """Return every trial that is neither over nor ended by hand, as it stands on a date."""
    return [trial_day(protocols[name], frames, on, made.days[0])
            for name, made in running_schedules(protocols, frames, on).items()]


def due_now(days: Iterable[TrialDay]) -> list[tuple[Line, Protocol]]:
    """Return all reeds due and the plan of each, in the order to play them."""
    due = [(x, day.protocol) for day in days for x in day.due]
    return sorted(due, key=lambda d: (d[0].order if d[0].order is not None else 99, d[0].reed))


def reeds_in_use(frames: Frames, on: date) -> list[str]:
    """Return the codes of all reeds that can have been played on a date.

    A reed that left service on the date itself comes last, and only while nothing of it is written down for that day.
    """
    left = frames.retirements
    gone = set(left.loc[left["date"].dt.date < on, "reed"])
    played = set(frames.sittings.loc[frames.sittings["date"].dt.date == on, "reed"])
    today = set(left.loc[left["date"].dt.date == on, "reed"])
    return sorted((r for r in frames.reeds["reed"] if r not in gone | (today & played)), key=lambda r: (r in today, r))


def needs_rating(entry: Mapping[str, Any], days: Iterable[TrialDay]) -> str:
    """Return the column to be filled if this sitting is the one the trial asks a rating for, else "".

    That is one in practice, of a reed due and not done: its overall rating, or back to back the preference.
    """
    if entry.get("where") not in (None, "practice"):
        return ""
    return next(("preference" if day.protocol.pairs else "overall" for day in days for d in day.due
                 if d.reed == entry.get("reed") and d.rate and not d.done), "")


def odd_things(entry: Mapping[str, Any], frames: Frames, days: Iterable[TrialDay]) -> list[str]:
    """Return what looks odd about a sitting, as questions a player can answer. Odd entries may be kept.

    Parameters
    ----------
    entry : mapping
        The sitting about to be saved, by column name, already read by `checks.read_row`.
    frames : Frames
        The logbook without this sitting.
    days : iterable of TrialDay
        The running trials on the day of the entry.
    """
    days = list(days)
    out = [*_off_plan(entry, days), *_other_habit(entry, days), *_over_limit(entry, frames, days)]
    reed, on = entry["reed"], entry["date"]
    known = frames.reeds[frames.reeds["reed"] == reed]
    if len(known) and bool(known["set_aside"].iloc[0]):
        out.append(tr("{reed} is set aside. Did you play it all the same?").format(reed=reed))
    same = (frames.sittings["reed"] == reed) & (frames.sittings["date"].dt.date == on)
    if (same.to_numpy() & ~first_plays(frames)).any():
        out.append(tr("{reed} has an entry on {on} already. Is this one more?").format(reed=reed, on=on.isoformat()))
    if entry["play_min"] > 240:
        out.append(tr("{play_min:g} minutes on one reed is a lot. Is that right?").format(play_min=entry["play_min"]))
    return out


def _off_plan(entry: Mapping[str, Any], days: list[TrialDay]) -> Iterable[str]:
    if entry.get("where") not in (None, "practice"):
        return  # rehearsals and concerts are the player's own choice
    for day in days:
        due = [d.reed for d in day.due]
        if day.fixed and due and entry["reed"] in day.protocol.reeds and entry["reed"] not in due:
            yield tr("{reed} is not on the plan of \"{trial}\" for this day (that is {due}). Did you play "
                     "{reed}?").format(reed=entry["reed"], trial=day.protocol.trial, due=", ".join(due))


def _other_habit(entry: Mapping[str, Any], days: list[TrialDay]) -> Iterable[str]:
    for day in days:
        planned = day.way_for(entry["reed"])
        if planned is not None and entry.get("habit") not in (None, planned.key):
            used = next((h.name for h in day.protocol.habits if h.key == entry["habit"]), entry["habit"])
            asked = (tr("The plan for {reed} begins with {name}; you began with {used}. Is that what you did?")
                     if day.protocol.pairs else
                     tr("The plan for {reed} says {name}; you chose {used}. Is that what you did?"))
            yield asked.format(reed=entry["reed"], name=planned.name, used=used)


def _over_limit(entry: Mapping[str, Any], frames: Frames, days: list[TrialDay]) -> Iterable[str]:
    limit = value("daily_limit_min")
    for day in days:
        planned = day.way_for(entry["reed"])
        for habit, name, own in day.protocol.overrides:
            if planned is not None and habit == planned.key and name == "daily_limit_min":
                limit = own
    sittings = frames.sittings
    same = (sittings["reed"] == entry["reed"]) & (sittings["date"].dt.date == entry["date"])
    total = float(sittings.loc[same, "play_min"].sum()) + entry["play_min"]
    if total > limit:
        yield tr("{reed} then has {total:g} minutes this day; its limit is about {limit:g}. Is that right?").format(
                  reed=entry["reed"], total=total, limit=limit)
