"""The day's plan as a page shows it. Plain functions from what is due to HTML."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

from ...rows.tables import Frames
from ...screens.due import Due, TrialDay
from ...screens.today import also_today, not_in_the_book, shared_words, way_words
from ...screens.words import spoken_date
from ..shared.form import NO_REEDS, rows_table

__all__ = ["plan_html", "saved_html"]


def plan_html(today: date, days: Sequence[TrialDay], any_reeds: bool, notes: Sequence[str] = ()) -> str:
    """Return the day's plan: for each running trial where it stands and what to play, then `notes` on it."""
    out = [f"<h2>{escape(spoken_date(today))}</h2>"]
    shared = shared_words(days)
    said = set(shared)  # of all trials together: said once, below them
    out += [_trial(day, said) for day in days]
    out += [f"<p>{escape(text)}</p>" for text in shared]
    out += [f'<p class="reedlab-quiet">{escape(text)}</p>' for text in notes]
    if not days:
        out.append("<p>No trial is running. You can still write down what you play.</p>" if any_reeds else
                   NO_REEDS)
    return "".join(out)


def saved_html(frames: Frames, today: date) -> str:
    """Return what is in the logbook for a day already, without any rating."""
    rows = frames.sittings[frames.sittings["date"].dt.date == today]
    if not len(rows):
        return '<p class="reedlab-quiet">Nothing is saved for today yet.</p>'
    said = [f"{r['reed']} ({r['play_min']:g} min{'' if r['overall'] != r['overall'] else ', rated'})"
            for r in rows.sort_values("entry_id").to_dict("records")]
    return f'<p class="reedlab-quiet">Saved for today: {escape(", ".join(said))}.</p>'


def _trial(day: TrialDay, said: set[str]) -> str:
    name = f"<b>{escape(day.protocol.trial)}</b>"
    if day.state == "waiting":
        return f"<p>{name} begins on {escape(spoken_date(day.first))}.</p>" + _also(day, said)
    if day.state == "paused":
        return f"<p>{name} is paused today.</p>"
    head = f"<p>{name}: day {day.day} of {day.protocol.days}."
    if day.fixed:
        head += (f" {day.rated} of {day.planned} ratings are in the book."
                 f'<progress value="{day.rated}" max="{day.planned}" aria-label="ratings in the book"></progress>')
    if day.play.state == "day_off":
        return head + " Today is a day off.</p>" + _missing(day) + _also(day, said)
    if not day.due:
        return head + " No reed of it is due today.</p>" + _missing(day) + _also(day, said)
    if all(d.done for d in day.due):
        head += " <b>All done for today.</b>"
    hidden = day.protocol.masked == "helper"
    rows = [[d.reed, d.order or "any", f"{d.minutes:g}",
             _what(d, hidden), "✓ done" if d.done else "to play"]
            for d in sorted(day.due, key=lambda d: d.order or 99)]
    table = rows_table(["Reed", "Order", "Minutes", "What to do", "State"], rows, cards=True)
    return head + "</p>" + _missing(day) + table + _also(day, said)


def _missing(day: TrialDay) -> str:
    return "".join(f'<p class="reedlab-quiet">{escape(text)}</p>' for text in not_in_the_book(day))


def _also(day: TrialDay, told: set[str]) -> str:
    said = also_today(day, told)
    return f"<p>{escape(' '.join(said))}</p>" if said else ""


def _what(due: Due, hidden: bool) -> str:
    return ". ".join(text for text in way_words(due, hidden=hidden) if text).strip() or "as you like"
