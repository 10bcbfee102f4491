"""What the Today page shows, as plain data. Nothing in it tells of earlier ratings, nor splits anything by way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from .. import schedule
from ..rows.tables import Frames
from ..rows.values import plain
from ..trial.pairs import HOW, said, told_steps, told_way
from ..trial.practice import ANCHORS
from ..trial.protocol import Protocol
from ..wording import all_of, spoken_date, spoken_day, tr, trn
from .due import TrialDay, due_now, reeds_in_use, running
from .not_playing import days_behind, spell_words

__all__ = ["Line", "Saved", "Today", "Way", "also_today", "in_a_word", "minutes_words", "moved_along",
           "not_in_the_book", "rated_in", "shared_words", "standing", "today"]

_NAMED = 3  # missed ratings told one by one
_SHARED = "trials_too_long"


@dataclass(frozen=True)
class Way:
    """One of the two ways of a trial. `mark` is 0 or 1: the sign that stands for it, as on the week's sheet."""

    key: str
    name: str
    mark: int


@dataclass(frozen=True)
class Saved:
    """One entry of the day as it stands in the logbook: its number and its values by column (None where empty)."""

    entry_id: int
    values: Mapping[str, Any]

    @property
    def reed(self) -> str:
        """The reed's code."""
        return str(self.values["reed"])


def rated_in(saved: Saved) -> str:
    """Return what an entry says of how the reed played, in a word: points, or which go was better; "" if nothing."""
    if saved.values["preference"] is not None:
        return said(saved.values["preference"])
    points = saved.values["overall"]
    return "" if points is None else f"{points:g}"


def in_a_word(saved: Saved) -> str:
    """Return what is said of an entry where there is little room: how the reed played, else for how long."""
    return rated_in(saved) or minutes_words(saved.values["play_min"])


def minutes_words(minutes: float) -> str:
    """Return minutes in short: "15 min"."""
    return tr("{minutes:g} min").format(minutes=minutes)


@dataclass(frozen=True)
class Line:
    """One reed that is due.

    `way` and `steps` say in words what to do ("" where the player is free). `planned` is the way dealt and `ways` both
    to choose from; None and empty where none is dealt or a helper hides it. `minutes` are the planned ones and
    `fills` says that they may be filled in beforehand. `rating` is the column that the trial goes by and `anchors`
    its words; where it is `preference`, `way` and `steps` are of both goes, and `planned` goes first. `saved` are the
    reed's entries of the day.
    """

    trial: str
    reed: str
    order: int | None
    way: str
    steps: str
    planned: Way | None
    ways: tuple[Way, ...]
    minutes: float
    fills: bool
    rate: bool
    done: bool
    rating: str
    anchors: tuple[tuple[int, str], ...]
    setup: str | None
    saved: tuple[Saved, ...]

    @property
    def stands(self) -> Saved | None:
        """The entry that settles the line, the last one rated or else the last; None while the reed is to be played."""
        if not self.done:
            return None
        return next((s for s in reversed(self.saved) if rated_in(s)), self.saved[-1] if self.saved else None)


@dataclass(frozen=True)
class Today:
    """The whole page: the day, where each trial stands, a line for each reed due, and what else is to be said.

    `others` are the day's entries of reeds that are not due; `reeds` and `ways` all that may be chosen for an entry
    of another reed; `messages` whole sentences, in the order to be read.
    """

    on: date
    heading: str
    trials: tuple[str, ...]
    lines: tuple[Line, ...]
    others: tuple[Saved, ...]
    reeds: tuple[str, ...]
    ways: tuple[Way, ...]
    anchors: tuple[tuple[int, str], ...]
    messages: tuple[str, ...]


def today(frames: Frames, protocols: Mapping[str, Protocol], on: date, *,
          days: Sequence[TrialDay] | None = None) -> Today:
    """Return what the Today page shows.

    Parameters
    ----------
    frames : Frames
        All current rows of the logbook, with `entry_id`.
    protocols : mapping
        The plan of every trial by name.
    on : date
    days : sequence of TrialDay, optional
        What `due.running` says of that day, where it has been reckoned already.
    """
    days = running(protocols, frames, on) if days is None else days
    mine = _saved_on(frames, on)
    lines = tuple(_line(x, plan, mine) for x, plan in due_now(days))
    due = {x.reed for x in lines}
    said = set(shared_words(days))
    behind = days_behind(frames, protocols, on)
    messages = [*moved_along(behind), *(text for day in days for text in (
        *not_in_the_book(day, behind), *also_today(day, said)))]
    if not len(frames.reeds):
        messages.append(tr("There are no reeds in your logbook yet. Begin with new reeds, on the computer."))
    elif not days:
        messages.append(tr("No trial is running. You can still write down what you play."))
    ways = {w.key: w for day in days for w in _ways(day.protocol)}
    return Today(on, spoken_date(on), tuple(standing(d) for d in days), lines,
                 tuple(s for s in mine if s.reed not in due), tuple(reeds_in_use(frames, on)), tuple(ways.values()),
                 tuple(sorted(days[0].protocol.scale if days else tuple(ANCHORS.items()))),
                 (*messages, *shared_words(days)))


def _line(due: schedule.Line, plan: Protocol, mine: Sequence[Saved]) -> Line:
    ways = _ways(plan) if due.habit is not None else ()
    planned = next((w for w in ways if w.key == due.habit), None)
    name, steps = _way_words(due.habit, plan)
    saved = tuple(s for s in mine if s.reed == due.reed)
    return Line(plan.trial, due.reed, due.order, name, steps, planned, ways, due.minutes, due.kind == "slot", due.rate,
                due.done, plan.rating, tuple(sorted(plan.scale)), plan.setup, saved)


def _ways(plan: Protocol) -> tuple[Way, ...]:
    if plan.masked == "helper":
        return ()
    return tuple(Way(h.key, h.name, n) for n, h in enumerate(plan.habits))


def _saved_on(frames: Frames, on: date) -> tuple[Saved, ...]:
    rows = frames.sittings
    if not len(rows):
        return ()
    rows = rows[rows["date"].dt.date == on].sort_values("entry_id")
    return tuple(Saved(int(r["entry_id"]), {str(k): plain(v) for k, v in r.items() if k != "entered_at"})
                 for r in rows.to_dict("records"))


def _way_words(habit: str | None, plan: Protocol) -> tuple[str, str]:
    """Return in words what to do with a reed, and the steps; neither where a helper hides them."""
    if habit is None and plan.masked != "helper":
        return "", ""
    name = told_way(plan, habit or "")
    told = f"{name[:1].upper()}{name[1:]}"
    return (f"{told}.", HOW if plan.pairs else "") if plan.masked == "helper" else (told, told_steps(plan, habit or ""))


def standing(day: TrialDay) -> str:
    """Return where a trial stands, in one line."""
    name = day.protocol.trial
    if day.state == "waiting":
        return tr("{name} begins on {date}").format(name=name, date=spoken_date(day.first))
    if day.state == "paused":
        return tr("{name}: not playing today, the rest moves along").format(name=name)
    if day.protocol.standing:
        return f"{name}: {_in_service(len(day.due))}"
    if day.play.state == "day_off":
        said = tr("{name}: day {day} of {days}, not playing today")
    elif not day.due:
        said = tr("{name}: day {day} of {days}, no reed of it is due today")
    elif all(d.done for d in day.due):
        said = tr("{name}: day {day} of {days}, all done for today")
    else:
        said = tr("{name}: day {day} of {days}")
    return said.format(name=name, day=day.day, days=day.protocol.days)


def _in_service(reeds: int) -> str:
    if not reeds:
        return tr("no reed in service; deal the next box when you open it")
    return trn("{reeds} reed in service, play those you like", "{reeds} reeds in service, play those you like",
               reeds).format(reeds=reeds)


def shared_words(days: Sequence[TrialDay]) -> tuple[str, ...]:
    """Return what is to be said of all trials of a day together."""
    return tuple(dict.fromkeys(u.text for day in days for u in day.play.unmet if u.code == _SHARED))


def moved_along(behind: Sequence[date]) -> tuple[str, ...]:
    """Return a sentence on the days just gone by that the plan can be moved along by; nothing where there are none."""
    if not behind:
        return ()
    return (tr("Nothing is in the book for {days}. If you did not play, say so on the computer, at \"Not playing "
               "today\": the plan then moves along and no rating is lost. If you did, write it up late.").format(
                   days=spell_words(behind)),)


def not_in_the_book(day: TrialDay, told: Sequence[date] = ()) -> tuple[str, ...]:
    """Return a sentence on the missed ratings that could still be entered; nothing where none is missing.

    Of days that were `told` already nothing is said.
    """
    missing_yet = [m for m in day.missing if m[1] not in told]
    if not missing_yet or day.state == "paused":
        return ()
    last = [tr("{reed} on {date}").format(reed=reed, date=spoken_day(on)) for _, on, reed in missing_yet[-_NAMED:]]
    more = len(missing_yet) - len(last)
    missing = ", ".join(last)
    if more:
        missing = tr("{n} earlier, and {missing}").format(n=more, missing=missing)
    return (tr("Not in the book: {missing}. If you did play, write it up late. If not, leave it.").format(
        missing=missing),)


def also_today(day: TrialDay, told: set[str]) -> tuple[str, ...]:
    """Say what else the day holds: concerts, break-in, rest, and what would suit the time that is left.

    What was `told` for another trial already is not said again; what is said now is added to it.
    """
    if day.state == "paused":
        return ()
    alike: dict[tuple[str, float], list[str]] = {}  # reeds of which the same is to be said
    for x in day.play.lines:
        alike.setdefault((x.kind, x.minutes), []).append(x.reed)
    free = [tr("{reed} (about {minutes:g} minutes)").format(reed=x.reed, minutes=x.minutes) if x.minutes else x.reed
            for x in day.play.lines if x.kind == "free"]
    said = [text.format(reeds=all_of(reeds), minutes=minutes) for (kind, minutes), reeds in alike.items()
            if (text := _also(kind, len(reeds), bool(minutes)))]
    if free:
        said.append(tr("For the rest of your practice, if you like: {reeds}.").format(reeds=all_of(free)))
    fresh = tuple(t for t in dict.fromkeys([*day.play.said, *said, *(u.text for u in day.play.unmet)]) if t not in told)
    told.update(fresh)
    return fresh


def _also(kind: str, reeds: int, timed: bool) -> str:
    """Return the sentence on so many reeds for which the day holds the same; nothing for what has a line of its own."""
    if kind == "concert":
        return (trn("{reeds} is for the concert, about {minutes:g} minutes.",
                    "{reeds} are for the concert, about {minutes:g} minutes each.", reeds) if timed else
                trn("{reeds} is for the concert.", "{reeds} are for the concert.", reeds))
    if kind == "break_in":
        return (trn("Break in {reeds}, about {minutes:g} minutes.", "Break in {reeds}, about {minutes:g} minutes each.",
                    reeds) if timed else tr("Break in {reeds}."))
    return tr("Let {reeds} rest.") if kind == "rest" else ""
