"""The player's week in words: plain functions, no widgets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from ...rows.tables import Frames
from ...schedule import Concert, coming_concerts, stored_week, week_unsaid
from ...schedule.pauses import days_off_to_pause
from ...trial.protocol import Protocol
from ...wording import date_month, short_day, spoken_date, tr, trn
from ..shared.render import render

__all__ = ["concert_words", "day_notes", "days_off_cost", "pause_words", "week_html"]


def week_html(frames: Frames, today: date) -> str:
    """Return the week and the coming concerts in a few words."""
    said = week_unsaid(frames)
    if said is not None:
        said = said.replace("in My week on the page Today", "below")
    else:
        week = stored_week(frames)
        said = ", ".join(f"{short_day(i)} {_minutes(week.get(i))}" for i in range(7))
        said = tr("Minutes a day: {said}.").format(said=said)
    coming = [concert_words(c) for c in coming_concerts(frames, today)]
    more = tr("Concerts to come: {coming}.").format(
               coming="; ".join(coming)) if coming else tr("No concert is written down.")
    return render("week", said=said, more=more)


def _minutes(minutes: float | None) -> str:
    return "?" if minutes is None else tr("off") if minutes == 0 else f"{minutes:g}"


def concert_words(concert: Concert) -> str:
    """Return a concert as a player reads it."""
    return tr("{spoken_date}, {minutes:g} minutes").format(spoken_date=spoken_date(concert.on), minutes=concert.minutes)


def days_off_cost(protocols: Iterable[Protocol], frames: Frames, today: date) -> dict[str, list[date]]:
    """Return by trial the days off to come that would cost it ratings."""
    found = {p.trial: days_off_to_pause(p, frames, today) for p in protocols}
    return {trial: days for trial, days in found.items() if days}


def pause_words(cost: Mapping[str, Sequence[date]]) -> str:
    """Say what the days off would cost, and what pausing does."""
    out = []
    for trial, days in cost.items():
        some = ", ".join(date_month(d) for d in days[:4]) + (" …" if len(days) > 4 else "")
        out.append(trn("The trial \"{trial}\" would lose its ratings on {n} day off ({days}): a rating cannot move to "
                       "another day.",
                       "The trial \"{trial}\" would lose its ratings on {n} days off ({days}): a rating cannot move to "
                       "another day.", len(days)).format(trial=trial, n=len(days), days=some))
    return " ".join([*out, tr("Let it skip them, and the rest moves along: nothing is lost, and it ends that much "
                              "later.")])


def day_notes(protocols: Sequence[Protocol], frames: Frames, today: date) -> list[str]:
    """Return what to say below the day's plan of running trials: minutes never said, days off that cost ratings."""
    if not protocols:
        return []
    told = week_unsaid(frames)
    out = [] if told is None else [told.replace("in My week on the page Today", "under Something else, in My week")]
    cost = days_off_cost(protocols, frames, today)
    for trial, days in cost.items():
        out.append(trn("{n} day off would cost \"{trial}\" ratings. My week, under Something else, can let it skip "
                       "them.",
                       "{n} days off would cost \"{trial}\" ratings. My week, under Something else, can let it skip "
                       "them.", len(days)).format(n=len(days), trial=trial))
    return out
