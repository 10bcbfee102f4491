"""What the plan page says about a question, a draft and a trial just started: plain functions."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from html import escape
from typing import TYPE_CHECKING

import pandas as pd

from ...questions import Question
from ...rows.tables import Frames
from ...screens.words import spoken_date
from ...trial.calendar import calendar_with
from ...trial.outcomes import Outcome
from ...trial.practice import CAUTIONS
from ...trial.protocol import Protocol, trial_calendar
from ..shared.form import rows_table
from .outlook_words import without_first_guess

if TYPE_CHECKING:
    from ...plan import Draft

__all__ = ["DESIGN_WORDS", "busy_reeds", "draft_html", "habit_key", "question_html",
           "reeds_to_offer", "scale_words", "started_html"]

DESIGN_WORDS = {
    "day_by_day": "Each reed serves both ways, on shuffled days",
    "reed_by_reed": "Each reed keeps to one way",
}
_SHOWN_DAYS = 7
_SAID_BELOW = "Reeds of this trial"


def question_html(question: Question) -> str:
    """Return a question with its two ways, its traps and its cautions."""
    ways = "".join(f"<li><b>{escape(h.name)}</b>: {escape(h.steps)}</li>" for h in question.habits)
    traps = "".join(f"<li>{escape(t)}</li>" for t in question.traps)
    cautions = " ".join(CAUTIONS[k].text for k in question.cautions)
    return (f"<p><b>{escape(question.ask)}</b></p><ul>{ways}</ul><p>{escape(question.why)}</p>"
            f"<details><summary>What can spoil the answer</summary><ul>{traps}</ul></details>"
            f'<p class="reedlab-quiet">{escape(cautions)}</p>')


def reeds_to_offer(frames: Frames) -> pd.DataFrame:
    """Return the reeds that may be dealt: not set aside and still in service, by code."""
    reeds = frames.reeds
    free = reeds[~reeds["set_aside"] & ~reeds["reed"].isin(frames.retirements["reed"])]
    return free.sort_values("reed").reset_index(drop=True)


def busy_reeds(protocols: list[Protocol], reeds: list[str]) -> list[str]:
    """Return one line for each running trial that holds any of `reeds`: a reed serves one trial at a time."""
    out = []
    for p in protocols:
        both = sorted(set(p.reeds) & set(reeds))
        if both:
            out.append(f"Reeds: {', '.join(both)} still serve in \"{p.trial}\" up to its end. Untick them.")
    return out


def habit_key(name: str) -> str:
    """Return a short key for a way named by the player: letters and digits, at most 24."""
    return "".join(c if c.isalnum() else "-" for c in name.strip().lower())[:24].strip("-")


def draft_html(draft: Draft) -> str:
    """Return a plan in plain words: what it asks, how long, what to know. What it can show stands with it."""
    p = draft.protocol
    outcome = p.card
    last = calendar_with(p).last
    gap = (f"{p.matters:g} times as many {outcome.unit}" if outcome.lives
           else _points(p.matters, outcome))
    facts = [
        ("Question", p.ask),
        ("How", DESIGN_WORDS[p.design] + "."),
        ("Reeds", ", ".join(p.reeds) + (f" (spare: {', '.join(draft.spare)})" if draft.spare else "")),
        ("Days", f"{p.days}, from {spoken_date(p.start)} to {spoken_date(last)}"),
        ("What counts", f"{outcome.title}; a difference of {gap} matters to you"),
        ("If all goes one way", f"Shuffling alone would give the clearest result {_times(draft.least_p)}; "
                                f"after losing {'a pair' if p.design == 'day_by_day' else 'a matched set'}, "
                                f"{_times(draft.least_p_after_loss)}."),
        ("Your ratings", scale_words(p.scale)),
        *_rules(p),
    ]
    rows = "".join(f'<tr><th scope="row">{escape(k)}</th><td>{escape(v)}</td></tr>' for k, v in facts)
    remarks = "".join(f"<li>{escape(r)}</li>" for r in without_first_guess(draft.remarks)
                      if not r.startswith(_SAID_BELOW))
    said = f"<h3>Good to know</h3><ul>{remarks}</ul>" if remarks else ""
    return f'<table class="reedlab-table"><tbody>{rows}</tbody></table>{said}{_layouts(draft.layouts)}'


def scale_words(scale: Iterable[tuple[int, str]]) -> str:
    """Return the words of a scale in one line: 2 would not play · 4 practice only."""
    return " · ".join(f"{points} {words}" for points, words in scale)


def _rules(p: Protocol) -> list[tuple[str, str]]:
    """Return when a reed is done with, where the plan says."""
    out = []
    if p.card.kind == "good":
        out.append(("Good", f"Up to {_runs(p.in_a_row)} below {p.good_below:g} points."))
    if p.card.kind == "life":
        out.append(("Worn out", f"After {_runs(p.in_a_row)} below {p.worn_out_below:g} points."
                    if p.worn_out_rule == "ratings" else "When you retire it as worn out."))
    if p.cap_hours is not None:
        out.append(("Most hours", f"A reed is done after {p.cap_hours:g} playing hours."))
    return out


def _runs(in_a_row: int) -> str:
    return "one rating" if in_a_row == 1 else f"{in_a_row} ratings in a row"


def _points(size: float, outcome: Outcome) -> str:
    unit = outcome.unit.replace("points", "point", 1) if size == 1 else outcome.unit
    return f"{size:g} {unit}"


def _times(p: float) -> str:
    in_100 = 100 * p
    if p >= 1:
        return "every time (it could no longer tell)"
    return f"about {in_100:.0f} times in 100" if in_100 >= 1.5 else (
        "about 1 time in 100" if in_100 >= 0.95 else "less than 1 time in 100")


def _layouts(layouts: pd.DataFrame) -> str:
    if not len(layouts):
        return ""
    rows = [[r["layout"], f"{r['arrangements']:,}", _times(r["least_p"]), _times(r["after_loss"]),
             f"{100 * r['chance']:.0f} in 100", "✓ chosen" if r["chosen"] else ""]
            for r in layouts.to_dict("records")]
    head = ["Layout", "Ways to shuffle", "Clearest result by chance", "After a loss", "Finds it (first guess)", ""]
    table = rows_table(head, rows)
    return f"<details><summary>The layouts that were compared</summary>{table}</details>"


def started_html(protocol: Protocol) -> str:
    """Return a started trial: its first days, or which reed keeps to which way."""
    if protocol.masked == "helper":
        return "<p>Your helper makes the reeds ready; you will not see the ways here.</p>"
    if not protocol.units[0].cells:
        rows = [[h.name, h.steps, ", ".join(r for r in protocol.reeds if protocol.habit_for(r, 1) == h)]
                for h in protocol.habits]
        return rows_table(["Way", "What to do", "Reeds"], rows)
    calendar = trial_calendar(protocol.start, min(protocol.days, _SHOWN_DAYS))
    rows = [[f"{d}", _short(on), "; ".join(_slot_words(protocol, d))] for d, on in enumerate(calendar, start=1)]
    return "<p>The first days (Today shows each day as it comes):</p>" + rows_table(["Day", "Date", "Play"], rows)


def _short(on: date) -> str:
    return f"{on:%a}\u00a0{on.day}\u00a0{on:%b}"


def _slot_words(protocol: Protocol, day: int) -> list[str]:
    reeds = [s.reed for s in sorted(protocol.slots, key=lambda s: s.order) if s.day == day] or sorted(
        r for u in protocol.units for r, d in u.cells if d == day)
    out = []
    for reed in reeds:
        habit = protocol.habit_for(reed, day)
        out.append(f"{reed} {habit.name}" if habit is not None else reed)
    return out
