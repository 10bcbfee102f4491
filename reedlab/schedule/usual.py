"""The player's usual week: minutes, days off, concerts and own limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final, TypedDict, Unpack

from ..errors import InputError
from ..rows.tables import WEEKDAYS, Frames
from ..trial.practice import value
from ..wording import tr

__all__ = [
    "CONCERT_MIN", "Concert", "Usual", "Wishes", "coming_concerts", "minutes_a_day", "stored_week", "usual_from",
    "week_unsaid",
]

#: Minutes of a concert of which nothing is said: our assumption.
CONCERT_MIN: Final = 60.0


@dataclass(frozen=True)
class Concert:
    """A concert or another day that matters: `minutes` of playing."""

    on: date
    minutes: float = CONCERT_MIN


class Wishes(TypedDict, total=False):
    """What the player's week allows, where it is to be other than the logbook says.

    `usual_min` are minutes of practice a day in the place of the logbook's: a number leaves the weekdays off that the
    logbook has as days off; by weekday, 0 (Monday) to 6, one not named is a day off. `days_off` are further days
    without practice, dates or weekdays; `concerts` stand beside those of the logbook, and on one date the one given
    here counts. `reeds_at_most` reeds are played in practice a day. A reed rests `rest_days` after each day of play
    where its habit says nothing of it.
    """

    usual_min: float | Mapping[int, float] | None
    days_off: Iterable[date | int]
    concerts: Iterable[date | Concert]
    reeds_at_most: int | None
    rest_days: int


@dataclass(frozen=True, kw_only=True)
class Usual:
    """What the player's week allows.

    `minutes` are the usual minutes of practice from Monday to Sunday. `weekdays_off` (0 is Monday) and
    `dates_off` are days without practice. `reeds_at_most` reeds a day are played in practice (None: as many as the
    minutes allow). A reed rests `rest_days` after each day of play. `taken` are minutes of a date that other trials
    need.
    """

    minutes: tuple[float, ...]
    weekdays_off: frozenset[int] = frozenset()
    dates_off: frozenset[date] = frozenset()
    concerts: tuple[Concert, ...] = ()
    reeds_at_most: int | None = None
    rest_days: int = 0
    taken: Mapping[date, float] = field(default_factory=dict)

    def off(self, on: date) -> bool:
        """Say whether a date is a known day off (one without minutes is)."""
        return on.weekday() in self.weekdays_off or on in self.dates_off or self.minutes[on.weekday()] <= 0

    def minutes_on(self, on: date) -> float:
        """Return the usual minutes of a date less those taken, 0 on a day off."""
        return 0.0 if self.off(on) else max(0.0, self.minutes[on.weekday()] - self.taken.get(on, 0.0))

    @property
    def longest(self) -> float:
        """Minutes of the longest day of the week that is not off."""
        return max((m for i, m in enumerate(self.minutes) if i not in self.weekdays_off), default=0.0)

    def days_between(self, first: date, last: date) -> list[date]:
        """Return the dates from `first` to `last`, both included, that are no days off."""
        span = (first + timedelta(days=i) for i in range((last - first).days + 1))
        return [d for d in span if not self.off(d)]


def stored_week(frames: Frames) -> dict[int, float]:
    """Return the minutes the player has written down for each weekday, 0 (Monday) to 6; empty if none is."""
    known = zip(frames.week["weekday"], frames.week["play_min"], strict=True)
    return dict(sorted((WEEKDAYS.index(day), float(minutes)) for day, minutes in known))


def minutes_a_day(frames: Frames) -> float | None:
    """Return the mean of the week's minutes over the days that are not off, to the nearest five; None if unsaid."""
    played = [m for m in stored_week(frames).values() if m > 0]
    return max(5.0, 5.0 * round(sum(played) / len(played) / 5)) if played else None


def coming_concerts(frames: Frames, today: date) -> list[Concert]:
    """Return the concerts written down for today and later, the next one first."""
    known = zip(frames.concerts["date"].dt.date, frames.concerts["play_min"], strict=True)
    return sorted((Concert(on, float(m) if m > 0 else CONCERT_MIN) for on, m in known if on >= today),
                  key=lambda c: c.on)


def usual_from(frames: Frames, *, default_min: float | None = None, **wishes: Unpack[Wishes]) -> Usual:
    """Return what the player's week allows: as the logbook says, unless a wish says otherwise.

    Parameters
    ----------
    frames : Frames
        Its `week` gives the minutes, its `concerts` the concerts, its `days` the dates off.
    default_min : float, optional
        Minutes of a weekday of which the logbook says nothing; default 60.
    wishes
        See `Wishes`.

    Raises
    ------
    InputError
        With everything wrong in the wishes.
    """
    faults = []
    week, wished = stored_week(frames), wishes.get("usual_min")
    if isinstance(wished, Mapping):
        faults += [tr("the usual minutes name weekday {wrong!r}, wanted 0 (Monday) to 6 (Sunday)").format(wrong=k)
                   for k in wished if k not in range(7)][:1]
        minutes = tuple(float(wished.get(i, 0.0)) for i in range(7))
    elif wished is None:
        default = value("usual_practice_min") if default_min is None else default_min
        minutes = tuple(week.get(i, default) for i in range(7))
    else:
        minutes = tuple(0.0 if week.get(i) == 0 else float(wished) for i in range(7))
    if any(not 0 <= m <= 720 for m in minutes):
        faults.append(tr("the usual minutes of a day must be 0 to 720"))
    weekdays, dates = set(), set(frames.days.loc[frames.days["day_off"].to_numpy(), "date"].dt.date)
    for d in wishes.get("days_off", ()):
        if isinstance(d, date):
            dates.add(d)
        elif d in range(7):
            weekdays.add(int(d))
        else:
            faults.append(tr("days off: {d!r}, wanted a date or a weekday from 0 (Monday) to 6").format(d=d))
    given = [c if isinstance(c, Concert) else Concert(c) for c in wishes.get("concerts", ())]
    named = {c.on for c in given}
    gigs = sorted([*(c for c in coming_concerts(frames, date.min) if c.on not in named), *given], key=lambda c: c.on)
    if any(not 0 < c.minutes <= 720 for c in gigs):
        faults.append(tr("a concert must have 1 to 720 minutes"))
    if len({c.on for c in gigs}) != len(gigs):
        faults.append(tr("two concerts stand on one date: give one with the minutes of both"))
    reeds_at_most, rest_days = wishes.get("reeds_at_most"), wishes.get("rest_days", 0)
    if reeds_at_most is not None and reeds_at_most < 1:
        faults.append(tr("reeds at most: {reeds_at_most}, wanted 1 or more").format(reeds_at_most=reeds_at_most))
    if rest_days < 0:
        faults.append(tr("days of rest cannot be fewer than 0"))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
    return Usual(minutes=minutes, weekdays_off=frozenset(weekdays), dates_off=frozenset(dates), concerts=tuple(gigs),
                 reeds_at_most=reeds_at_most, rest_days=rest_days)


def week_unsaid(frames: Frames) -> str | None:
    """Return a sentence for the player where no week is written down, else None."""
    if len(frames.week):
        return None
    return tr("The plan reckons with {value:g} minutes a day. Say what you really play, and your days off and "
              "concerts, in My week on the page Today.").format(value=value("usual_practice_min"))
