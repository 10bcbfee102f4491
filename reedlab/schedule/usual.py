"""The player's usual week: minutes, days off, concerts and own limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from ..errors import InputError
from ..rows.tables import WEEKDAYS, Frames
from ..trial.practice import value
from ..wording import tr

__all__ = [
    "CONCERT_MIN", "Concert", "Usual", "coming_concerts", "minutes_a_day", "stored_week", "usual_from", "usual_of",
    "week_unsaid",
]

#: Minutes of a concert of which nothing is said: our assumption.
CONCERT_MIN: Final = 60.0


@dataclass(frozen=True)
class Concert:
    """A concert or another day that matters: `minutes` of playing."""

    on: date
    minutes: float = CONCERT_MIN


@dataclass(frozen=True, kw_only=True)
class Usual:
    """What the player's week allows.

    `minutes` are the usual minutes of practice from Monday to Sunday. `weekdays_off` (0 is Monday) and
    `dates_off` are days without practice. `reeds_at_most` reeds a day are played in practice (None: as many as the
    minutes allow). A reed rests `rest_days` after each day of play, `concert_rest_days` before a concert.
    `broken_in` says that the trial's reeds need no break-in before the start, whatever the logbook knows. `taken`
    are minutes of a date that other trials need.
    """

    minutes: tuple[float, ...]
    weekdays_off: frozenset[int] = frozenset()
    dates_off: frozenset[date] = frozenset()
    concerts: tuple[Concert, ...] = ()
    reeds_at_most: int | None = None
    rest_days: int = 0
    concert_rest_days: int = 1
    broken_in: bool = False
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


def usual_of(usual_min: float | Mapping[int, float] | None, days_off: Iterable[date | int],
             concerts: Iterable[date | Concert], reeds_at_most: int | None, *, default_min: float,
             rest_days: int = 0, concert_rest_days: int | None = None, broken_in: bool = False) -> Usual:
    """Check the player's wishes and put them together; InputError names everything that is wrong.

    Parameters
    ----------
    usual_min : float, mapping of weekday to float, or None
        Minutes of practice a day; by weekday 0 (Monday) to 6, a weekday not named is a day off. None:
        `default_min`.
    days_off : iterable of date or int
        Dates, or weekdays 0 (Monday) to 6.
    concerts : iterable of date or Concert
    reeds_at_most : int or None
    """
    faults = []
    minutes: tuple[float, ...]
    if usual_min is None:
        minutes = (default_min,) * 7
    elif isinstance(usual_min, Mapping):
        wrong = [k for k in usual_min if k not in range(7)]
        if wrong:
            faults.append(tr("the usual minutes name weekday {wrong!r}, wanted 0 (Monday) to 6 (Sunday)").format(
                              wrong=wrong[0]))
        minutes = tuple(float(usual_min.get(i, 0.0)) for i in range(7))
    else:
        minutes = (float(usual_min),) * 7
    if any(not 0 <= m <= 720 for m in minutes):
        faults.append(tr("the usual minutes of a day must be 0 to 720"))
    weekdays, dates = set(), set()
    for d in days_off:
        if isinstance(d, date):
            dates.add(d)
        elif d in range(7):
            weekdays.add(int(d))
        else:
            faults.append(tr("days off: {d!r}, wanted a date or a weekday from 0 (Monday) to 6").format(d=d))
    gigs = tuple(sorted((c if isinstance(c, Concert) else Concert(c) for c in concerts), key=lambda c: c.on))
    if any(not 0 < c.minutes <= 720 for c in gigs):
        faults.append(tr("a concert must have 1 to 720 minutes"))
    if len({c.on for c in gigs}) != len(gigs):
        faults.append(tr("two concerts stand on one date: give one with the minutes of both"))
    if reeds_at_most is not None and reeds_at_most < 1:
        faults.append(tr("reeds at most: {reeds_at_most}, wanted 1 or more").format(reeds_at_most=reeds_at_most))
    if rest_days < 0 or (concert_rest_days is not None and concert_rest_days < 0):
        faults.append(tr("days of rest cannot be fewer than 0"))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
    rest = int(value("concert_rest_days")) if concert_rest_days is None else concert_rest_days
    return Usual(minutes=minutes, weekdays_off=frozenset(weekdays), dates_off=frozenset(dates), concerts=gigs,
                 reeds_at_most=reeds_at_most, rest_days=rest_days, concert_rest_days=rest, broken_in=broken_in)


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


def usual_from(frames: Frames, *, usual_min: float | Mapping[int, float] | None = None,
               days_off: Iterable[date | int] = (), concerts: Iterable[date | Concert] = (),
               reeds_at_most: int | None = None, default_min: float | None = None, rest_days: int = 0,
               concert_rest_days: int | None = None, broken_in: bool = False) -> Usual:
    """Return what the player's week allows: as the logbook says, unless a wish says otherwise.

    Parameters
    ----------
    frames : Frames
        Its `week` gives the minutes, its `concerts` the concerts, its `days` the dates off.
    usual_min : float or mapping of weekday to float, optional
        Minutes in the place of the logbook's. A number leaves the weekdays off that the logbook has as days off;
        in a mapping a weekday not named is a day off.
    days_off, concerts : iterable
        Further days off and concerts. On one date the concert given here counts.
    default_min : float, optional
        Minutes of a weekday of which the logbook says nothing; default 60.

    Raises
    ------
    InputError
        With everything wrong in the wishes.
    """
    default = value("usual_practice_min") if default_min is None else default_min
    week = stored_week(frames)
    if usual_min is None:
        usual_min = {i: week.get(i, default) for i in range(7)}
    elif not isinstance(usual_min, Mapping):
        usual_min = {i: 0.0 if week.get(i) == 0 else float(usual_min) for i in range(7)}
    given = [c if isinstance(c, Concert) else Concert(c) for c in concerts]
    named = {c.on for c in given}
    stored = [c for c in coming_concerts(frames, date.min) if c.on not in named]
    off = frames.days.loc[frames.days["day_off"].to_numpy(), "date"].dt.date
    return usual_of(usual_min, [*days_off, *off], [*stored, *given], reeds_at_most, default_min=default,
                    rest_days=rest_days, concert_rest_days=concert_rest_days, broken_in=broken_in)


def week_unsaid(frames: Frames) -> str | None:
    """Return a sentence for the player where no week is written down, else None."""
    if len(frames.week):
        return None
    return tr("The plan reckons with {value:g} minutes a day. Say what you really play, and your days off and "
              "concerts, in My week on the page Today.").format(value=value("usual_practice_min"))
